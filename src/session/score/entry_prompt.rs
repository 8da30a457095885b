//! The prompt where scores are entered by hand: whose turn it is, which cup comes next, what is
//! typed of it so far. It knows neither screen nor disk: a line comes in, words or an intent come
//! out, and a cup is written only when it is whole.

use crate::session::plan::Code;
use crate::session::plan::Method;
use crate::session::plan::Plan;

use crate::session::score::Intent;
use crate::session::score::Refusal;
use crate::session::score::answer_parser::{is_score, parted, scores};
use crate::session::score::partial_cup::{PartialCup, begun};
use crate::session::score::prompt_text;
use crate::session::score::{Answer, Entry};
use crate::session::score::{AnswerError, ParsedAnswer, answer_parser, parse_answer};
use crate::session::score::{Pending, PendingKind, ScoreLog};

/// What a line comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum PromptOutcome {
    /// Words to be shown; nothing is recorded.
    Show(Vec<String>),
    /// To be recorded.
    Record(Intent),
    /// The work is done.
    End,
}

/// The prompt.
#[derive(Debug, Clone, Default)]
pub struct EntryPrompt {
    taster: Option<String>,
    /// The cup or tray that was asked for out of turn.
    jumped: Option<Pending>,
    skipped: Vec<Pending>,
    partial: Option<PartialCup>,
}

impl EntryPrompt {
    /// A prompt for a taster, or for nobody yet.
    ///
    /// # Errors
    /// When nobody of that name tastes in this session.
    pub fn new(score_log: &ScoreLog, taster: Option<&str>) -> Result<Self, AnswerError> {
        let mut prompt = Self::default();
        if let Some(name) = taster {
            prompt.set_taster(score_log, name)?;
        }
        Ok(prompt)
    }

    /// What is asked now, one line for each.
    #[must_use]
    pub fn asks(&self, score_log: &ScoreLog) -> Vec<String> {
        let turn = self.taster.as_deref().map(|taster| (taster, self.current(score_log)));
        prompt_text::asks(score_log, self.partial.as_ref(), turn)
    }

    /// What was typed of a cup and never written.
    #[must_use]
    pub fn left_unwritten(&self) -> Option<String> {
        let partial = self.partial.as_ref()?;
        Some(format!("cup {} was half typed and is not written", partial.code))
    }

    /// The cup or tray that is asked for: the one jumped to, or the next missing that was not
    /// skipped; when all were, the first of them.
    pub(crate) fn current(&self, score_log: &ScoreLog) -> Option<Pending> {
        let pending = score_log.progress_of(self.taster.as_deref()?).pending;
        let same = |a: &Pending, b: &Pending| key_of(a) == key_of(b);
        let jumped = self.jumped.as_ref();
        pending
            .iter()
            .find(|one| jumped.is_some_and(|jumped| same(one, jumped)))
            .or_else(|| pending.iter().find(|one| !self.skipped.iter().any(|s| same(one, s))))
            .or_else(|| pending.first())
            .cloned()
    }

    /// Takes in a line.
    ///
    /// # Errors
    /// When it cannot be understood or would be refused; the prompt is then as it was.
    pub fn handle_line(
        &mut self,
        score_log: &ScoreLog,
        line: &str,
    ) -> Result<PromptOutcome, AnswerError> {
        let line = line.trim();
        let asks_note = self.partial.as_ref().is_some_and(|partial| partial.lacks().is_empty());
        match line {
            "" if asks_note => return Ok(self.complete()),
            "" => return Ok(PromptOutcome::Show(Vec::new())),
            "end" | "leave" | "quit" | "exit" => return Ok(PromptOutcome::End),
            "help" | "?" => return Ok(PromptOutcome::Show(prompt_text::help(score_log.plan()))),
            "missing" => return Ok(PromptOutcome::Show(prompt_text::pending(score_log))),
            "entries" => {
                return Ok(PromptOutcome::Show(prompt_text::entries(
                    score_log,
                    self.taster.as_deref(),
                )));
            }
            "undo" | "back" => return Ok(self.undo()),
            "skip" => return Ok(self.skip(score_log)),
            "enough" if self.partial.is_some() => return Ok(self.complete()),
            "enough" => return Ok(PromptOutcome::Show(vec!["no cup is half typed".to_owned()])),
            _ => {}
        }
        if asks_note
            && !self.begins_with_missing(score_log, line)
            && let Some(partial) = &mut self.partial
        {
            let note = line.strip_prefix(';').unwrap_or(line).trim();
            partial.note = (!note.is_empty()).then(|| note.to_owned());
            return Ok(self.complete());
        }
        let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let rest = rest.trim();
        match word {
            "note" if rest.is_empty() => Err(AnswerError::EmptyNote),
            "note" => match &mut self.partial {
                Some(partial) => {
                    partial.note = Some(rest.to_owned());
                    Ok(PromptOutcome::Show(vec![format!(
                        "that goes with cup {}; a remark on the session is typed between two cups",
                        partial.code
                    )]))
                }
                None => Ok(PromptOutcome::Record(Intent::Note {
                    taster: self.taster.clone(),
                    text: rest.to_owned(),
                })),
            },
            "taster" => self.set_taster(score_log, rest),
            "correct" => self.correct(score_log, rest),
            "tray" => self.go_to_tray(score_log, rest),
            _ => self.parse_answer_line(score_log, line),
        }
    }

    /// Whether a line begins with a code of which an answer of this taster is missing: then it is about that
    /// cup, and no note on the one before.
    fn begins_with_missing(&self, score_log: &ScoreLog, line: &str) -> bool {
        let ends = |c: char| c.is_whitespace() || c == ';';
        let code = line.split(ends).next().and_then(|word| word.parse::<Code>().ok());
        let (Some(code), Some(taster)) = (code, self.taster.as_deref()) else { return false };
        score_log.progress_of(taster).pending.iter().any(|one| key_of(one).1 == Some(code))
    }

    /// Forgets where it was once an intent was recorded.
    pub fn recorded(&mut self) {
        self.jumped = None;
    }

    /// An answer, with or without a name before it.
    fn parse_answer_line(
        &mut self,
        score_log: &ScoreLog,
        line: &str,
    ) -> Result<PromptOutcome, AnswerError> {
        if let Some((name, rest)) = named(score_log.plan(), line) {
            self.refuse_if_partial()?;
            let before = self.clone();
            let outcome = self.set_taster(score_log, name)?;
            if rest.is_empty() {
                return Ok(outcome);
            }
            return self.parse_answer_line_of(score_log, rest).inspect_err(|_| *self = before);
        }
        self.parse_answer_line_of(score_log, line)
    }

    fn parse_answer_line_of(
        &mut self,
        score_log: &ScoreLog,
        line: &str,
    ) -> Result<PromptOutcome, AnswerError> {
        let Some(taster) = self.taster.clone() else {
            let name = line.split_whitespace().next().unwrap_or_default();
            score_log.known(name)?;
            return Err(not_understood(score_log.plan(), line));
        };
        let ends = |c: char| c.is_whitespace() || c == ';';
        let first = line.split(ends).next().unwrap_or_default();
        if let Some(Pending { tray, what: PendingKind::Turning }) = self.current(score_log)
            && first.contains('=')
        {
            let words: Vec<String> = line.split_whitespace().map(str::to_owned).collect();
            let cups = answer_parser::parse_turned(&words)?;
            return Ok(PromptOutcome::Record(Intent::Turned { taster, tray, cups }));
        }
        if !is_score(first) && first.parse::<Code>().is_err() {
            return Err(
                match self.partial.as_ref().and_then(|partial| partial.lacks().first().copied()) {
                    Some(attribute) => AnswerError::NoScore {
                        found: first.to_owned(),
                        attribute: attribute.to_owned(),
                    },
                    None => not_understood(score_log.plan(), line),
                },
            );
        }
        if matches!(score_log.plan().method, Method::Scoring { .. }) {
            return self.scores(score_log, &taster, line);
        }
        let (words, note) = parted(score_log.plan(), line);
        Ok(PromptOutcome::Record(Intent::Answer(parse_answer(
            score_log.plan(),
            &taster,
            &words,
            note,
        )?)))
    }

    /// Scores of a cup, whole or in pieces.
    fn scores(
        &mut self,
        score_log: &ScoreLog,
        taster: &str,
        line: &str,
    ) -> Result<PromptOutcome, AnswerError> {
        let (words, note) = parted(score_log.plan(), line);
        let named = words.first().and_then(|word| word.parse::<Code>().ok());
        let words = if named.is_some() { words.get(1..) } else { Some(words.as_slice()) };
        let words = words.unwrap_or_default();
        let mut partial = match (self.partial.clone(), named) {
            (Some(partial), None) => partial,
            (Some(partial), Some(code)) if partial.code == code => partial,
            (Some(_), Some(_)) => {
                return self.refuse_if_partial().map(|()| PromptOutcome::Show(Vec::new()));
            }
            (None, named) => {
                let current = self.current(score_log).map(|pending| pending.what);
                let ((Some(code), _) | (None, Some(PendingKind::Cup { code, .. }))) =
                    (named, current)
                else {
                    return Err(AnswerError::NoCode);
                };
                begun(score_log, taster, code)?
            }
        };
        let fresh = self.partial.is_none();
        if words.is_empty() && note.is_none() {
            // The code alone: that cup is asked for now.
            let pending = score_log.progress_of(taster).pending;
            let jumped = pending.into_iter().find(|one| key_of(one).1 == Some(partial.code));
            self.jumped = jumped;
            return Ok(PromptOutcome::Show(Vec::new()));
        }
        let open = partial.lacks();
        let given = scores(&open, words)?;
        partial.scores.retain(|(name, _)| !given.iter().any(|(given, _)| given == name));
        partial.scores.extend(given);
        partial.note = note.or(partial.note);
        let so_far = ParsedAnswer::of_cup(taster, partial.code, partial.scores.clone(), None);
        if matches!(so_far.answer(), Answer::Scores { values, .. } if !values.is_empty()) {
            score_log.check(&Entry::Answer(so_far.answer().clone()))?;
        }
        let is_whole = partial.lacks().is_empty() && (fresh || partial.note.is_some());
        self.partial = Some(partial);
        Ok(if is_whole { self.complete() } else { PromptOutcome::Show(Vec::new()) })
    }

    /// The cup as it was typed, to be written.
    fn complete(&mut self) -> PromptOutcome {
        let (Some(partial), Some(taster)) = (self.partial.take(), &self.taster) else {
            return PromptOutcome::Show(Vec::new());
        };
        PromptOutcome::Record(Intent::Answer(ParsedAnswer::of_cup(
            taster,
            partial.code,
            partial.scores,
            partial.note,
        )))
    }

    /// Refuses to leave a cup that is half typed.
    fn refuse_if_partial(&self) -> Result<(), AnswerError> {
        self.partial.as_ref().map_or(Ok(()), |partial| {
            let lacks = match partial.lacks().as_slice() {
                [] => "the note, behind `;` when it begins with a code".to_owned(),
                lacks => lacks.join(", "),
            };
            Err(AnswerError::HalfTyped { code: partial.code, lacks })
        })
    }

    fn set_taster(
        &mut self,
        score_log: &ScoreLog,
        name: &str,
    ) -> Result<PromptOutcome, AnswerError> {
        let name = score_log.plan().taster_called(name);
        score_log.known(name)?;
        self.refuse_if_partial()?;
        *self = Self { taster: Some(name.to_owned()), ..Self::default() };
        Ok(PromptOutcome::Show(Vec::new()))
    }

    fn undo(&mut self) -> PromptOutcome {
        match self.partial.take() {
            Some(partial) => PromptOutcome::Show(vec![format!(
                "cup {}: what was typed is dropped",
                partial.code
            )]),
            None => PromptOutcome::Record(Intent::Undo { taster: self.taster.clone() }),
        }
    }

    fn skip(&mut self, score_log: &ScoreLog) -> PromptOutcome {
        let dropped = self.partial.take();
        let pending = self.taster.as_deref().map(|taster| score_log.progress_of(taster).pending);
        if let Some(current) = self.current(score_log) {
            self.skipped.push(current);
        }
        self.jumped = None;
        let skipped = |one: &Pending| self.skipped.iter().any(|s| key_of(s) == key_of(one));
        if pending.is_some_and(|pending| pending.iter().all(skipped)) {
            // Everything was put off, so the first is asked for again.
            self.skipped.clear();
        }
        let dropped =
            dropped.map(|partial| format!("cup {}: what was typed is dropped", partial.code));
        PromptOutcome::Show(dropped.into_iter().collect())
    }

    fn go_to_tray(
        &mut self,
        score_log: &ScoreLog,
        number: &str,
    ) -> Result<PromptOutcome, AnswerError> {
        let taster = self.taster.as_deref().unwrap_or_default();
        score_log.known(taster)?;
        self.refuse_if_partial()?;
        let trays = score_log.plan().trays_of(taster).count();
        let unknown = |tray| Refusal::UnknownTray { taster: taster.to_owned(), tray, trays };
        let tray = number
            .parse()
            .map_err(|_| not_understood(score_log.plan(), &format!("tray {number}")))?;
        if !(1..=trays).contains(&tray) {
            return Err(unknown(tray).into());
        }
        self.jumped =
            score_log.progress_of(taster).pending.into_iter().find(|one| one.tray == tray);
        Ok(PromptOutcome::Show(match self.jumped {
            Some(_) => Vec::new(),
            None => vec![format!("nothing is missing of tray {tray}; `correct` changes an answer")],
        }))
    }

    fn correct(&mut self, score_log: &ScoreLog, words: &str) -> Result<PromptOutcome, AnswerError> {
        self.refuse_if_partial()?;
        let taster = self.taster.as_deref().unwrap_or_default();
        score_log.known(taster)?;
        let (words, note) = parted(score_log.plan(), words);
        let answer = parse_answer(score_log.plan(), taster, &words, note)?;
        Ok(PromptOutcome::Record(Intent::Correct { of: None, answer }))
    }
}

/// What distinguishes two missing answers.
fn key_of(pending: &Pending) -> (usize, Option<Code>, bool) {
    match &pending.what {
        PendingKind::Cup { code, .. } => (pending.tray, Some(*code), false),
        PendingKind::Tray => (pending.tray, None, false),
        PendingKind::Turning => (pending.tray, None, true),
    }
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

fn not_understood(plan: &Plan, line: &str) -> AnswerError {
    let first = line.split_whitespace().next().unwrap_or_default();
    AnswerError::NotUnderstood {
        found: line.to_owned(),
        nearest: prompt_text::nearest_word(plan, first),
    }
}
