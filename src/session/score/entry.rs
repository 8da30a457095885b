//! One line of the score log ↔ one entry: JSON, one line each, never rewritten.

use std::borrow::Cow;
use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::session::plan::Code;
use crate::session::plan::Unwritable;

/// Newest version of a log line. Raised when a reader of the one before could not read it: 2 adds
/// expected orders. A line is written in the oldest version that can say it, so that programs of
/// earlier days read every log that holds none.
pub const LINE_FORMAT: u32 = 2;

/// The version of all other lines.
const PLAIN_FORMAT: u32 = 1;

/// Version of several entries that were recorded together, in one line of the log, so that all of them
/// are on disk or none.
pub const TOGETHER_FORMAT: u32 = 3;

/// What a taster says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Answer {
    /// Scores of one cup.
    Scores {
        /// The taster.
        taster: String,
        /// The cup.
        code: Code,
        /// Attribute and score; an attribute may be left for a later line.
        values: BTreeMap<String, f64>,
        /// Anything said about the cup.
        note: Option<String>,
    },
    /// The cups of a tray in order.
    Ranking {
        /// The taster.
        taster: String,
        /// Number of the tray among the taster's.
        tray: usize,
        /// All codes of the tray, most first.
        order: Vec<Code>,
        /// Anything said about the tray.
        note: Option<String>,
    },
    /// A choice: the odd cup, the one like the reference, the one with more; in a tetrad two cups
    /// that belong together.
    Choice {
        /// The taster.
        taster: String,
        /// Number of the tray among the taster's.
        tray: usize,
        /// The cup chosen; two cups in a tetrad.
        chosen: Vec<Code>,
        /// Anything said about the tray.
        note: Option<String>,
    },
}

impl Answer {
    /// Who says it.
    #[must_use]
    pub fn taster(&self) -> &str {
        match self {
            Answer::Scores { taster, .. }
            | Answer::Ranking { taster, .. }
            | Answer::Choice { taster, .. } => taster,
        }
    }

    /// What is said besides.
    #[must_use]
    pub fn note(&self) -> Option<&str> {
        match self {
            Answer::Scores { note, .. }
            | Answer::Ranking { note, .. }
            | Answer::Choice { note, .. } => note.as_deref(),
        }
    }
}

/// Why a key was opened before the reveal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OpenedFor {
    /// The pourer's sheet was made, as the procedure foresees.
    PouringSheet,
    /// Anything else: the session is marked.
    AnotherReason,
}

/// The code that stood underneath a cup, for a tasting alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TurnedCup {
    /// Code on top.
    pub top: Code,
    /// Code on the sticker.
    pub under: Code,
}

/// What a line records.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Entry {
    /// An answer, given blind.
    Answer(Answer),
    /// Another answer in the place of an earlier line's, which is kept.
    Correction {
        /// Number of the line corrected.
        of: u64,
        /// What is said now.
        answer: Answer,
    },
    /// An earlier answer or correction is taken back; it is kept.
    Undo {
        /// Number of the line taken back.
        of: u64,
    },
    /// A remark on the session.
    Note {
        /// Who makes it, when a taster does.
        taster: Option<String>,
        /// The remark.
        text: String,
    },
    /// An order of the waters that is expected, entered before the first answer.
    ExpectedOrder {
        /// The attribute or criterion.
        of: String,
        /// The waters, most first.
        order: Vec<String>,
    },
    /// The cups of a tray turned over, for a tasting alone.
    Turned {
        /// The taster.
        taster: String,
        /// Number of the tray.
        tray: usize,
        /// Every cup of the tray.
        cups: Vec<TurnedCup>,
    },
    /// The key was read before the reveal.
    Opened {
        /// What for.
        purpose: OpenedFor,
        /// In words.
        why: String,
    },
    /// The reveal: from here on the scores are closed.
    Reveal {
        /// Seal of the key that is opened.
        seal: String,
        /// Cups or trays still missing.
        #[serde(rename = "owing")]
        missing_answers: usize,
        /// Why it was forced, when something was missing.
        forced: Option<String>,
    },
    /// An answer given after the reveal: unblinded, kept, and left out of the analysis.
    Late {
        /// The answer.
        answer: Answer,
    },
}

impl Entry {
    /// The oldest version of a line that can say it.
    #[must_use]
    pub fn format(&self) -> u32 {
        match self {
            Entry::ExpectedOrder { .. } => LINE_FORMAT,
            _ => PLAIN_FORMAT,
        }
    }
}

/// One line of the log.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// [`Entry::format`], at most [`LINE_FORMAT`].
    pub v: u32,
    /// Number of the line, from 1 without a gap.
    pub n: u64,
    /// When it was written, as the caller states it (RFC 3339).
    pub at: String,
    /// What it records.
    pub entry: Entry,
}

/// Why text is no line of a log.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LineError {
    /// It cannot be read.
    #[error("it cannot be read: {reason}")]
    Unreadable {
        /// Why.
        reason: String,
    },
    /// Written by a newer program.
    #[error(
        "it has format {found} and this program reads up to {TOGETHER_FORMAT}; use a newer program"
    )]
    TooNew {
        /// Format found.
        found: u32,
    },
}

impl Line {
    /// The line as it stands in the log, with its line feed.
    ///
    /// ```
    /// use waterflight::session::score::{Entry, Line};
    /// let line = Line { v: 1, n: 1, at: "2031-05-04T10:00:00Z".into(), entry: Entry::Undo { of: 0 } };
    /// let text = line.to_text()?;
    /// assert!(text.ends_with("}\n") && text.matches('\n').count() == 1);
    /// assert_eq!(Line::all_from_text(&text), Ok(vec![line]));
    /// # Ok::<(), waterflight::session::plan::Unwritable>(())
    /// ```
    ///
    /// # Errors
    /// When it has none, which is a fault of the program: an empty line is never written, nor confirmed.
    pub fn to_text(&self) -> Result<String, Unwritable> {
        Ok(Unwritable::line("line of the score log", self)? + "\n")
    }

    /// Lines that are recorded together, as they stand in the log, with a line feed: one alone as
    /// [`Line::to_text`] has it, several inside one line.
    ///
    /// # Errors
    /// As [`Line::to_text`].
    pub fn together_to_text(lines: &[Line]) -> Result<String, Unwritable> {
        if let [line] = lines {
            return line.to_text();
        }
        let together = Together { v: TOGETHER_FORMAT, lines: Cow::Borrowed(lines) };
        Ok(Unwritable::line("line of the score log", &together)? + "\n")
    }

    /// Reads a line of the log with all entries that it holds.
    ///
    /// # Errors
    /// When it is no line, or one of a newer format.
    pub fn all_from_text(text: &str) -> Result<Vec<Self>, LineError> {
        #[derive(Deserialize)]
        struct Version {
            v: u32,
        }
        let unreadable =
            |error: serde_json::Error| LineError::Unreadable { reason: error.to_string() };
        let version: Version = serde_json::from_str(text).map_err(unreadable)?;
        match version.v {
            0..=LINE_FORMAT => Ok(vec![serde_json::from_str(text).map_err(unreadable)?]),
            TOGETHER_FORMAT => {
                let together: Together<'_> = serde_json::from_str(text).map_err(unreadable)?;
                match together.lines.iter().find(|line| line.v > LINE_FORMAT) {
                    Some(newer) => Err(LineError::TooNew { found: newer.v }),
                    None => Ok(together.lines.into_owned()),
                }
            }
            found => Err(LineError::TooNew { found }),
        }
    }
}

/// Entries recorded together.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Together<'a> {
    v: u32,
    lines: Cow<'a, [Line]>,
}
