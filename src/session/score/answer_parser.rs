//! What a person types about a cup or a tray, read into an answer: the one rule for the command,
//! the prompt and the rows of a table.

use std::collections::BTreeMap;

use thiserror::Error;

use crate::session::plan::Method;
use crate::session::plan::Plan;
use crate::session::plan::common_phrases::and_list;
use crate::session::plan::session::in_any_case;
use crate::session::plan::{Code, CodeError};

use crate::session::score::{Answer, TurnedCup};
use crate::session::score::{ExpectationError, Refusal};

/// Leaves an attribute out.
const LEFT_OUT: &str = "-";

/// Words that are no answer. The message says what is wrong, [`AnswerError::remedy`] what to do.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AnswerError {
    /// Nothing says which cup is meant.
    #[error("no code is given")]
    NoCode,
    /// A word that should be a code.
    #[error(transparent)]
    Code(#[from] CodeError),
    /// More scores than attributes.
    #[error("`{word}` is one score too many")]
    TooMany {
        /// The first score without an attribute.
        word: String,
    },
    /// A word that should be a score.
    #[error("`{found}` is no score for {attribute}")]
    NoScore {
        /// The word.
        found: String,
        /// The attribute.
        attribute: String,
    },
    /// One attribute with two scores.
    #[error("{attribute} is given twice, and only one of the two can be meant")]
    GivenTwice {
        /// The attribute.
        attribute: String,
    },
    /// Cups turned over that cannot be read.
    #[error("the turned cups cannot be read")]
    Turned,
    /// Words at the prompt that mean nothing there.
    #[error("`{found}` is no score, no code, no taster and no word of the prompt")]
    NotUnderstood {
        /// The words.
        found: String,
        /// The nearest word of the prompt.
        nearest: Option<String>,
    },
    /// A cup is begun and something else is typed.
    #[error("the cup {code} is half typed and not written yet")]
    HalfTyped {
        /// The cup.
        code: Code,
        /// What it lacks.
        lacks: String,
    },
    /// Words for a session, and there are none.
    #[error("there is nothing to note")]
    EmptyNote,
    /// A correction of something that was not entered.
    #[error("nothing is entered about {what}, so there is nothing to correct")]
    NothingToCorrect {
        /// Cup or tray.
        what: String,
    },
    /// A correction that could be of several lines.
    #[error("lines {} are about {what}, and any of them could be meant", numbers(lines))]
    SeveralLines {
        /// Cup or tray.
        what: String,
        /// The lines.
        lines: Vec<u64>,
    },
    /// Two rows of a file about the same.
    #[error("line {row} of the file is about the same")]
    TwiceInFile {
        /// Line of the earlier row.
        row: u64,
    },
    /// Nothing is left to be taken back.
    #[error("there is nothing to take back")]
    NothingToUndo,
    /// An order that somebody expects, typed as a note.
    #[error("an expected order is no note: whoever tastes could read it")]
    ExpectedInNote,
    /// Words that are no expected order.
    #[error(transparent)]
    Expectation(#[from] ExpectationError),
    /// The log refuses it.
    #[error(transparent)]
    Refused(#[from] Refusal),
}

/// A score, its decimals behind a point or a comma.
fn decimal(word: &str) -> Option<f64> {
    let is_number = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
    match word.split_once(',') {
        Some((whole, decimals))
            if is_number(whole.trim_start_matches('-')) && is_number(decimals) =>
        {
            format!("{whole}.{decimals}").parse().ok()
        }
        _ => word.parse().ok(),
    }
}

fn numbers(lines: &[u64]) -> String {
    and_list(&lines.iter().map(u64::to_string).collect::<Vec<_>>())
}

impl AnswerError {
    /// What to do.
    #[must_use]
    pub fn remedy(&self) -> String {
        match self {
            Self::NoCode => "begin with the code on the cup".to_owned(),
            Self::Code(_) => "read the code on the cup again".to_owned(),
            Self::TooMany { .. } => {
                "give one score for each attribute; a note that begins with a number stands behind `;`"
                    .to_owned()
            }
            Self::NoScore { found, .. } if found.contains(',') => {
                "write the decimals behind a point, as in 6.5".to_owned()
            }
            Self::NoScore { .. } => {
                "give a number, as in 6.5 or body=6.5; `-` leaves an attribute out".to_owned()
            }
            Self::GivenTwice { .. } => "give each attribute once".to_owned(),
            Self::Turned => "give TOP=UNDER for every cup of the tray, as in 317=542".to_owned(),
            Self::NotUnderstood { nearest: Some(word), .. } => format!("did you mean `{word}`?"),
            Self::NotUnderstood { .. } => "`help` lists what can be typed".to_owned(),
            Self::HalfTyped { lacks, .. } => {
                format!("give {lacks}, or `enough` to write what is there, or `undo` to drop it")
            }
            Self::EmptyNote => "put the words behind `note`".to_owned(),
            Self::NothingToCorrect { .. } => "enter it as it is".to_owned(),
            Self::SeveralLines { .. } => {
                "name the line: `session score NAME … --correct LINE`".to_owned()
            }
            Self::TwiceInFile { .. } => "keep the row that is right".to_owned(),
            Self::NothingToUndo => "`session progress NAME --entries` lists what stands".to_owned(),
            Self::ExpectedInNote => {
                "enter it with `session expect NAME \"liking: WATER > WATER\"`, which is shown after \
                 the reveal, or note it after the reveal"
                    .to_owned()
            }
            Self::Expectation(error) => error.remedy(),
            Self::Refused(refusal) => refusal.remedy(),
        }
    }
}

/// What was said about a cup or a tray.
#[derive(Debug, Clone, PartialEq)]
pub struct ParsedAnswer {
    answer: Answer,
    left_out: Vec<String>,
}

impl ParsedAnswer {
    /// Puts scores of a cup together; an attribute without a value is left out.
    #[must_use]
    pub fn of_cup(
        taster: &str,
        code: Code,
        scores: Vec<(String, Option<f64>)>,
        note: Option<String>,
    ) -> Self {
        let mut values = BTreeMap::new();
        let mut left_out = Vec::new();
        for (name, value) in scores {
            match value {
                Some(value) => {
                    values.insert(name, value);
                }
                None => left_out.push(name),
            }
        }
        Self { answer: Answer::Scores { taster: taster.to_owned(), code, values, note }, left_out }
    }

    /// As an answer of its own.
    #[must_use]
    pub fn answer(&self) -> &Answer {
        &self.answer
    }

    /// As a correction of an older answer: attributes that are not named keep their scores, and
    /// the note stays unless there is a new one.
    #[must_use]
    pub fn instead_of(&self, old: &Answer) -> Answer {
        let mut new = self.answer.clone();
        if let (Answer::Scores { values, .. }, Answer::Scores { values: before, .. }) =
            (&mut new, old)
        {
            for (name, &value) in before.iter().filter(|(name, _)| !self.left_out.contains(name)) {
                values.entry(name.clone()).or_insert(value);
            }
        }
        let (Answer::Scores { note, .. }
        | Answer::Ranking { note, .. }
        | Answer::Choice { note, .. }) = &mut new;
        if note.is_none() {
            *note = old.note().map(str::to_owned);
        }
        new
    }
}

/// Reads the words of one answer: a code and scores, or the codes of a tray.
///
/// # Errors
/// At the first word that cannot be read.
pub fn parse_answer(
    plan: &Plan,
    taster: &str,
    words: &[String],
    note: Option<String>,
) -> Result<ParsedAnswer, AnswerError> {
    let first = words.first().ok_or(AnswerError::NoCode)?;
    let taster = plan.taster_called(taster);
    if let Method::Scoring { attributes } = &plan.method {
        let code = first.parse()?;
        let open: Vec<&str> = attributes.iter().map(|a| a.name.as_str()).collect();
        let scores = scores(&open, words.get(1..).unwrap_or_default())?;
        return Ok(ParsedAnswer::of_cup(taster, code, scores, note));
    }
    let codes = words.iter().map(|word| word.parse()).collect::<Result<Vec<Code>, _>>()?;
    let holds_first = |cups: &[Code]| codes.first().is_some_and(|first| cups.contains(first));
    let tray = plan.trays_of(taster).find(|tray| holds_first(&tray.cups));
    let tray = tray.map_or(1, |tray| tray.number);
    let taster = taster.to_owned();
    let answer = match plan.method {
        Method::Ranking { .. } => Answer::Ranking { taster, tray, order: codes, note },
        _ => Answer::Choice { taster, tray, chosen: codes, note },
    };
    Ok(ParsedAnswer { answer, left_out: Vec::new() })
}

/// Reads scores: by name as `body=6`, or in the order of the attributes still open.
///
/// # Errors
/// At the first word that is no score, or has no attribute left.
pub fn scores(open: &[&str], words: &[String]) -> Result<Vec<(String, Option<f64>)>, AnswerError> {
    let mut scores: Vec<(String, Option<f64>)> = Vec::new();
    for word in words {
        let (name, value) = if let Some((name, value)) = word.split_once('=') {
            (in_any_case(name.trim(), open.iter().copied()).to_owned(), value.trim())
        } else {
            let free = |name: &&&str| !scores.iter().any(|(given, _)| given == **name);
            let name = open.iter().find(free);
            let name = name.ok_or_else(|| AnswerError::TooMany { word: word.clone() })?;
            ((*name).to_owned(), word.as_str())
        };
        let value = match value {
            LEFT_OUT => None,
            number => {
                let score = decimal(number).filter(|score| score.is_finite());
                Some(score.ok_or_else(|| AnswerError::NoScore {
                    found: number.to_owned(),
                    attribute: name.clone(),
                })?)
            }
        };
        if scores.iter().any(|(given, _)| *given == name) {
            return Err(AnswerError::GivenTwice { attribute: name });
        }
        scores.push((name, value));
    }
    Ok(scores)
}

/// Parts a line typed at the prompt into the words of an answer and the note behind them. A `;`
/// begins the note in any case.
#[must_use]
pub fn parted(plan: &Plan, line: &str) -> (Vec<String>, Option<String>) {
    let scoring = !plan.method.attributes().is_empty();
    let belongs = |at: usize, word: &str| {
        if scoring {
            is_score(word) || (at == 0 && word.parse::<Code>().is_ok())
        } else {
            word.parse::<Code>().is_ok()
        }
    };
    let (head, behind) = line.split_once(';').map_or((line, None), |(h, b)| (h, Some(b.trim())));
    let all: Vec<&str> = head.split_whitespace().collect();
    let count = all.iter().enumerate().take_while(|(at, word)| belongs(*at, word)).count();
    let (words, rest) = all.split_at_checked(count).unwrap_or((&all, &[]));
    let rest = rest.join(" ");
    let note = match (rest.as_str(), behind) {
        ("", None | Some("")) => None,
        ("", Some(behind)) => Some(behind.to_owned()),
        (_, Some(behind)) if !behind.is_empty() => Some(format!("{rest}; {behind}")),
        _ => Some(rest),
    };
    (words.iter().map(|word| (*word).to_owned()).collect(), note)
}

/// Whether a word is meant as a score; a comma for a point is one that is then refused.
pub(crate) fn is_score(word: &str) -> bool {
    let number = |word: &str| word.parse::<f64>().is_ok_and(f64::is_finite);
    word == LEFT_OUT || word.contains('=') || number(word) || number(&word.replace(',', "."))
}

/// Reads TOP=UNDER for every cup of a tray that was turned over.
///
/// # Errors
/// When a word is anything else.
pub fn parse_turned(words: &[String]) -> Result<Vec<TurnedCup>, AnswerError> {
    let read = |word: &String| {
        let (top, under) = word.split_once('=')?;
        Some(TurnedCup { top: top.parse().ok()?, under: under.parse().ok()? })
    };
    words.iter().map(read).collect::<Option<Vec<_>>>().ok_or(AnswerError::Turned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_stand_behind_a_point_or_a_comma() {
        assert_eq!(decimal("6,5"), Some(6.5));
        assert_eq!(decimal("-0,5"), Some(-0.5));
        assert_eq!(decimal("6.5"), Some(6.5));
        for word in ["1,2,3", ",5", "6,", "6,a", "1.2,3"] {
            assert_eq!(decimal(word), None, "{word}");
        }
    }
}
