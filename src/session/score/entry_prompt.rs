//! The table where scores are entered by hand: whose turn it is, which cup comes next, what is
//! typed of it so far. It knows neither screen nor disk: a line comes in, words or an intent come
//! out, and a cup is written only when it is whole.

use crate::session::plan::Code;
use crate::session::plan::Method;
use crate::session::plan::Plan;

use crate::session::score::Intent;
use crate::session::score::Refusal;
use crate::session::score::answer_parser::{is_score, parted, scores};
use crate::session::score::prompt_text;
use crate::session::score::{Answer, Entry};
use crate::session::score::{Book, Owed, OwedWhat};
use crate::session::score::{Said, SpokenError, answer_parser, said};

/// What a line comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum Heard {
    /// Words to be shown; nothing is recorded.
    Said(Vec<String>),
    /// To be recorded.
    Record(Intent),
    /// The work is done.
    End,
}

/// A cup of which something is typed and nothing is written.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct HalfTyped {
    pub(crate) code: Code,
    /// Attributes to be given.
    pub(crate) wanted: Vec<String>,
    pub(crate) scores: Vec<(String, Option<f64>)>,
    pub(crate) note: Option<String>,
}

impl HalfTyped {
    /// Attributes without a word.
    pub(crate) fn lacks(&self) -> Vec<&str> {
        let given = |name: &&String| !self.scores.iter().any(|(given, _)| given == *name);
        self.wanted.iter().filter(given).map(String::as_str).collect()
    }
}

/// The table.
#[derive(Debug, Clone, Default)]
pub struct Desk {
    pub(crate) taster: Option<String>,
    /// The cup or tray that was asked for out of turn.
    jumped: Option<Owed>,
    skipped: Vec<Owed>,
    pub(crate) half: Option<HalfTyped>,
}

impl Desk {
    /// A table at which a taster sits, or nobody yet.
    ///
    /// # Errors
    /// When nobody of that name tastes in this session.
    pub fn new(book: &Book, taster: Option<&str>) -> Result<Self, SpokenError> {
        let mut desk = Self::default();
        if let Some(name) = taster {
            desk.sit(book, name)?;
        }
        Ok(desk)
    }

    /// What is asked now, one line for each.
    #[must_use]
    pub fn asks(&self, book: &Book) -> Vec<String> {
        prompt_text::asks(self, book)
    }

    /// What was typed of a cup and never written.
    #[must_use]
    pub fn left_unwritten(&self) -> Option<String> {
        let half = self.half.as_ref()?;
        Some(format!("cup {} was half typed and is not written", half.code))
    }

    /// The cup or tray that is asked for: the one jumped to, or the next owed that was not
    /// skipped; when all were, the first of them.
    pub(crate) fn current(&self, book: &Book) -> Option<Owed> {
        let owed = book.progress_of(self.taster.as_deref()?).owed;
        let same = |a: &Owed, b: &Owed| spot(a) == spot(b);
        let jumped = self.jumped.as_ref();
        owed.iter()
            .find(|one| jumped.is_some_and(|jumped| same(one, jumped)))
            .or_else(|| owed.iter().find(|one| !self.skipped.iter().any(|s| same(one, s))))
            .or_else(|| owed.first())
            .cloned()
    }

    /// Takes in a line.
    ///
    /// # Errors
    /// When it cannot be understood or would be refused; the table is then as it was.
    pub fn hear(&mut self, book: &Book, line: &str) -> Result<Heard, SpokenError> {
        let line = line.trim();
        let asks_note = self.half.as_ref().is_some_and(|half| half.lacks().is_empty());
        match line {
            "" if asks_note => return Ok(self.whole()),
            "" => return Ok(Heard::Said(Vec::new())),
            "end" | "quit" | "exit" => return Ok(Heard::End),
            "help" | "?" => return Ok(Heard::Said(prompt_text::help(book.plan()))),
            "owed" => return Ok(Heard::Said(prompt_text::owed(book))),
            "entries" => {
                return Ok(Heard::Said(prompt_text::entries(book, self.taster.as_deref())));
            }
            "undo" => return Ok(self.undo()),
            "skip" => return Ok(self.skip(book)),
            "enough" if self.half.is_some() => return Ok(self.whole()),
            "enough" => return Ok(Heard::Said(vec!["no cup is half typed".to_owned()])),
            _ => {}
        }
        if asks_note
            && !self.begins_with_owed(book, line)
            && let Some(half) = &mut self.half
        {
            let note = line.strip_prefix(';').unwrap_or(line).trim();
            half.note = (!note.is_empty()).then(|| note.to_owned());
            return Ok(self.whole());
        }
        let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let rest = rest.trim();
        match word {
            "note" if rest.is_empty() => Err(SpokenError::EmptyNote),
            "note" => match &mut self.half {
                Some(half) => {
                    half.note = Some(rest.to_owned());
                    Ok(Heard::Said(Vec::new()))
                }
                None => Ok(Heard::Record(Intent::Note {
                    taster: self.taster.clone(),
                    text: rest.to_owned(),
                })),
            },
            "taster" => self.sit(book, rest),
            "correct" => self.correct(book, rest),
            "tray" => self.go_to_tray(book, rest),
            _ => self.hear_answer(book, line),
        }
    }

    /// Whether a line begins with a code of which this taster owes something: then it is about that
    /// cup, and no note on the one before.
    fn begins_with_owed(&self, book: &Book, line: &str) -> bool {
        let ends = |c: char| c.is_whitespace() || c == ';';
        let code = line.split(ends).next().and_then(|word| word.parse::<Code>().ok());
        let (Some(code), Some(taster)) = (code, self.taster.as_deref()) else { return false };
        book.progress_of(taster).owed.iter().any(|one| spot(one).1 == Some(code))
    }

    /// Forgets where it was once an intent was recorded.
    pub fn recorded(&mut self) {
        self.jumped = None;
    }

    /// An answer, with or without a name before it.
    fn hear_answer(&mut self, book: &Book, line: &str) -> Result<Heard, SpokenError> {
        if let Some((name, rest)) = named(book.plan(), line) {
            self.free()?;
            let before = self.clone();
            let heard = self.sit(book, name)?;
            if rest.is_empty() {
                return Ok(heard);
            }
            return self.hear_answer_of(book, rest).inspect_err(|_| *self = before);
        }
        self.hear_answer_of(book, line)
    }

    fn hear_answer_of(&mut self, book: &Book, line: &str) -> Result<Heard, SpokenError> {
        let Some(taster) = self.taster.clone() else {
            let name = line.split_whitespace().next().unwrap_or_default();
            book.known(name)?;
            return Err(not_understood(book.plan(), line));
        };
        let ends = |c: char| c.is_whitespace() || c == ';';
        let first = line.split(ends).next().unwrap_or_default();
        if let Some(Owed { tray, what: OwedWhat::Turning }) = self.current(book)
            && first.contains('=')
        {
            let words: Vec<String> = line.split_whitespace().map(str::to_owned).collect();
            let cups = answer_parser::turned(&words)?;
            return Ok(Heard::Record(Intent::Turned { taster, tray, cups }));
        }
        if !is_score(first) && first.parse::<Code>().is_err() {
            return Err(match self.half.as_ref().and_then(|half| half.lacks().first().copied()) {
                Some(attribute) => SpokenError::NoScore {
                    found: first.to_owned(),
                    attribute: attribute.to_owned(),
                },
                None => not_understood(book.plan(), line),
            });
        }
        if matches!(book.plan().method, Method::Scoring { .. }) {
            return self.scores(book, &taster, line);
        }
        let (words, note) = parted(book.plan(), line);
        Ok(Heard::Record(Intent::Answer(said(book.plan(), &taster, &words, note)?)))
    }

    /// Scores of a cup, whole or in pieces.
    fn scores(&mut self, book: &Book, taster: &str, line: &str) -> Result<Heard, SpokenError> {
        let (words, note) = parted(book.plan(), line);
        let named = words.first().and_then(|word| word.parse::<Code>().ok());
        let words = if named.is_some() { words.get(1..) } else { Some(words.as_slice()) };
        let words = words.unwrap_or_default();
        let mut half = match (self.half.clone(), named) {
            (Some(half), None) => half,
            (Some(half), Some(code)) if half.code == code => half,
            (Some(_), Some(_)) => return self.free().map(|()| Heard::Said(Vec::new())),
            (None, named) => {
                let current = self.current(book).map(|owed| owed.what);
                let ((Some(code), _) | (None, Some(OwedWhat::Cup { code, .. }))) = (named, current)
                else {
                    return Err(SpokenError::NoCode);
                };
                begun(book, taster, code)?
            }
        };
        let fresh = self.half.is_none();
        if words.is_empty() && note.is_none() {
            // The code alone: that cup is asked for now.
            let owed = book.progress_of(taster).owed;
            let jumped = owed.into_iter().find(|one| spot(one).1 == Some(half.code));
            self.jumped = jumped;
            return Ok(Heard::Said(Vec::new()));
        }
        let open = half.lacks();
        let given = scores(&open, words)?;
        half.scores.retain(|(name, _)| !given.iter().any(|(given, _)| given == name));
        half.scores.extend(given);
        half.note = note.or(half.note);
        let so_far = Said::of_cup(taster, half.code, half.scores.clone(), None);
        if matches!(so_far.answer(), Answer::Scores { values, .. } if !values.is_empty()) {
            book.check(&Entry::Answer(so_far.answer().clone()))?;
        }
        let is_whole = half.lacks().is_empty() && (fresh || half.note.is_some());
        self.half = Some(half);
        Ok(if is_whole { self.whole() } else { Heard::Said(Vec::new()) })
    }

    /// The cup as it was typed, to be written.
    fn whole(&mut self) -> Heard {
        let (Some(half), Some(taster)) = (self.half.take(), &self.taster) else {
            return Heard::Said(Vec::new());
        };
        Heard::Record(Intent::Answer(Said::of_cup(taster, half.code, half.scores, half.note)))
    }

    /// Refuses to leave a cup that is half typed.
    fn free(&self) -> Result<(), SpokenError> {
        self.half.as_ref().map_or(Ok(()), |half| {
            let lacks = match half.lacks().as_slice() {
                [] => "the note, behind `;` when it begins with a code".to_owned(),
                lacks => lacks.join(", "),
            };
            Err(SpokenError::HalfTyped { code: half.code, lacks })
        })
    }

    fn sit(&mut self, book: &Book, name: &str) -> Result<Heard, SpokenError> {
        book.known(name)?;
        self.free()?;
        *self = Self { taster: Some(name.to_owned()), ..Self::default() };
        Ok(Heard::Said(Vec::new()))
    }

    fn undo(&mut self) -> Heard {
        match self.half.take() {
            Some(half) => {
                Heard::Said(vec![format!("cup {}: what was typed is dropped", half.code)])
            }
            None => Heard::Record(Intent::Undo { taster: self.taster.clone() }),
        }
    }

    fn skip(&mut self, book: &Book) -> Heard {
        let dropped = self.half.take();
        let owed = self.taster.as_deref().map(|taster| book.progress_of(taster).owed);
        if let Some(current) = self.current(book) {
            self.skipped.push(current);
        }
        self.jumped = None;
        let skipped = |one: &Owed| self.skipped.iter().any(|s| spot(s) == spot(one));
        if owed.is_some_and(|owed| owed.iter().all(skipped)) {
            // Everything was put off, so the first is asked for again.
            self.skipped.clear();
        }
        let dropped = dropped.map(|half| format!("cup {}: what was typed is dropped", half.code));
        Heard::Said(dropped.into_iter().collect())
    }

    fn go_to_tray(&mut self, book: &Book, number: &str) -> Result<Heard, SpokenError> {
        let taster = self.taster.as_deref().unwrap_or_default();
        book.known(taster)?;
        self.free()?;
        let trays = book.plan().trays_of(taster).count();
        let unknown = |tray| Refusal::UnknownTray { taster: taster.to_owned(), tray, trays };
        let tray =
            number.parse().map_err(|_| not_understood(book.plan(), &format!("tray {number}")))?;
        if !(1..=trays).contains(&tray) {
            return Err(unknown(tray).into());
        }
        self.jumped = book.progress_of(taster).owed.into_iter().find(|one| one.tray == tray);
        Ok(Heard::Said(match self.jumped {
            Some(_) => Vec::new(),
            None => vec![format!("nothing is owed of tray {tray}; `correct` changes an answer")],
        }))
    }

    fn correct(&mut self, book: &Book, words: &str) -> Result<Heard, SpokenError> {
        self.free()?;
        let taster = self.taster.as_deref().unwrap_or_default();
        book.known(taster)?;
        let (words, note) = parted(book.plan(), words);
        let said = said(book.plan(), taster, &words, note)?;
        Ok(Heard::Record(Intent::Correct { of: None, said }))
    }
}

/// What tells two owed things apart.
fn spot(owed: &Owed) -> (usize, Option<Code>, bool) {
    match &owed.what {
        OwedWhat::Cup { code, .. } => (owed.tray, Some(*code), false),
        OwedWhat::Tray => (owed.tray, None, false),
        OwedWhat::Turning => (owed.tray, None, true),
    }
}

/// A cup of which nothing is typed yet, if it may be scored.
fn begun(book: &Book, taster: &str, code: Code) -> Result<HalfTyped, SpokenError> {
    let owed = book.progress_of(taster).owed;
    let wanted = owed.into_iter().find_map(|one| match one.what {
        OwedWhat::Cup { code: owed, attributes } if owed == code => Some(attributes),
        _ => None,
    });
    if let Some(wanted) = wanted {
        return Ok(HalfTyped { code, wanted, scores: Vec::new(), note: None });
    }
    // Nothing is owed of it, so any score of it is refused, for the reason that the log has.
    let lowest = book.plan().method.attributes().iter().map(|a| (a.name.clone(), Some(a.low)));
    let again = Said::of_cup(taster, code, lowest.collect(), None);
    book.check(&Entry::Answer(again.answer().clone()))?;
    Err(SpokenError::NoCode)
}

/// The taster that a line begins with, and what follows. Names may hold blanks, so the longest
/// counts; one that is a number is never meant.
fn named<'a>(plan: &'a Plan, line: &'a str) -> Option<(&'a str, &'a str)> {
    let behind = |name: &'a String| {
        let rest = line.strip_prefix(name.as_str())?;
        let ends = rest.is_empty() || rest.starts_with(char::is_whitespace);
        (ends && name.parse::<f64>().is_err()).then_some((name.as_str(), rest.trim()))
    };
    plan.tasters.iter().filter_map(behind).max_by_key(|(name, _)| name.len())
}

fn not_understood(plan: &Plan, line: &str) -> SpokenError {
    let first = line.split_whitespace().next().unwrap_or_default();
    SpokenError::NotUnderstood {
        found: line.to_owned(),
        nearest: prompt_text::nearest_word(plan, first),
    }
}
