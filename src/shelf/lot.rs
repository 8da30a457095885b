//! What was bought of a salt: a lot with its purity, moisture and grade.

use crate::quantities::{Fraction, Grams};

/// A lot of a salt, as its label or certificate describes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Lot {
    /// Mass fraction of the named compound, with its hydrate water, in the dry lot.
    pub purity: Fraction,
    /// Mass fraction of water that clings to the lot beyond its hydrate water.
    pub moisture: Fraction,
    /// Grade as the label states it.
    pub grade: Option<String>,
}

impl Default for Lot {
    fn default() -> Self {
        Self { purity: Fraction::new(1.0), moisture: Fraction::new(0.0), grade: None }
    }
}

impl Lot {
    /// Mass of the pure compound in a weighed mass of the lot.
    ///
    /// ```
    /// use waterflight::quantities::{Fraction, Grams};
    /// use waterflight::shelf::Lot;
    /// let damp = Lot { purity: Fraction::new(0.99), moisture: Fraction::new(0.02), grade: None };
    /// // 100 g weighed: 2 g cling to it as water, 1 % of the rest is something else
    /// assert!((damp.compound_in(Grams::new(100.0)).value() - 97.02).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn compound_in(&self, weighed: Grams) -> Grams {
        weighed * ((1.0 - self.moisture.value()) * self.purity.value())
    }
}
