//! The words that people put a goal or a limit in: which side of an amount, between which two.

use crate::flight::{Band, GoalError};

/// A goal split into its words and the texts of its amounts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum BandWords<'a> {
    AtMost(&'a str),
    AtLeast(&'a str),
    Between(&'a str, &'a str),
    Near(&'a str),
}

impl BandWords<'_> {
    /// The band, with the unit of its amounts. `amount` reads one with its unit, where a number without
    /// takes the unit that stands elsewhere in the same goal.
    pub(crate) fn read<U: Copy, E: From<GoalError>>(
        self,
        shared: Option<U>,
        amount: impl Fn(&str, Option<U>) -> Result<(f64, U), E>,
    ) -> Result<(Band, U), E> {
        let (edge, text): (fn(f64) -> Band, _) = match self {
            Self::AtMost(text) => (Band::AtMost, text),
            Self::AtLeast(text) => (Band::AtLeast, text),
            Self::Near(text) => (Band::Near, text),
            Self::Between(low_text, high_text) => {
                let (high, unit) = amount(high_text, shared)?;
                let (low, _) = amount(low_text, Some(unit))?;
                if low > high {
                    let (low, high) = (low_text.trim().to_owned(), high_text.trim().to_owned());
                    return Err(GoalError::Contradiction { low, high }.into());
                }
                return Ok((Band::Between(low, high), unit));
            }
        };
        let (value, unit) = amount(text, shared)?;
        Ok((edge(value), unit))
    }
}

/// Words of an upper edge, the longer before those that they begin with.
const AT_MOST: [&str; 13] = [
    "at most",
    "not more than",
    "no more than",
    "less than",
    "up to",
    "maximum",
    "max.",
    "max",
    "below",
    "under",
    "≤",
    "<=",
    "<",
];
/// Words of a lower edge.
const AT_LEAST: [&str; 12] = [
    "at least",
    "not less than",
    "no less than",
    "more than",
    "minimum",
    "min.",
    "min",
    "above",
    "over",
    "≥",
    ">=",
    ">",
];

/// Splits a goal into its words and the texts of its amounts.
pub(crate) fn worded(wanted: &str) -> Result<BandWords<'_>, GoalError> {
    let words = |list: &[&str]| list.iter().find_map(|w| strip_word(wanted, w));
    let behind = |list: &[&str]| list.iter().find_map(|w| strip_last_word(wanted, w));
    if let Some(rest) = words(&AT_MOST).or_else(|| behind(&["max", "max.", "maximum", "or less"])) {
        return Ok(BandWords::AtMost(rest));
    }
    if let Some(rest) = words(&AT_LEAST).or_else(|| behind(&["min", "min.", "minimum", "or more"]))
    {
        return Ok(BandWords::AtLeast(rest));
    }
    if let Some(rest) = words(&["between", "from"]) {
        let (low, high) = split_once_of(rest, &[" and ", " to "])
            .or_else(|| split_at_hyphen(rest))
            .ok_or_else(|| GoalError::NotTwoValues { text: wanted.to_owned() })?;
        return Ok(BandWords::Between(low, high));
    }
    let two = split_once_of(wanted, &[" to ", "–", ".."]).or_else(|| split_at_hyphen(wanted));
    if let Some((low, high)) = two {
        return Ok(BandWords::Between(low, high));
    }
    Ok(BandWords::Near(words(&["near", "about", "circa", "ca.", "~", "≈"]).unwrap_or(wanted)))
}

/// A text in front of a word that stands last: `10 mg/L max`.
fn strip_last_word<'a>(text: &'a str, word: &str) -> Option<&'a str> {
    let at = text.len().checked_sub(word.len())?;
    let (rest, last) = (text.get(..at)?, text.get(at..)?);
    (last.eq_ignore_ascii_case(word) && rest.ends_with(' ')).then(|| rest.trim())
}

/// `50-100 mg/L`: a hyphen between two numbers, with or without blanks.
fn split_at_hyphen(text: &str) -> Option<(&str, &str)> {
    text.match_indices('-').find_map(|(at, hyphen)| {
        let (low, high) = (text.get(..at)?, text.get(at + hyphen.len()..)?);
        let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
        let between =
            digit(low.trim_end().chars().last()) && digit(high.trim_start().chars().next());
        between.then_some((low, high))
    })
}

pub(crate) fn split_once_of<'a>(text: &'a str, marks: &[&str]) -> Option<(&'a str, &'a str)> {
    marks.iter().find_map(|mark| text.split_once(mark))
}

pub(crate) fn strip_word<'a>(text: &'a str, word: &str) -> Option<&'a str> {
    let head = text.get(..word.len())?;
    let rest = text.get(word.len()..)?;
    head.eq_ignore_ascii_case(word).then(|| rest.trim())
}
