//! An amount with a stated range: `99 ± 0.5 %`, `98 to 100 %`, `at least 99 %`.

use crate::quantities::spelling::leading_number;
use crate::quantities::{Dimension, Quantity, QuantityError};

/// An estimate and, where it was stated, how far the truth may lie on either side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Within {
    /// Best estimate, base unit.
    pub value: f64,
    /// Half of the stated range, base unit.
    pub half_width: Option<f64>,
}

impl Within {
    /// Reads an amount with or without a range. The unit stands at the end, once. `at least`
    /// is for shares, which end at 100 %.
    ///
    /// # Errors
    /// As [`Quantity::parse_as`], for either end of the range.
    ///
    /// ```
    /// use waterflight::quantities::{Dimension, Within};
    /// let purity = Within::parse_as("99 ± 0.5 %", &[Dimension::Percent]).unwrap();
    /// assert!((purity.value - 0.99).abs() < 1e-12);
    /// assert!((purity.half_width.unwrap() - 0.005).abs() < 1e-12);
    /// let stated = Within::parse_as("at least 99 %", &[Dimension::Percent]).unwrap();
    /// assert!((stated.value - 0.995).abs() < 1e-12);
    /// ```
    pub fn parse_as(text: &str, dimensions: &[Dimension]) -> Result<Self, QuantityError> {
        let text = text.trim();
        let one = |text: &str| Quantity::parse_as(text, dimensions);
        if let Some(least) = text.strip_prefix("at least ") {
            return Ok(Self::between(one(least)?, 1.0));
        }
        let spelt = text.replace("+/-", "±").replace("+-", "±");
        if let Some((value, range)) = spelt.split_once('±') {
            let half_width = one(range)?;
            return Ok(Self { value: one(&unit_of(range, value))?, half_width: Some(half_width) });
        }
        if let Some((low, high)) = text.split_once(" to ") {
            let end = one(high)?;
            return Ok(Self::between(one(&unit_of(high, low))?, end));
        }
        Ok(Self { value: one(text)?, half_width: None })
    }

    fn between(a: f64, b: f64) -> Self {
        Self { value: f64::midpoint(a, b), half_width: Some((b - a).abs() / 2.0) }
    }
}

/// A number that may stand without its unit gets that of the other end.
fn unit_of(with_unit: &str, number: &str) -> String {
    let bare = leading_number(number.trim()).is_ok_and(|(_, rest)| rest.is_empty());
    let unit = leading_number(with_unit.trim()).map_or("", |(_, rest)| rest);
    if bare { format!("{} {unit}", number.trim()) } else { number.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<(f64, Option<f64>), QuantityError> {
        let within = Within::parse_as(text, &[Dimension::Percent, Dimension::Mass])?;
        Ok((within.value, within.half_width))
    }

    #[test]
    fn ranges_are_read_in_every_spelling() {
        for text in ["10 ± 2 g", "10 g ± 2 g", "10 g +/- 2 g", "8 to 12 g", "8 g to 12 g"] {
            assert_eq!(read(text), Ok((10.0, Some(2.0))), "{text}");
        }
        assert_eq!(read("10 g"), Ok((10.0, None)));
    }

    #[test]
    fn mistakes_are_those_of_an_amount() {
        assert!(matches!(read("10 ± 2"), Err(QuantityError::NoUnit { .. })));
        assert!(matches!(read("10 to x g"), Err(QuantityError::NoNumber { .. })));
        assert!(matches!(read("10 mL"), Err(QuantityError::WrongDimension { .. })));
    }
}
