//! What is entered in the log of a session, and what is said of it: answers, rows of a table, cups turned
//! over, remarks, an expected order.

use std::path::Path;

use serde_json::{Value, json};

use crate::app::session_steps::{entry, record, unrevealed};
use crate::bench::session_folder::SessionFolder;
use crate::bench::session_rows;
use crate::files::{Diagnostic, Mistakes};
use crate::session::score::entry_text::{missing_words, on_disk_words};
use crate::session::score::{
    AnswerError, Entry, Intent, Line, OrderError, Refusal, ScoreLog, TurnedCup, entries_of_rows,
    expectation, stickers_belong,
};
use crate::text::Page;

/// What was entered, and the log that has it.
#[derive(Debug, Clone)]
pub struct SessionEntries {
    /// Name of the session.
    pub session: String,
    /// The log with them.
    pub score_log: ScoreLog,
    /// The lines that were entered.
    pub lines: Vec<Line>,
    /// Rows of a table that were there before.
    pub known: usize,
}

/// Enters what is intended.
///
/// # Errors
/// When the log refuses it, or the disk does not take it.
pub fn enter(session: &SessionFolder, intent: &Intent) -> Result<SessionEntries, Mistakes> {
    Ok(entered(session, record(session, intent)?, 0))
}

fn entered(
    session: &SessionFolder,
    (score_log, lines): (ScoreLog, Vec<Line>),
    known: usize,
) -> SessionEntries {
    SessionEntries { session: session.name.clone(), score_log, lines, known }
}

/// Enters the rows of a table, all or none.
///
/// # Errors
/// When a row cannot be read or is refused, or the disk does not take them.
pub fn enter_rows(session: &SessionFolder, file: &Path) -> Result<SessionEntries, Mistakes> {
    let rows = session_rows::read(file, &session.plan)?;
    let mut known = 0;
    let written = session.record(|score_log| {
        let (entries, already) =
            entries_of_rows(score_log, rows).map_err(|wrong| session_rows::refused(file, wrong))?;
        known = already;
        Ok(entries)
    })?;
    Ok(entered(session, written, known))
}

/// Enters what stood under the cups of a tray, of who tastes alone.
///
/// # Errors
/// When the log refuses it, or stickers are not those of these cups.
pub fn enter_turned(
    session: &SessionFolder,
    tray: usize,
    cups: &[TurnedCup],
) -> Result<SessionEntries, Mistakes> {
    let taster = session.plan.tasters.first().cloned().unwrap_or_default();
    let intent = Intent::Turned { taster, tray, cups: cups.to_vec() };
    // What the log alone refuses comes first; a key kept elsewhere is asked at the reveal.
    intent.entry(&session.score_log()?)?;
    if let Ok(text) = session.key_text(None) {
        stickers_belong(&session.plan, &text, tray, cups).map_err(|e| unrevealed(session, &e))?;
    }
    enter(session, &intent)
}

/// Enters a remark in place of the one in a line.
///
/// # Errors
/// When that line is no remark, or the log refuses the new one.
pub fn replace_remark(
    session: &SessionFolder,
    of: u64,
    intent: &Intent,
) -> Result<SessionEntries, Mistakes> {
    let written = session.record(|score_log| {
        let is_remark =
            score_log.line(of).is_some_and(|old| matches!(old.line.entry, Entry::Note { .. }));
        if !is_remark {
            return Err(Diagnostic::choice(format!("line {of} is no remark"))
                .expected("the line of a remark on this session")
                .remedy("`session progress NAME --entries` lists the lines")
                .into());
        }
        Ok(vec![Entry::Undo { of }, entry(session, score_log, intent)?])
    })?;
    Ok(entered(session, written, 0))
}

/// Enters an order that is expected of the waters.
///
/// # Errors
/// When the text is no such order, or the log refuses it.
pub fn enter_expected(session: &SessionFolder, order: &str) -> Result<SessionEntries, Mistakes> {
    // What comes too late is not asked for in full first.
    if let Some(line) = session.score_log()?.first_answer() {
        return Err(Refusal::from(OrderError::TooLate { line }).into());
    }
    let entry = expectation(&session.plan, &session.compared_waters()?, order)
        .map_err(AnswerError::from)?;
    Ok(entered(session, session.record(|_| Ok(vec![entry]))?, 0))
}

impl SessionEntries {
    /// What is on disk now, and what is missing.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = Page::default();
        let rows = match self.known {
            1 => "1 row was".to_owned(),
            n => format!("{n} rows were"),
        };
        match self.lines.as_slice() {
            [line] => {
                page.say(on_disk_words(&self.score_log, line));
                if matches!(line.entry, Entry::Note { .. }) {
                    page.say(format!(
                        "`waterflight undo '{}:{}'` takes it back",
                        self.session, line.n
                    ));
                }
            }
            [] if self.known > 0 => {
                page.say(format!("nothing new: {rows} there already, and nothing was changed"));
            }
            lines => page.say(format!("{} entries are on disk", lines.len())),
        }
        if self.known > 0 && !self.lines.is_empty() {
            page.say(format!("{rows} there already and left as they are"));
        }
        page.say(missing_words(&self.score_log));
        page
    }

    /// The same as data.
    #[must_use]
    pub fn data(&self) -> Value {
        let lines: Vec<Line> = self.lines.iter().map(|line| self.score_log.shown(line)).collect();
        json!({
            "session": self.session, "recorded": lines, "known": self.known,
            "missing_answers": self.score_log.missing_answers(),
        })
    }
}
