//! All sessions of a bench as they stand: revealed ones with their waters named.

use std::path::Path;

use crate::bench::Records;
use crate::bench::lost_sessions::lost_sessions;
use crate::bench::session_folder::{SessionFolder, names};
use crate::bench::session_waters::PlannedWater;
use crate::files::Diagnostic;
use crate::session::results::PastSession;
use crate::session::score::revealed;

/// A session that cannot be read, in words, for what is said without it.
#[must_use]
pub fn left_out(wrong: &Diagnostic) -> String {
    let details = wrong.details();
    let place = details.path.as_ref().map_or(String::new(), |path| format!("{}: ", path.display()));
    format!("an earlier session cannot be read and is left out of this: {place}{}", details.title)
}

/// The sessions of a bench that can be read, in the order of time, and what is wrong with the others:
/// one damaged session must not stop what looks at all of them, nor change it without a word.
///
/// # Errors
/// When the folder of sessions cannot be read.
pub fn readable_sessions(root: &Path) -> Result<(Vec<PastSession>, Vec<Diagnostic>), Diagnostic> {
    let (mut past, mut unread) = (Vec::new(), Vec::new());
    let records = Records::read(root)?;
    let there = names(root)?;
    unread.extend(lost_sessions(root, &records, &there));
    for name in there.into_iter().filter(|name| !records.withdrawn_sessions.contains(name)) {
        let opened = SessionFolder::open(root, &name);
        match opened.and_then(|session| past_session(&session)) {
            Ok(session) => past.push(session),
            Err(wrong) => unread.push(wrong),
        }
    }
    past.sort_by(|a, b| (&a.at, &a.name).cmp(&(&b.at, &b.name)));
    Ok((past, unread))
}

/// One session as it stands. What is not revealed keeps its key closed.
///
/// # Errors
/// When a file of it cannot be read, or its key is not the sealed one.
pub fn past_session(session: &SessionFolder) -> Result<PastSession, Diagnostic> {
    let score_log = session.score_log()?;
    let reveal = score_log.revealed_in().and_then(|line| score_log.line(line));
    let waters = session.waters()?;
    let mut past = PastSession {
        name: session.name.clone(),
        at: reveal.map_or_else(|| waters.day.clone(), |line| line.line.at.clone()),
        made: waters.waters.iter().map(PlannedWater::made).collect(),
        revealed: None,
    };
    if reveal.is_some() {
        let found = revealed(&score_log, &session.key_text(None)?);
        past.revealed = Some(
            found.map_err(|error| Diagnostic::content(error.to_string()).about(&session.path))?,
        );
    }
    Ok(past)
}
