//! Which bench a command works on.

use std::path::{Path, PathBuf};

use crate::bench::records::Records;
use crate::bench::session_folder::SessionFolder;
use crate::bench::strays::strays;
use crate::bench::{Bench, MARK, find_root, leftovers, unread_files};
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::text::names::alike;
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
    stands(&root, &session.name)?;
    Ok(session)
}

/// That a session was not taken back.
pub(super) fn stands(root: &Path, session: &str) -> Result<(), Mistakes> {
    // Damaged records must not stand in the way of a tasting.
    let Ok(records) = Records::read(root) else { return Ok(()) };
    if !records.withdrawn_sessions.iter().any(|name| alike(name, session)) {
        return Ok(());
    }
    let what = format!("the session `{session}` was taken back");
    Err(Diagnostic::new(Fault::Choice, what)
        .remedy(
            "`waterflight log` names the record that did it; `waterflight undo` with its number lets \
             the session stand again",
        )
        .into())
}

/// What lies on the bench, looks like a file of it and is not read; nothing where there is no bench.
pub(super) fn not_read(named: Option<&Path>, listed: bool) -> String {
    let Ok(root) = root(named) else { return String::new() };
    let strays = strays(&root);
    let inside = |path: &Path| path.strip_prefix(&root).unwrap_or(path).to_owned();
    let text = crate::bench::strays_text::text(
        strays.iter().map(|s| (inside(&s.path), s.why.to_string())),
    );
    // `check` lists them itself.
    let unread = if listed { Vec::new() } else { unread_files(&root) };
    let mut lines: Vec<(PathBuf, String, usize)> = Vec::new();
    for wrong in unread {
        let details = wrong.details();
        let path = details.path.as_deref().map(inside).unwrap_or_default();
        match lines.iter_mut().find(|(known, ..)| *known == path) {
            Some((.., more)) => *more += 1,
            None => lines.push((path, details.title.clone(), 0)),
        }
    }
    let line = |(path, title, more): (PathBuf, String, usize)| {
        let more = if more == 0 { String::new() } else { format!(", and {more} more") };
        format!("not read: {}: {title}{more} (`waterflight check`)\n", path.display())
    };
    let text = lines.into_iter().map(line).fold(text, |all, line| all + &line);
    visible(&text).into_owned()
}
