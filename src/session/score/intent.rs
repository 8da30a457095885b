//! What someone wants recorded, made into an entry on the log as it then is.

use crate::session::score::Refusal;
use crate::session::score::ScoreLog;
use crate::session::score::expected_order::in_note;
use crate::session::score::score_log::answer_of;
use crate::session::score::{Answer, Entry, OpenedFor, TurnedCup};
use crate::session::score::{AnswerError, ParsedAnswer};

/// What is to be recorded.
#[derive(Debug, Clone, PartialEq)]
pub enum Intent {
    /// An answer.
    Answer(ParsedAnswer),
    /// Another answer in the place of an earlier one: of the line named, or of the only one that
    /// can be meant.
    Correct {
        /// The line.
        of: Option<u64>,
        /// What is right.
        answer: ParsedAnswer,
    },
    /// An answer after the reveal.
    Late(ParsedAnswer),
    /// The last thing entered is taken back: by this taster, or by anyone.
    Undo {
        /// The taster.
        taster: Option<String>,
    },
    /// A remark on the session.
    Note {
        /// Who makes it, when a taster does.
        taster: Option<String>,
        /// The remark.
        text: String,
    },
    /// Somebody knows what should not be known before the reveal; the session is marked.
    Unblinded {
        /// How it came about.
        why: String,
    },
    /// The cups of a tray turned over.
    Turned {
        /// The taster.
        taster: String,
        /// Number of the tray.
        tray: usize,
        /// Every cup of the tray.
        cups: Vec<TurnedCup>,
    },
}

impl Intent {
    /// The entry, tested on the log as it is.
    ///
    /// # Errors
    /// When the log refuses it, with the way out.
    pub fn entry(&self, score_log: &ScoreLog) -> Result<Entry, AnswerError> {
        let entry = match self {
            Self::Answer(parsed) => Entry::Answer(parsed.answer().clone()),
            Self::Late(parsed) => Entry::Late { answer: parsed.answer().clone() },
            Self::Correct { of, answer: parsed } => {
                let of = match of {
                    Some(of) => *of,
                    None => line_meant(score_log, parsed.answer())?,
                };
                let old = score_log.line(of).and_then(|recorded| answer_of(&recorded.line.entry));
                let answer =
                    old.map_or_else(|| parsed.answer().clone(), |old| parsed.instead_of(old));
                Entry::Correction { of, answer }
            }
            Self::Undo { taster } => {
                let of = score_log.last_of(taster.as_deref()).ok_or(AnswerError::NothingToUndo)?;
                Entry::Undo { of }
            }
            Self::Note { text, .. } | Self::Unblinded { why: text } if text.trim().is_empty() => {
                return Err(AnswerError::EmptyNote);
            }
            Self::Note { text, .. } if in_note(text).is_some() => {
                return Err(AnswerError::ExpectedInNote);
            }
            Self::Note { taster, text } => {
                Entry::Note { taster: taster.clone(), text: in_one_line(text) }
            }
            Self::Unblinded { why } => {
                Entry::Opened { purpose: OpenedFor::AnotherReason, why: in_one_line(why) }
            }
            Self::Turned { taster, tray, cups } => {
                Entry::Turned { taster: taster.clone(), tray: *tray, cups: cups.clone() }
            }
        };
        score_log.check(&entry)?;
        Ok(entry)
    }
}

/// Words as they are read in a list.
fn in_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The line that a correction without a number is about.
fn line_meant(score_log: &ScoreLog, new: &Answer) -> Result<u64, AnswerError> {
    let what = match new {
        Answer::Scores { code, .. } => format!("cup {code}"),
        Answer::Ranking { tray, .. } | Answer::Choice { tray, .. } => format!("tray {tray}"),
    };
    // What cannot be said at all is refused as such.
    if !matches!(new, Answer::Scores { values, .. } if values.is_empty()) {
        score_log.subject(new)?;
    }
    let about: Vec<(u64, &Answer)> = score_log
        .standing()
        .filter_map(|line| Some((line.n, answer_of(&line.entry)?)))
        .filter(|(_, old)| same_subject(old, new))
        .collect();
    let shared: Vec<u64> =
        about.iter().filter(|(_, old)| shares_attribute(old, new)).map(|(n, _)| *n).collect();
    let all: Vec<u64> = about.iter().map(|(n, _)| *n).collect();
    match (shared.as_slice(), all.as_slice()) {
        ([only], _) | ([], [only]) => Ok(*only),
        ([], []) => Err(AnswerError::NothingToCorrect { what }),
        _ => Err(AnswerError::SeveralLines { what, lines: all }),
    }
}

fn same_subject(old: &Answer, new: &Answer) -> bool {
    if old.taster() != new.taster() {
        return false;
    }
    match (old, new) {
        (Answer::Scores { code: a, .. }, Answer::Scores { code: b, .. }) => a == b,
        (
            Answer::Ranking { tray: a, .. } | Answer::Choice { tray: a, .. },
            Answer::Ranking { tray: b, .. } | Answer::Choice { tray: b, .. },
        ) => a == b,
        _ => false,
    }
}

fn shares_attribute(old: &Answer, new: &Answer) -> bool {
    match (old, new) {
        (Answer::Scores { values: old, .. }, Answer::Scores { values: new, .. }) => {
            new.keys().any(|name| old.contains_key(name))
        }
        _ => true,
    }
}

/// A refusal that names the row of the file where the log has no such line yet.
fn in_file(refusal: Refusal, rows_taken: &[(u64, u64)]) -> AnswerError {
    let earlier = match &refusal {
        Refusal::Duplicate { line, .. } => rows_taken.iter().find(|(n, _)| n == line),
        _ => None,
    };
    earlier.map_or_else(|| refusal.into(), |(_, row)| AnswerError::TwiceInFile { row: *row })
}

/// Why rows of a table are not taken: the line of the file, and the reason.
pub type WrongRows = Vec<(u64, AnswerError)>;

/// Entries for the rows of a table, each with its line in the file; and how many rows the log
/// says already, as after a file that was entered before. All rows are taken or none.
///
/// # Errors
/// Every row that is refused.
pub fn entries_of_rows(
    score_log: &ScoreLog,
    rows: Vec<(u64, ParsedAnswer)>,
) -> Result<(Vec<Entry>, usize), WrongRows> {
    let known: Vec<&Answer> =
        score_log.standing().filter_map(|line| answer_of(&line.entry)).collect();
    let mut trial = score_log.clone();
    let (mut entries, mut wrong, mut already) = (Vec::new(), Vec::new(), 0);
    let mut rows_taken: Vec<(u64, u64)> = Vec::new();
    for (row, parsed) in rows {
        if known.contains(&parsed.answer()) {
            already += 1;
            continue;
        }
        let entry = Entry::Answer(parsed.answer().clone());
        let taken = trial.next_line("", entry.clone()).and_then(|line| {
            rows_taken.push((line.n, row));
            trial.accept(line)
        });
        match taken {
            Ok(()) => entries.push(entry),
            Err(refusal) => wrong.push((row, in_file(refusal, &rows_taken))),
        }
    }
    if wrong.is_empty() { Ok((entries, already)) } else { Err(wrong) }
}
