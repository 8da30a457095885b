//! What was bought of a salt: a lot with its purity, moisture, grade and price.

use crate::quantities::{Fraction, Grams};
use crate::stock::Price;

/// A lot of a salt, as its label or certificate describes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    /// Mass fraction of the named compound, with its hydrate water, in the dry lot.
    pub purity: Fraction,
    /// Half of the range in which the purity was stated to lie.
    pub purity_within: Option<Fraction>,
    /// Mass fraction of water that clings to the lot beyond its hydrate water.
    pub moisture: Fraction,
    /// Half of the range in which the moisture was stated to lie.
    pub moisture_within: Option<Fraction>,
    /// Grade as the label states it.
    pub grade: Option<String>,
    /// What it cost, per gram.
    pub price: Option<Price>,
}

/// Half-width of the purity of a lot whose label gives no range: our choice, the half per cent
/// that food-grade assay limits usually leave (common practice). It decides the ± of every dose
/// on a bench without certificates.
pub const UNSTATED_PURITY_WITHIN: f64 = 0.005;

/// Half-width of a moisture given without a range, as a part of it: our choice, since moisture
/// is rarely known better than to a half.
pub const UNSTATED_MOISTURE_PART: f64 = 0.5;

impl Default for Lot {
    fn default() -> Self {
        Self {
            purity: Fraction::new(1.0),
            purity_within: None,
            moisture: Fraction::new(0.0),
            moisture_within: None,
            grade: None,
            price: None,
        }
    }
}

impl Lot {
    /// Mass of the pure compound in a weighed mass of the lot.
    ///
    /// ```
    /// use waterflight::quantities::{Fraction, Grams};
    /// use waterflight::stock::Lot;
    /// let damp =
    ///     Lot { purity: Fraction::new(0.99), moisture: Fraction::new(0.02), ..Lot::default() };
    /// // 100 g weighed: 2 g cling to it as water, 1 % of the rest is something else
    /// assert!((damp.compound_in(Grams::new(100.0)).value() - 97.02).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn compound_in(&self, weighed: Grams) -> Grams {
        weighed * self.compound_share()
    }

    /// Mass fraction of the pure compound in the lot as weighed.
    #[must_use]
    pub fn compound_share(&self) -> f64 {
        (1.0 - self.moisture.value()) * self.purity.value()
    }

    /// Half-width of the purity, stated or assumed.
    #[must_use]
    pub fn purity_half_width(&self) -> f64 {
        self.purity_within.map_or(UNSTATED_PURITY_WITHIN, Fraction::value)
    }

    /// Half-width of the moisture, stated or assumed.
    #[must_use]
    pub fn moisture_half_width(&self) -> f64 {
        self.moisture_within.map_or(UNSTATED_MOISTURE_PART * self.moisture.value(), Fraction::value)
    }
}
