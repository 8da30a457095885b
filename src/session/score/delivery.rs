//! An answer that may arrive twice, late, or beside another: what a phone sends, decided on the log.
//!
//! The sender says up to which line it had seen the log of that cup or tray. Whatever is new since tells
//! a repeat, which is one line however often it comes, from an answer that would write over what
//! another hand has entered, which is refused. Nothing is kept but the log, so a stopped program knows
//! as much as one that went on.

use std::collections::BTreeMap;

use crate::session::plan::Code;
use crate::session::score::score_log::answer_of;
use crate::session::score::subject::{About, Subject};
use crate::session::score::{Answer, Entry, Refusal, ScoreLog, TurnedCup};

/// What arrived.
#[derive(Debug, Clone, PartialEq)]
pub enum Sent {
    /// All that is said of a cup or a tray; the answers of other methods and attributes not named
    /// stay.
    Answer(Answer),
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

/// What is to be done with it.
#[derive(Debug, Clone, PartialEq)]
pub enum Delivery {
    /// To be recorded.
    New(Vec<Entry>),
    /// The log says so already, and this line stands.
    Known {
        /// The line.
        line: u64,
    },
    /// The log said so, and something else has been entered since.
    Replaced {
        /// The line that said so.
        line: u64,
        /// The newest line of that cup or tray.
        by: u64,
    },
    /// Something else was entered that the sender had not seen.
    Conflict {
        /// The newest line of that cup or tray.
        by: u64,
    },
}

/// What stands of a cup or a tray.
#[derive(Debug, Clone, PartialEq)]
pub enum Standing {
    /// Nothing.
    Nothing,
    /// Scores of a cup, from one line or several.
    Scores {
        /// Attributes and their scores.
        values: BTreeMap<String, f64>,
        /// What was noted.
        note: Option<String>,
    },
    /// The codes that answer about a tray.
    Codes {
        /// In their order.
        codes: Vec<Code>,
        /// What was noted.
        note: Option<String>,
    },
    /// The stickers of a turned tray, in the order of the tops.
    Turned(Vec<TurnedCup>),
}

/// A line about a cup or a tray, and whether it stands.
#[derive(Debug, Clone)]
struct RecordedEntry<'a> {
    line: u64,
    entry: &'a Entry,
    stands: bool,
}

/// The lines about one cup or tray, and what stood after each.
#[derive(Debug, Clone)]
pub struct History<'a> {
    recorded: Vec<RecordedEntry<'a>>,
    states: Vec<(u64, Standing)>,
}

impl Sent {
    fn about(&self, score_log: &ScoreLog) -> Result<About, Refusal> {
        Ok(match self {
            Self::Answer(answer) => About { subject: score_log.subject(answer)?, turning: false },
            Self::Turned { taster, tray, .. } => {
                let (place, _) = score_log.tray_of(taster, *tray)?;
                About { subject: Subject::Tray(place), turning: true }
            }
        })
    }

    /// What is to be done with it; `seen` is the newest line about the same that the sender knew, 0 for
    /// none.
    ///
    /// # Errors
    /// When it cannot be said at all. What the log refuses is found out when it is recorded.
    pub fn delivered(&self, score_log: &ScoreLog, seen: u64) -> Result<Delivery, Refusal> {
        let history = History::of(score_log, self.about(score_log)?);
        let newest = history.newest();
        if self.says_nothing_beyond(history.standing()) {
            return Ok(Delivery::Known { line: history.stands_in().unwrap_or(newest) });
        }
        if seen < newest {
            let later = history.states.iter().filter(|(line, _)| *line > seen);
            let repeat = later.into_iter().find(|(_, state)| self.says_nothing_beyond(state));
            return Ok(match repeat {
                Some((line, _)) => Delivery::Replaced { line: *line, by: newest },
                None => Delivery::Conflict { by: newest },
            });
        }
        Ok(Delivery::New(self.entries(&history)))
    }

    /// Whether everything it says stands so.
    fn says_nothing_beyond(&self, standing: &Standing) -> bool {
        match (self, standing) {
            (
                Self::Answer(Answer::Scores { values, note, .. }),
                Standing::Scores { values: stand, note: noted },
            ) => note == noted && values.iter().all(|(name, value)| stand.get(name) == Some(value)),
            (
                Self::Answer(
                    Answer::Ranking { order: codes, note, .. }
                    | Answer::Choice { chosen: codes, note, .. },
                ),
                Standing::Codes { codes: stand, note: noted },
            ) => note == noted && codes == stand,
            (Self::Turned { cups, .. }, Standing::Turned(stand)) => in_order(cups) == *stand,
            _ => false,
        }
    }

    fn entries(&self, history: &History<'_>) -> Vec<Entry> {
        match self {
            Self::Turned { taster, tray, cups } => {
                vec![Entry::Turned { taster: taster.clone(), tray: *tray, cups: cups.clone() }]
            }
            Self::Answer(Answer::Scores { taster, code, values, note }) => {
                scores(history, (taster, *code), values, note.as_ref())
            }
            Self::Answer(answer) => vec![match history.stands_in() {
                Some(of) => Entry::Correction { of, answer: answer.clone() },
                None => Entry::Answer(answer.clone()),
            }],
        }
    }
}

/// The lines that make the scores of a cup what they are to be: a correction of each line that says
/// otherwise, and an answer for attributes that none has.
fn scores(
    history: &History<'_>,
    (taster, code): (&str, Code),
    wanted: &BTreeMap<String, f64>,
    note: Option<&String>,
) -> Vec<Entry> {
    let noted = match history.standing() {
        Standing::Scores { note, .. } => note.clone(),
        _ => None,
    };
    let note_changes = noted.as_ref() != note;
    let mut open = wanted.clone();
    let mut new_note = note.cloned();
    let mut entries = Vec::new();
    for one in history.recorded.iter().filter(|one| one.stands) {
        let Some(Answer::Scores { values: old, note: old_note, .. }) = answer_of(one.entry) else {
            continue;
        };
        let mut values = old.clone();
        for (name, value) in &mut values {
            if let Some(wanted) = open.remove(name) {
                *value = wanted;
            }
        }
        let note = if note_changes { new_note.take() } else { old_note.clone() };
        if values != *old || note != *old_note {
            let answer = Answer::Scores { taster: taster.to_owned(), code, values, note };
            entries.push(Entry::Correction { of: one.line, answer });
        }
    }
    if !open.is_empty() {
        let note = if note_changes { new_note } else { None };
        let answer = Answer::Scores { taster: taster.to_owned(), code, values: open, note };
        entries.push(Entry::Answer(answer));
    }
    entries
}

impl<'a> History<'a> {
    /// The history of a cup, or of a tray where there is no code; with `turning`, that of the tray's
    /// turning. `tray` is the place of the tray in the plan.
    #[must_use]
    pub fn at(score_log: &'a ScoreLog, tray: usize, code: Option<Code>, turning: bool) -> Self {
        let subject = code.map_or(Subject::Tray(tray), |code| Subject::Cup(tray, code));
        Self::of(score_log, About { subject, turning })
    }

    fn of(score_log: &'a ScoreLog, about: About) -> Self {
        let mut history = Self { recorded: Vec::new(), states: Vec::new() };
        for line in score_log.lines_about(about) {
            history.take(line.n, &line.entry);
        }
        history
    }

    fn take(&mut self, line: u64, entry: &'a Entry) {
        match entry {
            Entry::Correction { of, .. } => self.set(*of, false),
            Entry::Undo { of } => {
                self.set(*of, false);
                match self.recorded.iter().find(|one| one.line == *of).map(|one| one.entry) {
                    Some(Entry::Correction { of: older, .. }) => self.set(*older, true),
                    Some(Entry::Turned { .. }) => {
                        let before = self.recorded.iter_mut().rev().find(|one| {
                            one.line < *of && matches!(one.entry, Entry::Turned { .. })
                        });
                        if let Some(one) = before {
                            one.stands = true;
                        }
                    }
                    _ => {}
                }
            }
            Entry::Turned { .. } => self.recorded.iter_mut().for_each(|one| one.stands = false),
            _ => {}
        }
        let stands = !matches!(entry, Entry::Undo { .. });
        self.recorded.push(RecordedEntry { line, entry, stands });
        let state = self.state();
        self.states.push((line, state));
    }

    /// Says of a line whether it stands.
    fn set(&mut self, of: u64, stands: bool) {
        if let Some(one) = self.recorded.iter_mut().find(|one| one.line == of) {
            one.stands = stands;
        }
    }

    /// What stands now.
    fn state(&self) -> Standing {
        let mut standing = Standing::Nothing;
        for one in self.recorded.iter().filter(|one| one.stands) {
            standing = match (answer_of(one.entry), one.entry, standing) {
                (Some(Answer::Scores { values, note, .. }), _, before) => {
                    joined(before, values, note.as_deref())
                }
                (
                    Some(
                        Answer::Ranking { order: codes, note, .. }
                        | Answer::Choice { chosen: codes, note, .. },
                    ),
                    ..,
                ) => Standing::Codes { codes: codes.clone(), note: note.clone() },
                (None, Entry::Turned { cups, .. }, _) => Standing::Turned(in_order(cups)),
                (None, _, before) => before,
            };
        }
        standing
    }

    /// The newest line about it; 0 for none.
    #[must_use]
    pub fn newest(&self) -> u64 {
        self.recorded.last().map_or(0, |one| one.line)
    }

    /// The last line that stands of it.
    #[must_use]
    pub fn stands_in(&self) -> Option<u64> {
        self.recorded.iter().rev().find(|one| one.stands).map(|one| one.line)
    }

    /// What stands.
    #[must_use]
    pub fn standing(&self) -> &Standing {
        self.states.last().map_or(&Standing::Nothing, |(_, state)| state)
    }
}

/// The scores of another line added to those before.
fn joined(before: Standing, values: &BTreeMap<String, f64>, note: Option<&str>) -> Standing {
    let (mut all, mut notes) = match before {
        Standing::Scores { values, note } => (values, note),
        _ => (BTreeMap::new(), None),
    };
    all.extend(values.iter().map(|(name, value)| (name.clone(), *value)));
    if let Some(note) = note {
        notes = Some(notes.map_or_else(|| note.to_owned(), |before| format!("{before}; {note}")));
    }
    Standing::Scores { values: all, note: notes }
}

fn in_order(cups: &[TurnedCup]) -> Vec<TurnedCup> {
    let mut cups = cups.to_vec();
    cups.sort_by_key(|cup| cup.top);
    cups
}
