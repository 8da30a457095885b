//! Amounts and days given on the command line.

use crate::app::typed_amount;
use crate::bench::{BOTTLE_IS, LEAST_BOTTLE_ML};
use crate::files::{Diagnostic, Mistakes};
use crate::quantities::{Day, Dimension, Litres};

/// An amount of one of the given dimensions, in its base unit.
pub(super) fn amount(option: &str, text: &str, dimensions: &[Dimension]) -> Result<f64, Mistakes> {
    Ok(typed_amount::amount(text, dimensions).map_err(|wrong| wrong.typed_with(option))?)
}

/// An amount above zero and of ordinary size.
pub(super) fn above_zero(
    option: &str,
    text: &str,
    dimensions: &[Dimension],
) -> Result<f64, Mistakes> {
    Ok(typed_amount::above_zero(text, dimensions).map_err(|wrong| wrong.typed_with(option))?)
}

/// The size of a bottle, within the bounds of a flight's own.
pub(super) fn bottle_size(text: &str) -> Result<Litres, Mistakes> {
    let ml = above_zero("--bottle", text, &[Dimension::Volume])?;
    if ml < LEAST_BOTTLE_ML {
        return Err(Diagnostic::choice(format!("--bottle: nobody can fill `{text}`"))
            .expected(BOTTLE_IS)
            .into());
    }
    Ok(Litres::new(ml / 1000.0))
}

/// The day given, or today.
pub(super) fn day(option: &str, text: Option<&str>) -> Result<Day, Mistakes> {
    let Some(text) = text else { return Ok(Day::today()) };
    Day::parse(text).ok_or_else(|| {
        Diagnostic::choice(format!("{option}: `{text}` is no day"))
            .expected("a day of the calendar, as in 2026-03-14")
            .into()
    })
}
