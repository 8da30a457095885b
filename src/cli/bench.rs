//! Which bench a command works on.

use std::path::{Path, PathBuf};

use crate::bench::session_folder::SessionFolder;
use crate::bench::strays::strays;
use crate::bench::{Bench, find_root};
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
