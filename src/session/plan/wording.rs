//! Attributes and brews as a person writes them on one line.

use std::str::FromStr;

use thiserror::Error;

use crate::quantities::{Dimension, Quantity, QuantityError};

use crate::session::plan::Attribute;
use crate::session::plan::Brewing;
use crate::session::plan::method::starter_attributes;

/// A line that cannot be read.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum WordingError {
    /// It is no attribute.
    #[error("`{found}` cannot be read as an attribute")]
    Attribute {
        /// The line.
        found: String,
    },
    /// It is no brew.
    #[error("`{found}` cannot be read as a brew")]
    Brew {
        /// The line.
        found: String,
    },
    /// An amount of a brew cannot be read.
    #[error("in the brew `{found}`: {source}")]
    Amount {
        /// The line.
        found: String,
        /// Why.
        source: QuantityError,
    },
}

impl WordingError {
    /// What was expected.
    #[must_use]
    pub fn expected(&self) -> &'static str {
        match self {
            Self::Attribute { .. } => {
                "name, scale, ends, as in \"body, 0 to 10 by 0.5, thin to heavy\"; or the name alone"
            }
            Self::Brew { .. } | Self::Amount { .. } => {
                "as in \"coffee: 15 g on 250 mL at 94 °C gives 220 mL\""
            }
        }
    }
}

impl FromStr for Attribute {
    type Err = WordingError;

    /// Reads an attribute with its scale. A name of the starter set alone brings its scale along,
    /// another name is scored from 0 to 10 in whole steps.
    ///
    /// ```
    /// use waterflight::session::plan::Attribute;
    /// let body: Attribute = "body, 0 to 10 by 0.5, thin to heavy".parse()?;
    /// assert_eq!((body.high, body.step, body.high_word.as_str()), (10.0, 0.5, "heavy"));
    /// let liking: Attribute = "liking".parse()?;
    /// assert_eq!((liking.low, liking.high), (1.0, 9.0));
    /// # Ok::<(), waterflight::session::plan::WordingError>(())
    /// ```
    fn from_str(text: &str) -> Result<Self, WordingError> {
        let known = starter_attributes().into_iter().find(|known| known.name == text.trim());
        if let Some(known) = known {
            return Ok(known);
        }
        attribute(text).ok_or_else(|| WordingError::Attribute { found: text.to_owned() })
    }
}

fn attribute(text: &str) -> Option<Attribute> {
    let mut parts = text.split(',').map(str::trim);
    let name = parts.next().filter(|name| !name.is_empty())?.to_owned();
    let (ends, step) = parts
        .next()
        .map_or(("0 to 10", "1"), |scale| scale.split_once(" by ").unwrap_or((scale, "1")));
    let (low, high) = ends.split_once(" to ")?;
    let (low_word, high_word) = parts.next().unwrap_or("least to most").split_once(" to ")?;
    if parts.next().is_some() {
        return None;
    }
    let number = |text: &str| text.trim().parse().ok().filter(|number: &f64| number.is_finite());
    Some(Attribute {
        name,
        low: number(low)?,
        high: number(high)?,
        step: number(step)?,
        low_word: low_word.trim().to_owned(),
        high_word: high_word.trim().to_owned(),
    })
}

impl FromStr for Brewing {
    type Err = WordingError;

    /// Reads what is brewed, with dose, water, temperature and yield.
    ///
    /// ```
    /// use waterflight::session::plan::Brewing;
    /// let brew: Brewing = "coffee: 15 g on 250 mL at 94 °C gives 220 mL".parse()?;
    /// assert_eq!((brew.dose_g, brew.water_c), (15.0, 94.0));
    /// # Ok::<(), waterflight::session::plan::WordingError>(())
    /// ```
    fn from_str(text: &str) -> Result<Self, WordingError> {
        let pieces = || {
            let (what, rest) = text.split_once(':')?;
            let (dose, rest) = rest.split_once(" on ")?;
            let (water, rest) = rest.split_once(" at ")?;
            let (celsius, made) = rest.split_once(" gives ")?;
            Some((what.trim(), dose, water, celsius, made))
        };
        let found = || text.to_owned();
        let (what, dose, water, celsius, made) =
            pieces().ok_or_else(|| WordingError::Brew { found: found() })?;
        let amount = |text: &str, dimension| {
            Quantity::parse_as(text.trim(), &[dimension])
                .map_err(|source| WordingError::Amount { found: found(), source })
        };
        Ok(Self {
            what: what.to_owned(),
            dose_g: amount(dose, Dimension::Mass)?,
            water_ml: amount(water, Dimension::Volume)?,
            water_c: amount(celsius, Dimension::Temperature)?,
            yield_ml: amount(made, Dimension::Volume)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_in_an_attribute_is_refused() {
        for text in
            ["", "body, 0 - 10", "body, 0 to ten", "body, 0 to 10, thin", "a, 0 to 1, b to c, d"]
        {
            assert!(text.parse::<Attribute>().is_err(), "{text}");
        }
    }

    #[test]
    fn a_slip_in_a_brew_is_refused() {
        for text in ["coffee", "coffee: 15 g on 250 mL", "c: 15 mL on 250 mL at 94 °C gives 220 mL"]
        {
            assert!(text.parse::<Brewing>().is_err(), "{text}");
        }
    }
}
