//! Amounts and days given on the command line.

use crate::files::{Diagnostic, Fault, Mistakes};
use crate::quantities::{Day, Dimension, Litres, Quantity, QuantityError};

/// An amount of one of the given dimensions, in its base unit.
pub(super) fn amount(option: &str, text: &str, dimensions: &[Dimension]) -> Result<f64, Mistakes> {
    Quantity::parse_as(text, dimensions).map_err(|error| {
        let units: Vec<&str> = dimensions.iter().flat_map(|d| d.choices()).collect();
        if matches!(error, QuantityError::OutOfBounds { .. }) {
            return Diagnostic::new(Fault::Choice, format!("{option}: {error}"))
                .expected("an amount of ordinary size")
                .remedy("look at the number and its unit")
                .into();
        }
        Mistakes::from(
            Diagnostic::new(Fault::Choice, format!("{option}: {error}"))
                .expected(format!("a number with one of the units {}", units.join(", ")))
                .remedy(match (&error, error.unit_meant(&units)) {
                    (_, Some(unit)) => format!("did you mean `{unit}`?"),
                    (QuantityError::Comma { .. }, _) => {
                        "write the decimals behind a point, and nothing between thousands"
                            .to_owned()
                    }
                    (QuantityError::NoUnit { text }, _) => format!(
                        "put number and unit in quotes, as in \"{text} {}\"",
                        units.first().copied().unwrap_or_default()
                    ),
                    _ => "put number and unit in quotes, the unit one of those above".to_owned(),
                }),
        )
    })
}

/// Smallest and largest amount that is taken for one of a bench, in g or mL: our choice, a
/// milligram and ten tonnes. Beyond it is a slip of the hand.
const ORDINARY: (f64, f64) = (1e-3, 1e7);

/// An amount above zero and of ordinary size.
pub(super) fn above_zero(
    option: &str,
    text: &str,
    dimensions: &[Dimension],
) -> Result<f64, Mistakes> {
    let value = amount(option, text, dimensions)?;
    if (ORDINARY.0..=ORDINARY.1).contains(&value) {
        return Ok(value);
    }
    Err(Diagnostic::new(Fault::Choice, format!("{option}: `{text}` is no amount for a bench"))
        .expected("an amount above zero and of ordinary size")
        .into())
}

/// The size of a bottle.
pub(super) fn bottle_size(text: &str) -> Result<Litres, Mistakes> {
    Ok(Litres::new(above_zero("--bottle", text, &[Dimension::Volume])? / 1000.0))
}

/// The day given, or today.
pub(super) fn day(option: &str, text: Option<&str>) -> Result<Day, Mistakes> {
    let Some(text) = text else { return Ok(Day::today()) };
    Day::parse(text).ok_or_else(|| {
        Diagnostic::new(Fault::Choice, format!("{option}: `{text}` is no day"))
            .expected("a day of the calendar, as in 2026-03-14")
            .into()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_may_stand_behind_a_comma() {
        for (text, want) in
            [("2,5 g", 2.5), ("0,125 g", 0.125), (" 12,75g", 12.75), ("1.5 kg", 1500.0)]
        {
            let got = amount("--x", text, &[Dimension::Mass]).ok();
            assert!(got.is_some_and(|g| (g - want).abs() < 1e-9), "{text}: {got:?}");
        }
        for text in ["1,000 g", "2,125 g", "1,5,2 g", "1,000,000 g"] {
            assert!(amount("--x", text, &[Dimension::Mass]).is_err(), "{text}");
        }
    }
}
