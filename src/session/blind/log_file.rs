//! The log of a session on disk: read back, and added to under its lock.

use std::path::{Path, PathBuf};

use crate::files::{Diagnostic, Fault, Lock, append, clock};
use crate::quantities::Day;
use crate::session::blind::damaged;
use crate::session::plan::{Plan, Unwritable};
use crate::session::score::{Entry, Line, Refusal, ReplayReason, ScoreLog, replay};

const SCORES: &str = "scores.jsonl";
const LOCK: &str = "lock";

/// The log in a session's folder.
#[must_use]
pub(crate) fn path(folder: &Path) -> PathBuf {
    folder.join(SCORES)
}

/// Reads the log.
///
/// # Errors
/// When a whole line of it cannot be taken in.
pub(crate) fn read(folder: &Path, plan: &Plan) -> Result<ScoreLog, Diagnostic> {
    let path = path(folder);
    let text = append::read_whole_lines(&path)?;
    replay(plan, text.as_bytes()).map_err(|error| match error.reason {
        // The line is one as the tool writes it: either file may be the one that was changed.
        ReplayReason::Refused(_) => {
            Diagnostic::new(Fault::Content, error.to_string()).about(&path).remedy(
                "the log does not go with `plan.json` beside it: restore from a copy whichever of the \
                 two was changed",
            )
        }
        ReplayReason::NoText | ReplayReason::Line(_) => damaged(&path, &error),
    })
}

/// The piece of a line that a killed run left at the end of the log; it was never confirmed.
///
/// # Errors
/// When the log cannot be read.
pub(crate) fn torn(folder: &Path) -> Result<Option<String>, Diagnostic> {
    Ok(append::read(&path(folder))?.torn)
}

/// Waits until no other run writes.
///
/// # Errors
/// When another run keeps the lock.
pub(crate) fn lock(folder: &Path) -> Result<Lock, Diagnostic> {
    Lock::take(&folder.join(LOCK))
}

/// Takes entries into a log in memory; the lines still have to be written.
///
/// # Errors
/// The first refusal; the log then holds those before it.
pub(crate) fn take_in(score_log: &mut ScoreLog, entries: Vec<Entry>) -> Result<Vec<Line>, Refusal> {
    let mut lines = Vec::new();
    for entry in entries {
        let line = score_log.next_line(&Day::now(), entry)?;
        score_log.accept(line.clone())?;
        lines.push(line);
    }
    Ok(lines)
}

/// Writes what several asked for, and waits until it is on disk. What one asked for is one line of the
/// file, so that all of it counts or none. The caller holds the lock.
///
/// # Errors
/// When the disk does not take all of it; then it holds none.
pub(crate) fn write(folder: &Path, asked: &[Vec<Line>]) -> Result<(), Diagnostic> {
    clock::is_right()?;
    let asked = asked.iter().filter(|lines| !lines.is_empty());
    let texts =
        asked.map(|lines| Line::together_to_text(lines)).collect::<Result<Vec<String>, _>>();
    let texts = texts.map_err(|error| unwritten(&error))?;
    let bare: Vec<&str> = texts.iter().map(|text| text.trim_end_matches('\n')).collect();
    if bare.is_empty() { Ok(()) } else { append::append_all(&path(folder), &bare) }
}

/// Records entries, all or none, each decided on the log as it then is. They are on disk when this
/// returns.
///
/// # Errors
/// What `entries` refuses, a refusal of the log, or a disk that does not take them.
pub(crate) fn record<E: From<Diagnostic> + From<Refusal>>(
    folder: &Path,
    plan: &Plan,
    entries: impl FnOnce(&ScoreLog) -> Result<Vec<Entry>, E>,
) -> Result<(ScoreLog, Vec<Line>), E> {
    clock::is_right()?;
    let _lock = lock(folder)?;
    let mut score_log = read(folder, plan)?;
    let wanted = entries(&score_log)?;
    let lines = take_in(&mut score_log, wanted)?;
    write(folder, std::slice::from_ref(&lines))?;
    Ok((score_log, lines))
}

fn unwritten(error: &Unwritable) -> Diagnostic {
    Diagnostic::new(Fault::Internal, error.to_string())
}
