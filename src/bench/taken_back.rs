//! What is taken back: a record, a session, a remark on one. Everything is kept, and lines are only added.

use std::path::Path;

use serde_json::{Value, json};

use crate::bench::Records;
use crate::bench::history::What;
use crate::bench::lost_sessions::mentioned;
use crate::bench::records::{take_back, take_session_back};
use crate::bench::session_folder::{self, SessionFolder};
use crate::files::{Diagnostic, Mistakes};
use crate::quantities::Day;
use crate::session::score::{Entry, Line};
use crate::text::names;
use crate::text::table::wrapped;

const LISTED: &str = "`waterflight log` lists what was recorded";

/// What was taken back.
#[derive(Debug, Clone, PartialEq)]
pub enum TakenBack {
    /// A record, or a session.
    Recorded {
        /// What it is, in words.
        what: String,
        /// Number of the record that takes it back.
        record: u64,
    },
    /// A remark on a session, in the session's own log.
    Remark {
        /// Name of the session.
        session: String,
        /// Its line.
        of: u64,
        /// What the log says of that.
        lines: Vec<Line>,
    },
}

/// Takes back what is named: the number of a record, the name of a session, or `SESSION:LINE` for an
/// answer or a remark; the last record that stands when nothing is.
///
/// # Errors
/// When there is no such thing or it is not clear which is meant, or the disk does not take it.
pub fn undo(
    root: &Path,
    named: Option<&str>,
    day: Day,
    why: Option<String>,
) -> Result<TakenBack, Mistakes> {
    let named = named.map(str::trim);
    let sessions = session_folder::names(root)?;
    // One that is lost can be taken back as well: then nobody misses it.
    let mentioned = mentioned(root, &Records::read(root)?);
    let known: Vec<String> = sessions.iter().cloned().chain(mentioned.into_keys()).collect();
    let of = match named {
        Some(text) if known.iter().any(|name| names::alike(text, name)) => {
            let mut known: Vec<&str> = known.iter().map(String::as_str).collect();
            known.sort_unstable();
            known.dedup();
            let name = names::meant(text, &known).unwrap_or(text);
            let record = take_session_back(root, name, day, why)?;
            return Ok(TakenBack::Recorded { what: format!("session {name}"), record });
        }
        Some(text) if text.contains(':') => return undo_remark(root, text),
        Some(text) => text.trim_start_matches('#').parse().map_err(|_| {
            Diagnostic::choice(format!("`{text}` is no record"))
                .expected("the number of a record, the name of a session, or SESSION:LINE")
                .remedy("`waterflight log` lists them")
        })?,
        None => last_standing(root, &sessions)?,
    };
    let (found, record) = take_back(root, of, day, why)?;
    Ok(TakenBack::Recorded { what: format!("record {of}, {}", found.what), record })
}

/// The last record that stands and is itself no taking back. Sessions are in another log: where one may
/// have been planned later, it is asked which is meant.
fn last_standing(root: &Path, sessions: &[String]) -> Result<u64, Diagnostic> {
    let records = Records::read(root)?;
    let stands = records.history.iter().rev().find(|line| {
        let is_back = matches!(line.what, What::TakenBack { .. } | What::Session { .. });
        line.taken_back_by.is_none() && !is_back
    });
    let later: Vec<&String> = sessions
        .iter()
        .filter(|name| !records.withdrawn_sessions.contains(name))
        .filter(|name| {
            let session = SessionFolder::open(root, name);
            session.is_ok_and(|session| {
                session.waters().is_ok_and(|waters| {
                    stands.is_none_or(|line| waters.may_follow(line.n, &line.day))
                })
            })
        })
        .collect();
    match (stands, later.as_slice()) {
        (Some(line), []) => Ok(line.n),
        (None, []) => Err(Diagnostic::choice("there is nothing to take back").remedy(LISTED)),
        (line, sessions) => {
            let record = line.map(|line| format!("`waterflight undo {}` ({})", line.n, line.what));
            let sessions = sessions.iter().map(|name| format!("`waterflight undo {name}`"));
            let ways: Vec<String> = record.into_iter().chain(sessions).collect();
            Err(Diagnostic::choice("it is not clear what is to be taken back")
                .expected(ways.join(", or "))
                .remedy(format!("write the one that is meant; {LISTED}")))
        }
    }
}

/// A remark on a session, taken back in the session's own log.
fn undo_remark(root: &Path, text: &str) -> Result<TakenBack, Mistakes> {
    let (name, line) = text.rsplit_once(':').unwrap_or((text, ""));
    let session = SessionFolder::open(root, name)?;
    let of: u64 = line.trim().parse().map_err(|_| {
        Diagnostic::choice(format!("`{line}` is no line of a session"))
            .expected("SESSION:LINE, as in first-flight-1:4")
    })?;
    let (_, lines) = session.record(|_| Ok(vec![Entry::Undo { of }]))?;
    Ok(TakenBack::Remark { session: name.to_owned(), of, lines })
}

impl TakenBack {
    /// What was taken back, and how it would stand again.
    #[must_use]
    pub fn text(&self) -> String {
        match self {
            Self::Recorded { what, record: n } => wrapped(
                &format!(
                    "Taken back: {what}. It stays in `waterflight log`; this is record {n}, and \
                     `waterflight undo {n}` lets it stand again."
                ),
                0,
            ),
            Self::Remark { session, of, .. } => format!("line {of} of {session} is taken back\n"),
        }
    }

    /// The same as data.
    #[must_use]
    pub fn data(&self) -> Value {
        match self {
            Self::Recorded { what, record } => json!({"taken_back": what, "record": record}),
            Self::Remark { lines, .. } => json!(lines),
        }
    }
}

/// That a session was not taken back: one that was takes nothing in.
///
/// # Errors
/// When it was.
pub fn session_stands(root: &Path, session: &str) -> Result<(), Diagnostic> {
    // Damaged records must not stand in the way of a tasting.
    let Ok(records) = Records::read(root) else { return Ok(()) };
    if !records.withdrawn_sessions.iter().any(|name| names::alike(name, session)) {
        return Ok(());
    }
    let what = format!("the session `{session}` was taken back");
    Err(Diagnostic::choice(what).remedy(
        "`waterflight log` names the record that did it; `waterflight undo` with its number lets \
         the session stand again",
    ))
}
