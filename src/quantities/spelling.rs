//! Amounts as people write them: a number, a unit, tolerant spelling, strict meaning.

use std::fmt;

use thiserror::Error;

use crate::quantities::fractions::leading_fraction;
use crate::quantities::near_unit::nearest;
use crate::quantities::show;
use crate::quantities::{Dimension, Unit};

/// A number with a unit, as written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// The number as written.
    pub value: f64,
    /// The unit as written.
    pub unit: Unit,
}

/// Why a text is not the amount that was asked for.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum QuantityError {
    /// There is no number at the start.
    #[error("{}", no_number(text))]
    NoNumber {
        /// The text as written.
        text: String,
    },
    /// The number has a comma that may be one of decimals or of thousands.
    #[error("{}", comma(text))]
    Comma {
        /// The text as written.
        text: String,
    },
    /// The number is not finite.
    #[error("`{text}` is not a finite number")]
    NotFinite {
        /// The text as written.
        text: String,
    },
    /// The number stands alone.
    #[error("`{text}` has no unit")]
    NoUnit {
        /// The text as written.
        text: String,
    },
    /// The unit is not known.
    #[error("{}", no_unit(unit))]
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// A known unit that is spelled the same but for marks, or a slip of the hand.
        near: Option<&'static str>,
    },
    /// The unit is known and does not fit.
    #[error("`{text}` is {}, which does not fit here", unit.dimension().describe())]
    WrongDimension {
        /// The text as written.
        text: String,
        /// Its unit.
        unit: Unit,
    },
    /// The amount is far from everything that a bench can mean.
    #[error("`{text}` is no amount for a bench: {why}")]
    OutOfBounds {
        /// The text as written.
        text: String,
        /// Why.
        why: &'static str,
    },
    /// The amount is below zero.
    #[error("`{text}` is below zero")]
    Negative {
        /// The text as written.
        text: String,
    },
}

impl QuantityError {
    /// The unit that may be meant by one that is not known, of those that fit where it stands; of any
    /// where none are given.
    ///
    /// ```
    /// use waterflight::quantities::Quantity;
    /// let unknown = Quantity::parse("70 mgL").unwrap_err();
    /// assert_eq!(unknown.unit_meant(&["mg/L as CaCO3", "°dH"]), Some("mg/L as CaCO3"));
    /// assert_eq!(unknown.unit_meant(&["mL", "L"]), None);
    /// ```
    #[must_use]
    pub fn unit_meant<'a>(&self, units: &[&'a str]) -> Option<&'a str> {
        let Self::UnknownUnit { near: Some(near), .. } = *self else { return None };
        let same = units.iter().find(|unit| **unit == near);
        // What is spelled alike may not fit: `mgL` for a hardness is no `mg/L`.
        let mut alike = units.iter().filter(|unit| unit.starts_with(near));
        let only = alike.next().filter(|_| alike.next().is_none());
        let fitting = same.or(only);
        // Of several that go by one name each is named, in quotes of its own.
        let is_open = units.is_empty() || near.contains('`');
        fitting.copied().or(is_open.then_some(near))
    }
}

fn no_number(text: &str) -> String {
    if text.is_empty() {
        "a number is missing".to_owned()
    } else {
        format!("`{text}` does not begin with a number")
    }
}

fn no_unit(unit: &str) -> String {
    match unit.chars().next().filter(|c| RANGE_SIGNS.contains(c)) {
        Some(sign) if goes_on_to_a_number(unit) => {
            format!("one amount is wanted here, and the `{sign}` makes it a range")
        }
        Some(sign) => format!("a second number is missing behind the `{sign}`"),
        None => format!("`{unit}` is not a unit known here"),
    }
}

/// Whether what stands in the place of a unit is the sign of a range and its other end: `-60 mg/L`.
#[must_use]
pub fn goes_on_to_a_number(unit: &str) -> bool {
    let end = unit.strip_prefix(RANGE_SIGNS);
    end.is_some_and(|end| end.trim_start().starts_with(|c: char| c.is_ascii_digit()))
}

/// Signs between the ends of a range.
const RANGE_SIGNS: [char; 3] = ['-', '–', '…'];

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", show::plain(self.value), self.unit.symbol())
    }
}

impl Quantity {
    /// Reads one amount: `"12.5 mg/L"`, `"3 °dH"`, `"70 mg/L as CaCO3"`.
    ///
    /// # Errors
    /// Says which part of the text was not understood. A number without a unit is an error.
    ///
    /// ```
    /// use waterflight::quantities::{Quantity, Unit};
    /// let hardness = Quantity::parse("4 °dH").unwrap();
    /// assert_eq!(hardness.unit, Unit::GermanDegree);
    /// // 10 mg/L of CaO are 0.3566 meq/L
    /// assert!((hardness.to_base() - 1.4266).abs() < 1e-4);
    /// assert!(Quantity::parse("4").is_err());
    /// ```
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        let trimmed = text.trim();
        let (value, rest) = match leading_fraction(trimmed) {
            Some(found) => found,
            None => leading_number(trimmed)?,
        };
        if rest.is_empty() {
            return Err(QuantityError::NoUnit { text: trimmed.to_owned() });
        }
        Ok(Self { value, unit: Unit::parse(rest)? })
    }

    /// Reads one amount that a bench can mean ([`Dimension::bounds`]).
    ///
    /// # Errors
    /// As [`Quantity::parse`], and when it is out of bounds.
    pub fn parse_within_bounds(text: &str) -> Result<Self, QuantityError> {
        let quantity = Self::parse(text)?;
        match quantity.unit.dimension().out_of_bounds(quantity.to_base()) {
            Some(why) => Err(QuantityError::OutOfBounds { text: text.trim().to_owned(), why }),
            None => Ok(quantity),
        }
    }

    /// The number in the base unit of its dimension (mg/L, mmol/L, meq/L, fraction, g, mL, °C).
    #[must_use]
    pub fn to_base(self) -> f64 {
        self.value * self.unit.factor()
    }

    /// Reads an amount of one of the given dimensions, within their bounds and not below zero, in its
    /// base unit.
    ///
    /// # Errors
    /// As [`Quantity::parse_within_bounds`], and when the dimension does not fit or the amount is negative.
    pub fn parse_as(text: &str, dimensions: &[Dimension]) -> Result<f64, QuantityError> {
        let quantity = Self::parse_within_bounds(text)?;
        if !dimensions.contains(&quantity.unit.dimension()) {
            return Err(QuantityError::WrongDimension {
                text: text.trim().to_owned(),
                unit: quantity.unit,
            });
        }
        if quantity.value < 0.0 && quantity.unit.dimension() != Dimension::Temperature {
            return Err(QuantityError::Negative { text: text.trim().to_owned() });
        }
        Ok(quantity.to_base())
    }
}

impl Unit {
    /// Reads a unit in any of its tolerated spellings.
    ///
    /// # Errors
    /// [`QuantityError::UnknownUnit`], with the nearest spelling if there is one.
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        let folded = fold(text);
        Unit::ALL
            .iter()
            .copied()
            .find(|unit| unit.spellings().contains(&folded.as_str()))
            .ok_or_else(|| QuantityError::UnknownUnit {
                unit: text.trim().to_owned(),
                near: if text.trim().starts_with(RANGE_SIGNS) { None } else { nearest(&folded) },
            })
    }
}

/// Our choice: the largest and smallest number that is read, whatever its unit. Every unit has narrower
/// bounds ([`Dimension::bounds`]).
const MOST: f64 = 1e12;
const LEAST: f64 = 1e-12;

/// A number whose decimals stand behind a comma, with a point; nothing where the comma may as well set
/// off thousands: before three digits, or beside another comma or a point. Where nothing but zeros
/// stands before it, no thousands can be meant.
fn decimal_point(number: &str) -> Option<String> {
    let Some((whole, decimals)) = number.split_once(',') else { return Some(number.to_owned()) };
    let digits = decimals.split(['e', 'E']).next().unwrap_or_default();
    let may_be_thousands =
        digits.len() == 3 && !whole.trim_start_matches(['-', '+', '−', '0']).is_empty();
    let again = decimals.contains(',') || whole.contains('.') || decimals.contains('.');
    (!may_be_thousands && !again).then(|| number.replacen(',', ".", 1))
}

/// What is open about a number with a comma, and the ways to write it.
fn comma(text: &str) -> String {
    let number: String =
        text.trim().chars().take_while(|c| c.is_ascii_digit() || matches!(c, ',' | '.')).collect();
    let commas = number.matches(',').count();
    match (commas, number.contains('.')) {
        (1, false) => format!(
            "`{text}` can be read in two ways: {} or {}",
            number.replace(',', ""),
            number.replacen(',', ".", 1)
        ),
        (1, true) if number.rfind(',') > number.rfind('.') => {
            let plain = number.replace('.', "").replace(',', ".");
            format!("`{text}` has a point and a comma: without the mark of thousands it is {plain}")
        }
        _ => {
            let plain = number.replace(',', "");
            format!("`{text}` has commas between its thousands: without them it is {plain}")
        }
    }
}

/// The commas of numbers inside a longer text turned into points: `hardness max 3,5 °dH`. A comma that
/// separates has a blank or a word behind it.
///
/// # Errors
/// [`QuantityError::Comma`], for a number that can be read in two ways.
pub fn with_decimal_points(text: &str) -> Result<String, QuantityError> {
    let mut out = String::with_capacity(text.len());
    let mut number = String::new();
    let mut characters = text.chars().peekable();
    let put = |number: &mut String, out: &mut String| -> Result<(), QuantityError> {
        let point = decimal_point(number)
            .ok_or_else(|| QuantityError::Comma { text: std::mem::take(number) })?;
        out.push_str(&point);
        number.clear();
        Ok(())
    };
    while let Some(c) = characters.next() {
        let digit_next = matches!(characters.peek(), Some('0'..='9'));
        let in_number = c.is_ascii_digit()
            || (matches!(c, ',' | '.')
                && digit_next
                && number.ends_with(|d: char| d.is_ascii_digit()));
        if in_number {
            number.push(c);
        } else {
            put(&mut number, &mut out)?;
            out.push(c);
        }
    }
    put(&mut number, &mut out)?;
    Ok(out)
}

/// A bare number, with its decimals behind a point or a comma.
///
/// # Errors
/// As [`leading_number`], and when something stands behind it.
pub fn bare_number(text: &str) -> Result<f64, QuantityError> {
    match leading_number(text.trim())? {
        (value, "") => Ok(value),
        _ => Err(QuantityError::NoNumber { text: text.trim().to_owned() }),
    }
}

/// Splits the number off the front of a text; the rest comes back trimmed. Decimals may stand behind a
/// comma.
///
/// # Errors
/// When there is no number, it is not finite or of no ordinary size, or its comma may set off
/// thousands.
pub fn leading_number(text: &str) -> Result<(f64, &str), QuantityError> {
    let owned = || text.to_owned();
    let mut end = 0;
    let mut exponent = false;
    let mut characters = text.char_indices().peekable();
    while let Some((at, c)) = characters.next() {
        let takes = match c {
            '0'..='9' | '.' => true,
            '+' | '-' | '−' => at == 0,
            ',' if matches!(characters.peek(), Some((_, '0'..='9'))) && at > 0 => true,
            'e' | 'E' if !exponent && end > 0 => {
                // Only an exponent when digits follow; otherwise it is the unit °e.
                exponent = matches!(characters.peek(), Some((_, '0'..='9' | '-' | '+')));
                if exponent {
                    characters.next();
                }
                exponent
            }
            _ => false,
        };
        if !takes {
            break;
        }
        end = characters.peek().map_or(text.len(), |(next, _)| *next);
    }
    let (number, rest) = text.split_at_checked(end).unwrap_or((text, ""));
    let point = decimal_point(number).ok_or_else(|| QuantityError::Comma { text: owned() })?;
    let value: f64 =
        point.replace('−', "-").parse().map_err(|_| QuantityError::NoNumber { text: owned() })?;
    if !value.is_finite() {
        return Err(QuantityError::NotFinite { text: owned() });
    }
    let why = if value.abs() > MOST {
        Some("the number is too large for anything on a bench")
    } else if value != 0.0 && value.abs() < LEAST {
        Some("the number is too small for anything on a bench")
    } else {
        None
    };
    if let Some(why) = why {
        return Err(QuantityError::OutOfBounds { text: owned(), why });
    }
    Ok((value, rest.trim()))
}

/// Case, spaces, dots, degree signs and look-alike characters carry no meaning in a unit.
fn fold(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '.' | '·' | '°' | 'º' | '_'))
        .flat_map(char::to_lowercase)
        .map(|c| match c {
            '₃' | '³' => '3',
            '⁻' | '−' => '-',
            '¹' => '1',
            'μ' => 'µ',
            other => other,
        })
        .collect()
}

#[cfg(test)]
#[path = "spelling_tests.rs"]
mod tests;
