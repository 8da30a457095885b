//! Three-digit codes for the cups: random, never twice in a session, none that says something.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::session::plan::Draw;

/// A code on a cup: three different digits, the first not zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Code(u16);

/// Text that is no code.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{found}` is no code: a code has three different digits and does not begin with 0")]
pub struct CodeError {
    /// The text found.
    pub found: String,
}

/// More cups to be coded than there are codes.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "{wanted} codes are wanted and only {available} can be told apart; \
     share codes between tasters, or use fewer rounds"
)]
pub struct TooManyCodes {
    /// Codes asked for.
    pub wanted: usize,
    /// Codes there are.
    pub available: usize,
}

impl Code {
    /// The three digits.
    fn digits(self) -> [u16; 3] {
        [self.0 / 100, self.0 / 10 % 10, self.0 % 10]
    }

    /// Whether the digits run straight up or down, as 345 or 987.
    fn runs(self) -> bool {
        let [a, b, c] = self.digits();
        (a + 1 == b && b + 1 == c) || (b + 1 == a && c + 1 == b)
    }

    /// What it reads as upside down, where that is a code too: 169 reads 691.
    fn upside_down(self) -> Option<Code> {
        let turned = |digit| match digit {
            0 | 1 | 8 => Some(digit),
            6 => Some(9),
            9 => Some(6),
            _ => None,
        };
        let [a, b, c] = self.digits();
        let number = turned(c)? * 100 + turned(b)? * 10 + turned(a)?;
        Code::new(number)
    }

    /// The code with these digits, if it is one.
    fn new(number: u16) -> Option<Self> {
        let code = Self(number);
        let [a, b, c] = code.digits();
        ((100..1000).contains(&number) && a != b && b != c && a != c).then_some(code)
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:03}", self.0)
    }
}

impl FromStr for Code {
    type Err = CodeError;

    fn from_str(text: &str) -> Result<Self, CodeError> {
        let bad = || CodeError { found: text.to_owned() };
        let plain = text.trim();
        if plain.len() != 3 || !plain.bytes().all(|b| b.is_ascii_digit()) {
            return Err(bad());
        }
        plain.parse().ok().and_then(Code::new).ok_or_else(bad)
    }
}

impl TryFrom<String> for Code {
    type Error = CodeError;

    fn try_from(text: String) -> Result<Self, CodeError> {
        text.parse()
    }
}

impl From<Code> for String {
    fn from(code: Code) -> String {
        code.to_string()
    }
}

/// Draws `wanted` different codes.
///
/// Left out are straight runs, one of each two that read alike upside down, and every number in
/// `avoid`, such as a number that stands in the name of a water.
///
/// # Errors
/// When there are not that many.
pub fn draw_codes(
    draw: &mut Draw,
    wanted: usize,
    avoid: &[u16],
) -> Result<Vec<Code>, TooManyCodes> {
    let mut pool: Vec<Code> = (100..1000)
        .filter_map(Code::new)
        .filter(|code| !code.runs() && !avoid.contains(&code.0))
        .collect();
    draw.shuffle(&mut pool);
    let mut chosen: Vec<Code> = Vec::with_capacity(wanted);
    let mut available = 0;
    let mut taken = [false; 1000];
    for code in pool {
        let twin = code.upside_down().and_then(|twin| taken.get(usize::from(twin.0)));
        if twin == Some(&true) {
            continue;
        }
        if let Some(place) = taken.get_mut(usize::from(code.0)) {
            *place = true;
        }
        available += 1;
        if chosen.len() < wanted {
            chosen.push(code);
        }
    }
    if chosen.len() < wanted {
        return Err(TooManyCodes { wanted, available });
    }
    Ok(chosen)
}

/// The three-digit numbers that stand in names, which would mean something on a cup.
///
/// ```
/// use waterflight::session::plan::codes::numbers_in;
/// assert_eq!(numbers_in(["Hard 150", "Soft", "1500 2"]), vec![150]);
/// ```
#[must_use]
pub fn numbers_in<'a>(names: impl IntoIterator<Item = &'a str>) -> Vec<u16> {
    names
        .into_iter()
        .flat_map(|name| name.split(|c: char| !c.is_ascii_digit()))
        .filter(|digits| digits.len() == 3)
        .filter_map(|digits| digits.parse().ok())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::draw::{Purpose, Seed};
    use super::*;

    fn stream(phrase: &str) -> Draw {
        Draw::new(&Seed::from_phrase(phrase), Purpose::Codes)
    }

    #[test]
    fn six_hundred_and_forty_eight_are_codes_and_fifteen_of_them_run() {
        let all: Vec<Code> = (0..1000).filter_map(Code::new).collect();
        assert_eq!(all.len(), 648);
        assert_eq!(all.iter().filter(|code| code.runs()).count(), 15);
    }

    #[test]
    fn what_reads_alike_upside_down_is_not_drawn_together() {
        let all = draw_codes(&mut stream("many"), 605, &[]);
        let all = all.unwrap_or_default();
        assert_eq!(all.len(), 605);
        for code in &all {
            if let Some(twin) = code.upside_down().filter(|twin| twin != code) {
                assert!(!all.contains(&twin), "{code} and {twin}");
            }
        }
    }

    #[test]
    fn too_many_is_said_with_how_many_there_are() {
        let refused = draw_codes(&mut stream("too many"), 2000, &[]);
        assert!(matches!(refused, Err(TooManyCodes { wanted: 2000, available: 600..=633 })));
    }

    #[test]
    fn text_that_is_no_code_is_refused() {
        for bad in ["", "12", "1234", "011", "121", "12a", "-12", "+12", "四二九"] {
            assert!(bad.parse::<Code>().is_err(), "{bad}");
        }
        assert_eq!(" 418 ".parse::<Code>().map(|c| c.to_string()), Ok("418".to_owned()));
    }
}
