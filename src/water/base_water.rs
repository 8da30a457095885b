//! What the doses go into: distilled water, or a water with an analysis.

use crate::chemistry::{Composition, Conserved};
use crate::quantities::Fraction;
use crate::water::{ChargeBalance, Implausible, Measure};

/// Name under which pure water is always there.
pub const DISTILLED: &str = "distilled";

/// A water that doses go into.
#[derive(Debug, Clone, PartialEq)]
pub struct BaseWater {
    /// Name by which flights ask for it.
    pub name: String,
    /// What it holds, and what was not measured of it.
    pub composition: Composition,
    /// pH of the analysis, if one was given.
    pub ph: Option<f64>,
    /// Conductivity of the analysis at 25 °C, µS/cm, if one was given.
    pub us_per_cm: Option<f64>,
    /// Dissolved solids of the analysis, mg/L, if any were given.
    pub solids: Option<(Measure, f64)>,
    /// Price of a millilitre, if one was given.
    pub price_per_ml: Option<f64>,
    /// How far each amount of the analysis may be off, relative; 0 when it is taken as exact.
    pub within: Fraction,
    /// What was looked for and is below its limit of detection.
    pub below: Vec<Conserved>,
    /// What is odd about the analysis.
    pub doubtful: Vec<Implausible>,
}

impl BaseWater {
    /// Distilled or fully demineralised water: of everything it is known that there is none.
    #[must_use]
    pub fn distilled() -> Self {
        Self {
            name: DISTILLED.to_owned(),
            composition: Composition::PURE_WATER,
            ph: None,
            us_per_cm: None,
            solids: None,
            price_per_ml: None,
            within: Fraction::new(0.0),
            below: Vec::new(),
            doubtful: Vec::new(),
        }
    }

    /// How far an amount of the analysis may be off, as a part of it: all of it where it is only
    /// known to be below a limit, and nothing where nobody measured it.
    #[must_use]
    pub fn within_of(&self, of: Conserved) -> Fraction {
        let water = &self.composition;
        if self.below.contains(&of) {
            Fraction::new(1.0)
        } else if water.is_measured(of) && !water.assumed().contains(of) {
            self.within
        } else {
            Fraction::new(0.0)
        }
    }

    /// The charge-balance test of the analysis.
    #[must_use]
    pub fn charge_balance(&self) -> ChargeBalance {
        ChargeBalance::of(&self.composition)
    }
}
