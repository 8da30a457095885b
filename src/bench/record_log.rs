//! Everything that was recorded on a bench, in the order in which it was made: records, planned sessions,
//! remarks on them.

use std::path::Path;

use serde::Serialize;

use crate::bench::Records;
use crate::bench::history::HistoryLine;
use crate::bench::session_folder::{self, SessionFolder};
use crate::bench::session_waters::SessionWaters;
use crate::files::Diagnostic;
use crate::session::score::{Entry, Recorded, Status};

/// A line of the log as data.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct LogEntry {
    /// Number of the record; nothing for a session, which is named.
    pub record: Option<u64>,
    /// The day.
    pub day: String,
    /// What happened.
    pub what: String,
    /// The record that takes it back or takes its place.
    pub taken_back_by: Option<u64>,
}

impl From<&HistoryLine> for LogEntry {
    fn from(line: &HistoryLine) -> Self {
        let instead =
            line.instead_of.map_or(String::new(), |of| format!(" (instead of record {of})"));
        Self {
            record: Some(line.n),
            day: line.day.clone(),
            what: format!("{}{instead}", line.what),
            taken_back_by: line.taken_back_by,
        }
    }
}

/// Where an entry stands: behind which record, whether it is itself none, when it was made.
type Place = (u64, bool, String);

/// Records, planned sessions and remarks in the order in which they were made, whatever days they name.
///
/// ```
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// use waterflight::bench::record_log::log_entries;
/// assert!(log_entries("stocks/demo".as_ref())?.iter().all(|entry| entry.taken_back_by.is_none()));
/// # Ok(())
/// # }
/// ```
///
/// # Errors
/// When the records or the list of sessions cannot be read. A session that cannot be read is left out:
/// `check` says what is wrong with it.
pub fn log_entries(root: &Path) -> Result<Vec<LogEntry>, Diagnostic> {
    let records = Records::read(root)?;
    // What is a record stands before what is none.
    let of_records = records.history.iter();
    let mut placed: Vec<(Place, LogEntry)> =
        of_records.map(|line| ((line.n, false, String::new()), line.into())).collect();
    for name in session_folder::names(root)? {
        if let Ok(session) = SessionFolder::open(root, &name)
            && let Ok(waters) = session.waters()
        {
            placed.extend(of_session(&records, &session, waters));
        }
    }
    placed.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(placed.into_iter().map(|(_, line)| line).collect())
}

/// A session and the remarks on it, in their places.
fn of_session(
    records: &Records,
    session: &SessionFolder,
    waters: &SessionWaters,
) -> Vec<(Place, LogEntry)> {
    let last_before = |is_before: &dyn Fn(&HistoryLine) -> bool| {
        records.history.iter().rfind(|record| is_before(record)).map_or(0, |record| record.n)
    };
    let name = &session.name;
    let back = if records.withdrawn_sessions.contains(name) { ", taken back" } else { "" };
    let planned = LogEntry {
        day: waters.day.clone(),
        what: format!("session {name} planned, of {}{back}", waters.flight),
        ..LogEntry::default()
    };
    // Sessions of older programs know their day alone.
    let after = waters.planned_after().unwrap_or_else(|| last_before(&|r| r.day <= waters.day));
    let mut placed = vec![((after, true, waters.day.clone()), planned)];
    for (at, line) in remarks(session) {
        let made_before = |record: &HistoryLine| match &record.at {
            // Within one second nobody makes both by hand.
            Some(record) => *record < at,
            None => record.day <= line.day,
        };
        let after = last_before(&made_before).max(after);
        placed.push(((after, true, at.clone()), line));
    }
    placed
}

/// The remarks on a session, with the times at which they were made; those of its log that cannot be read
/// are named by `check`.
fn remarks(session: &SessionFolder) -> Vec<(String, LogEntry)> {
    let Ok(score_log) = session.score_log() else { return Vec::new() };
    let of_line = |recorded: &Recorded| {
        let Entry::Note { text, .. } = &recorded.line.entry else { return None };
        let back = if recorded.status == Status::Stands { "" } else { ", taken back" };
        let entry = LogEntry {
            day: recorded.line.at.get(..10)?.to_owned(),
            what: format!("session {}, line {}{back}: {text}", session.name, recorded.line.n),
            ..LogEntry::default()
        };
        Some((recorded.line.at.clone(), entry))
    };
    score_log.lines().iter().filter_map(of_line).collect()
}
