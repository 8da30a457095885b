//! Which bench a command works on.

use std::path::{Path, PathBuf};

use crate::bench::session_folder::SessionFolder;
use crate::bench::taken_back::session_stands;
use crate::bench::{Bench, MARK, find_root, leftovers, strays_text};
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::text::visible;

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

/// Opens it for what follows from the strengths of its stocks, which must all be known.
pub(super) fn open(named: Option<&Path>) -> Result<Bench, Mistakes> {
    let bench = open_any(named)?;
    bench.strengths_known()?;
    Ok(bench)
}

/// Opens it for what needs no strength of a stock: damaged records are then no mistake.
pub(super) fn open_any(named: Option<&Path>) -> Result<Bench, Mistakes> {
    let root = root(named)?;
    Bench::open(&root)
}

/// Removes what stopped runs left on the bench.
pub(super) fn remove_unfinished(named: Option<&Path>) {
    if let Ok(root) = root(named)
        && root.join(MARK).is_file()
    {
        leftovers::remove_unfinished(&root);
    }
}

/// Opens a session of it.
pub(super) fn session(named: Option<&Path>, name: &str) -> Result<SessionFolder, Mistakes> {
    Ok(SessionFolder::open(&root(named)?, name)?)
}

/// A session in which something is to be entered: one that was taken back takes nothing in.
pub(super) fn standing_session(
    named: Option<&Path>,
    name: &str,
) -> Result<SessionFolder, Mistakes> {
    let root = root(named)?;
    let session = SessionFolder::open(&root, name)?;
    session_stands(&root, &session.name)?;
    Ok(session)
}

/// What stands above pages of a session that was taken back; nothing of one that stands.
pub(super) fn taken_back(named: Option<&Path>, session: &str) -> String {
    let back = root(named).is_ok_and(|root| session_stands(&root, session).is_err());
    let line = "! This session was taken back; `waterflight log` says when.\n";
    if back { line.to_owned() } else { String::new() }
}

/// What lies on the bench, looks like a file of it and is not read; nothing where there is no bench.
pub(super) fn not_read(named: Option<&Path>, listed: bool) -> String {
    let Ok(root) = root(named) else { return String::new() };
    visible(&strays_text::not_read(&root, listed)).into_owned()
}
