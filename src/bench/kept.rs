//! Small readers of what a stock file says beside its making: ranges, prices, keeping times.

use crate::bench::{explain, place};
use crate::files::{Diagnostic, SourceText, Written};
use crate::quantities::spelling::leading_number;
use crate::quantities::{Dimension, Fraction, Within};
use crate::stock::Price;

/// A share from 0 to 100 % with its stated range, or a default.
pub(super) fn share(
    source: &SourceText,
    leaf: Option<&Written>,
    default: f64,
) -> Result<(Fraction, Option<Fraction>), Diagnostic> {
    let Some(leaf) = leaf else { return Ok((Fraction::new(default), None)) };
    let dimensions = [Dimension::Percent, Dimension::MassFraction];
    let within = Within::parse_as(leaf.text(), &dimensions).map_err(|error| {
        let units = explain::units_of(&dimensions);
        place::mistake(source, leaf, &error, explain::quantity(&error, &units))
    })?;
    if within.value > 1.0 || within.half_width.is_some_and(|h| h > within.value) {
        return Err(place::wrong(source, leaf, "a share lies between 0 and 100 %")
            .expected("0 % to 100 %, with a range that stays above 0 %"));
    }
    Ok((Fraction::new(within.value), within.half_width.map(Fraction::new)))
}

/// What a price is written like, for messages.
pub(super) fn price_is(per: Dimension) -> String {
    let unit = if per == Dimension::Mass { "kg" } else { "L" };
    format!("an amount per mass or volume, as in \"12.50 per {unit}\"")
}

/// A price per unit of a dimension.
pub(super) fn price(
    source: &SourceText,
    leaf: &Written,
    per: Dimension,
) -> Result<Price, Diagnostic> {
    Price::parse(leaf.text(), per).map_err(|error| {
        place::wrong(source, leaf, error.to_string())
            .expected(price_is(per))
            .remedy("the currency may stand before `per`")
    })
}

/// A keeping time, in days.
pub(super) fn days(source: &SourceText, leaf: &Written) -> Result<i64, Diagnostic> {
    in_days(leaf.text()).ok_or_else(|| {
        place::wrong(source, leaf, "this is not a keeping time")
            .expected("a whole number of days, weeks, months or years, as in \"6 months\"")
    })
}

/// Mean lengths of the Gregorian calendar, rounded down to whole days.
fn in_days(text: &str) -> Option<i64> {
    let (number, unit) = leading_number(text.trim()).ok()?;
    let each = match unit {
        "day" | "days" => 1,
        "week" | "weeks" => 7,
        "month" | "months" => 30,
        "year" | "years" => 365,
        _ => return None,
    };
    (1..=3650_i32).find(|n| (f64::from(*n) - number).abs() < 1e-9).map(|n| i64::from(n) * each)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keeping_times_are_whole() {
        assert_eq!(in_days("6 months"), Some(180));
        assert_eq!(in_days("1 year"), Some(365));
        for wrong in ["0 days", "1.5 years", "-3 days", "6", "6 moons"] {
            assert_eq!(in_days(wrong), None, "{wrong}");
        }
    }
}
