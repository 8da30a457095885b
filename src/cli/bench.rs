//! Which bench a command works on.

use std::path::{Path, PathBuf};

use crate::app::mistakes::internal;
use crate::bench::ready_targets;
use crate::bench::session_folder::SessionFolder;
use crate::bench::strays::strays;
use crate::bench::{Bench, find_root};
use crate::cli::outcome::Outcome;
use crate::files::{Diagnostic, Fault, Mistakes};

/// The folder named, or the nearest bench upward from the current folder.
pub(super) fn root(named: Option<&Path>) -> Result<PathBuf, Diagnostic> {
    if let Some(root) = named {
        return Ok(root.to_owned());
    }
    let here = std::env::current_dir().map_err(|error| {
        Diagnostic::new(Fault::Missing, format!("there is no current folder: {error}"))
    })?;
    find_root(&here)
}

/// Opens it.
pub(super) fn open(named: Option<&Path>) -> Result<Bench, Mistakes> {
    let root = root(named)?;
    Bench::open(&root)
}

/// Reads everything that people wrote, and the records.
pub(super) fn check(named: Option<&Path>, json: bool) -> Outcome {
    let bench = open(named)?;
    let mut mistakes: Vec<Diagnostic> =
        bench.flights.iter().filter_map(|file| bench.flight(file).err()).collect();
    match ready_targets::own(&bench.root) {
        Ok((_, wrong)) => mistakes.extend(wrong),
        Err(wrong) => mistakes.push(wrong),
    }
    if !mistakes.is_empty() {
        return Err(mistakes.into());
    }
    let counts = [
        ("stocks", bench.stocks.len()),
        ("base waters", bench.waters.len()),
        ("flights", bench.flights.len()),
        ("records", bench.records.history.len()),
    ];
    if json {
        let counts: serde_json::Map<String, serde_json::Value> =
            counts.iter().map(|(what, n)| (what.replace(' ', "_"), (*n).into())).collect();
        return crate::text::json::document(&counts).map_err(|e| internal(&e));
    }
    let said: Vec<String> = counts.iter().map(|(what, n)| format!("{what} {n}")).collect();
    Ok(format!("No mistake was found: {}.\n", said.join(", ")))
}

/// Opens a session of it.
pub(super) fn session(named: Option<&Path>, name: &str) -> Result<SessionFolder, Mistakes> {
    Ok(SessionFolder::open(&root(named)?, name)?)
}

/// What lies on the bench, looks like a file of it and is not read; nothing where there is no bench.
pub(super) fn not_read(named: Option<&Path>) -> String {
    let Ok(root) = root(named) else { return String::new() };
    let strays = strays(&root);
    let inside = |path: &Path| path.strip_prefix(&root).unwrap_or(path).to_owned();
    crate::bench::strays_text::text(strays.iter().map(|s| (inside(&s.path), s.why.to_string())))
}
