//! Prices, in whatever money the user names or none at all.

use thiserror::Error;

use crate::quantities::spelling::leading_number;
use crate::quantities::{Dimension, Unit};

/// A price per base unit (gram or millilitre).
#[derive(Debug, Clone, PartialEq)]
pub struct Price {
    /// Amount of money per gram or per millilitre.
    pub per_base: f64,
    /// The money as the user writes it; empty when it was not named.
    pub money: String,
}

/// Why a text is no price.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("`{text}` is not a price")]
pub struct PriceError {
    /// The text as written.
    pub text: String,
}

impl Price {
    /// Reads `12.50 per kg`, `12.50 coins per kg`, `4 per 500 g`; the unit must be one of the
    /// given dimension.
    ///
    /// # Errors
    /// When there is no amount, no `per`, or no such unit.
    ///
    /// ```
    /// use waterflight::quantities::Dimension;
    /// use waterflight::stock::Price;
    /// let price = Price::parse("12.50 coins per kg", Dimension::Mass).unwrap();
    /// assert!((price.per_base - 0.0125).abs() < 1e-15);
    /// assert_eq!(price.money, "coins");
    /// ```
    pub fn parse(text: &str, per: Dimension) -> Result<Self, PriceError> {
        Self::read(text, per).ok_or_else(|| PriceError { text: text.trim().to_owned() })
    }

    fn read(text: &str, per: Dimension) -> Option<Self> {
        let (money, unit) = text.split_once(" per ")?;
        let (amount, name) = leading_number(money.trim()).ok()?;
        let unit = unit.trim();
        let (count, unit) =
            leading_number(unit).ok().filter(|(_, rest)| !rest.is_empty()).unwrap_or((1.0, unit));
        let unit = Unit::parse(unit).ok().filter(|u| u.dimension() == per)?;
        let base = count * unit.factor();
        let per_base = amount / base;
        (amount >= 0.0 && base > 0.0 && per_base.is_finite())
            .then(|| Self { per_base, money: name.trim().to_owned() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prices_name_what_they_are_for() {
        let per_gram = |text| Price::parse(text, Dimension::Mass).map(|p| p.per_base);
        assert_eq!(per_gram("4 per 500 g"), Ok(0.008));
        assert!(per_gram("4 per L").is_err());
        assert!(per_gram("4").is_err());
        assert!(per_gram("-4 per kg").is_err());
        assert!(per_gram("4 per 0 kg").is_err());
    }
}
