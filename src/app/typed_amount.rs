//! Amounts as a person types them, with what to do about a slip.

use crate::files::Diagnostic;
use crate::quantities::{Dimension, Quantity, QuantityError};

/// An amount of one of the given dimensions, in its base unit.
///
/// # Errors
/// When it has no number, no unit or another one.
pub(crate) fn amount(text: &str, dimensions: &[Dimension]) -> Result<f64, Diagnostic> {
    Quantity::parse_as(text, dimensions).map_err(|error| {
        let units: Vec<&str> = dimensions.iter().flat_map(|d| d.choices()).collect();
        let wrong = Diagnostic::choice(error.to_string());
        if matches!(error, QuantityError::OutOfBounds { .. }) {
            return wrong
                .expected("an amount of ordinary size")
                .remedy("look at the number and its unit");
        }
        wrong.expected(format!("a number with one of the units {}", units.join(", "))).remedy(
            match (&error, error.unit_meant(&units)) {
                (_, Some(unit)) => format!("did you mean `{unit}`?"),
                (QuantityError::Comma { .. }, _) => {
                    "write the decimals behind a point, and nothing between thousands".to_owned()
                }
                (QuantityError::NoUnit { text }, _) => format!(
                    "put number and unit in quotes, as in \"{text} {}\"",
                    units.first().copied().unwrap_or_default()
                ),
                (QuantityError::Negative { .. }, _) => {
                    "leave the minus out: amounts are never below zero".to_owned()
                }
                _ => "put number and unit in quotes, the unit one of those above".to_owned(),
            },
        )
    })
}

/// Smallest and largest amount that is taken for one of a bench, in g or mL: our choice, a
/// milligram and ten tonnes. Beyond it is a slip of the hand.
const ORDINARY: (f64, f64) = (1e-3, 1e7);

/// An amount above zero and of ordinary size.
///
/// # Errors
/// As [`amount`], and for any other size.
pub(crate) fn above_zero(text: &str, dimensions: &[Dimension]) -> Result<f64, Diagnostic> {
    let value = amount(text, dimensions)?;
    if (ORDINARY.0..=ORDINARY.1).contains(&value) {
        return Ok(value);
    }
    Err(Diagnostic::choice(format!("`{text}` is no amount for a bench"))
        .expected("an amount above zero and of ordinary size"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_minus_is_no_matter_of_quotes() {
        let said = amount("-1 L", &[Dimension::Volume]).map_err(|d| d.details().remedy.clone());
        assert!(said.is_err_and(|way| way.is_some_and(|way| way.contains("minus"))));
    }

    #[test]
    fn decimals_may_stand_behind_a_comma() {
        for (text, want) in
            [("2,5 g", 2.5), ("0,125 g", 0.125), (" 12,75g", 12.75), ("1.5 kg", 1500.0)]
        {
            let got = amount(text, &[Dimension::Mass]).ok();
            assert!(got.is_some_and(|g| (g - want).abs() < 1e-9), "{text}: {got:?}");
        }
        for text in ["1,000 g", "2,125 g", "1,5,2 g", "1,000,000 g"] {
            assert!(amount(text, &[Dimension::Mass]).is_err(), "{text}");
        }
    }
}
