//! How far a session is: whose answers are missing, what was noted, what was entered.

use serde::{Serialize, Serializer};

use crate::session::score::entry_text::{entry_words, missing_words, pending_words, status_words};
use crate::session::score::{Entry, Line, ScoreLog};
use crate::session::serve::commands::next_command;
use crate::text::Page;

/// How far a session is. It names codes and no waters.
#[derive(Debug, Clone, Serialize)]
pub struct SessionProgress<'a> {
    /// The session.
    pub session: String,
    /// Answers still missing.
    pub missing_answers: usize,
    /// Whether it is revealed, so that its scores are closed.
    pub revealed: bool,
    /// Every taster.
    pub tasters: Vec<TasterLine>,
    /// The command to type next.
    pub next: String,
    /// What takes the place of `…` in it, where that is not seen.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub left_open: Option<String>,
    /// Remarks on the session, as [`notes`].
    #[serde(serialize_with = "notes_shown")]
    pub notes: &'a ScoreLog,
    /// What changed since the session was planned.
    pub warnings: Vec<String>,
    /// A piece of a line that a stopped run left, never confirmed.
    pub torn: Option<String>,
    /// Every line of the log, as [`ScoreLog::shown`].
    #[serde(serialize_with = "lines_shown")]
    pub entries: &'a ScoreLog,
}

/// Lines of a log one after the other, without what became of each, which follows from the lines behind it.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands over a reference to the field")]
fn lines_shown<S: Serializer>(log: &&ScoreLog, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(log.lines().iter().map(|recorded| log.shown(&recorded.line)))
}

/// Remarks one after the other.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands over a reference to the field")]
fn notes_shown<S: Serializer>(log: &&ScoreLog, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(log.notes().filter_map(|line| note_line(log, line)))
}

/// How far a taster is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TasterLine {
    /// The taster.
    pub taster: String,
    /// Answers given.
    pub done: usize,
    /// What is missing, in the order of tasting.
    pub owes: Vec<String>,
}

/// A remark on a session.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NoteLine {
    /// Its line in the log.
    pub line: u64,
    /// When it was made.
    pub at: String,
    /// Who made it, when a taster did.
    pub taster: Option<String>,
    /// The remark.
    pub text: String,
}

/// The remarks on a session, in the order of the log.
#[must_use]
pub fn notes(score_log: &ScoreLog) -> Vec<NoteLine> {
    score_log.notes().filter_map(|line| note_line(score_log, line)).collect()
}

fn note_line(score_log: &ScoreLog, line: &Line) -> Option<NoteLine> {
    match score_log.shown(line).entry {
        Entry::Note { taster, text } => {
            Some(NoteLine { line: line.n, at: line.at.clone(), taster, text })
        }
        _ => None,
    }
}

/// Adds the remarks to a page.
pub fn say_notes(page: &mut Page, notes: &[NoteLine]) {
    for note in notes {
        let by = note.taster.as_ref().map_or(String::new(), |taster| format!(", {taster}"));
        page.say(format!("noted {}{by}: {}", minute(&note.at), note.text));
    }
}

/// `2031-05-04T10:00:00Z` as it is read.
fn minute(at: &str) -> String {
    at.get(..16).map_or_else(|| at.to_owned(), |at| at.replace('T', " "))
}

impl<'a> SessionProgress<'a> {
    /// Looks at a log.
    #[must_use]
    pub fn new(score_log: &'a ScoreLog, warnings: Vec<String>, torn: Option<String>) -> Self {
        let plan = score_log.plan();
        let next = next_command(score_log);
        let tasters = score_log.progress().into_iter().map(|one| TasterLine {
            done: one.done,
            owes: one.pending.iter().map(pending_words).collect(),
            taster: one.taster,
        });
        Self {
            session: plan.session.clone(),
            missing_answers: score_log.missing_answers(),
            revealed: score_log.revealed_in().is_some(),
            tasters: tasters.collect(),
            next: next.command,
            left_open: next.left_open,
            notes: score_log,
            warnings,
            torn,
            entries: score_log,
        }
    }

    /// The page; with every entry when it is wanted.
    #[must_use]
    pub fn page(&self, entries: bool) -> Page {
        let mut page = Page::default();
        let name = &self.session;
        page.say(match (self.revealed, self.missing_answers) {
            (true, _) => format!("{name}: revealed, the scores are closed"),
            // Which command opens the key stands at the end.
            (_, 0) => format!("{name}: complete, no answer is missing; the reveal opens the key"),
            _ => format!("{name}: {}", missing_words(self.entries)),
        });
        let rows = self
            .tasters
            .iter()
            .map(|t| vec![t.taster.clone(), t.done.to_string(), t.owes.join(" ")]);
        page.show(&["taster", "done", "missing"], rows.collect());
        page.say(format!("next: {}", self.next));
        if let Some(what) = &self.left_open {
            page.say(format!("  in the place of `…`: {what}"));
        }
        say_notes(&mut page, &notes(self.notes));
        for warning in &self.warnings {
            page.say(format!("! {warning}"));
        }
        if let Some(piece) = &self.torn {
            page.say(format!(
                "! a stopped run left a piece of a line, which was never confirmed and is not read: {piece}"
            ));
        }
        if entries {
            let in_words = self.entries.lines().iter().map(|recorded| {
                let line = self.entries.shown(&recorded.line);
                let words = entry_words(self.entries.plan(), &line.entry);
                vec![line.n.to_string(), minute(&line.at), words, status_words(recorded.status)]
            });
            page.show(&["line", "at (UTC)", "entry", ""], in_words.collect());
        }
        page
    }
}
