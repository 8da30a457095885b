//! Which bench a command works on.

use std::path::{Path, PathBuf};

use crate::bench::records::Records;
use crate::bench::session_folder::SessionFolder;
use crate::bench::strays::strays;
use crate::bench::{Bench, MARK, find_root, leftovers, unread_files};
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::text::names::alike;
use crate::text::table::wrapped;
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

/// What stands above pages of a session that was taken back; nothing of one that stands.
pub(super) fn taken_back(named: Option<&Path>, session: &str) -> String {
    let back = root(named).is_ok_and(|root| stands(&root, session).is_err());
    let line = "! This session was taken back; `waterflight log` says when.\n";
    if back { line.to_owned() } else { String::new() }
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
    let others = lines.len().saturating_sub(FEW);
    let line = |(path, title, more): (PathBuf, String, usize)| {
        let more = if more == 0 { String::new() } else { format!(", and {more} more") };
        let line = format!("not read: {}: {title}{more} (`waterflight check`)", path.display());
        wrapped(&line, 2)
    };
    let text = lines.into_iter().take(FEW).map(line).fold(text, |all, line| all + &line);
    let rest = match others {
        0 => String::new(),
        1 => "not read: one more file (`waterflight check`)\n".to_owned(),
        n => format!("not read: {n} more files (`waterflight check`)\n"),
    };
    visible(&(text + &rest)).into_owned()
}

/// Our choice: so many files that cannot be read are named before an answer.
const FEW: usize = 3;
