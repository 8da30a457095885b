//! Amounts and days given on the command line.

use crate::cli::outcome::Mistakes;
use crate::files::{Diagnostic, Fault};
use crate::quantities::{Day, Dimension, Quantity};

/// An amount of one of the given dimensions, in its base unit.
pub(super) fn amount(option: &str, text: &str, dimensions: &[Dimension]) -> Result<f64, Mistakes> {
    Quantity::parse_as(text, dimensions).map_err(|error| {
        let units: Vec<&str> = dimensions.iter().flat_map(|d| d.choices()).collect();
        vec![
            Diagnostic::new(Fault::Choice, format!("{option}: {error}"))
                .expected(format!("a number with one of the units {}", units.join(", ")))
                .remedy("put number and unit in quotes, as in \"1 L\""),
        ]
    })
}

/// An amount above zero.
pub(super) fn above_zero(
    option: &str,
    text: &str,
    dimensions: &[Dimension],
) -> Result<f64, Mistakes> {
    let value = amount(option, text, dimensions)?;
    if value > 0.0 {
        return Ok(value);
    }
    Err(vec![
        Diagnostic::new(Fault::Choice, format!("{option}: `{text}` is nothing"))
            .expected("an amount above zero"),
    ])
}

/// The day given, or today.
pub(super) fn day(option: &str, text: Option<&str>) -> Result<Day, Mistakes> {
    let Some(text) = text else { return Ok(Day::today()) };
    Day::parse(text).ok_or_else(|| {
        vec![
            Diagnostic::new(Fault::Choice, format!("{option}: `{text}` is no day"))
                .expected("a day of the calendar, as in 2026-03-14"),
        ]
    })
}
