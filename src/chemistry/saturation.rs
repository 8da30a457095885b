//! How near a water is to precipitating a mineral.

use crate::chemistry::Aqueous;
use crate::chemistry::Speciation;
use crate::chemistry::solution::ABSENT;
use crate::chemistry::solution::Solution;
use crate::chemistry::{Composition, Mineral};

/// Saturation index of each mineral of a water report: log10 of the ion activity product over K, or `None` where
/// an ion of it is not there at all.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize)]
pub struct SaturationIndices {
    /// Calcite.
    pub calcite: Option<f64>,
    /// Aragonite.
    pub aragonite: Option<f64>,
    /// Gypsum.
    pub gypsum: Option<f64>,
    /// Anhydrite.
    pub anhydrite: Option<f64>,
    /// Brucite.
    pub brucite: Option<f64>,
}

impl SaturationIndices {
    /// Those of the minerals of which a water was measured for every ion.
    #[must_use]
    pub fn measured(self, water: &Composition) -> Self {
        let known =
            |index: Option<f64>, mineral: Mineral| index.filter(|_| mineral.is_measured(water));
        Self {
            calcite: known(self.calcite, Mineral::Calcite),
            aragonite: known(self.aragonite, Mineral::Aragonite),
            gypsum: known(self.gypsum, Mineral::Gypsum),
            anhydrite: known(self.anhydrite, Mineral::Anhydrite),
            brucite: known(self.brucite, Mineral::Brucite),
        }
    }
}

impl Speciation<'_> {
    /// Saturation indices of the minerals of a water report.
    #[must_use]
    pub fn saturation(&self) -> SaturationIndices {
        SaturationIndices {
            calcite: self.si(Mineral::Calcite),
            aragonite: self.si(Mineral::Aragonite),
            gypsum: self.si(Mineral::Gypsum),
            anhydrite: self.si(Mineral::Anhydrite),
            brucite: self.si(Mineral::Brucite),
        }
    }

    /// Saturation index of one mineral; `None` when one of its ions is absent.
    #[must_use]
    pub fn si(&self, mineral: Mineral) -> Option<f64> {
        let ln_product = self.solution.ln_product(self.at, mineral)?;
        Some((ln_product - self.at.ln_k_mineral(mineral)) / std::f64::consts::LN_10)
    }
}

impl Solution {
    /// ln of the ion activity product of a mineral.
    pub(crate) fn ln_product(&self, at: &Aqueous, mineral: Mineral) -> Option<f64> {
        let [ln_h, ln_co2, ln_so4, ..] = self.lambda;
        let [ln_ca, ln_mg, ln_silica] = self.ln_own;
        let there = |ln_a: f64| (ln_a > ABSENT).then_some(ln_a);
        let calcium = there(ln_ca);
        let ln_co3 = there(ln_co2).map(|c| c - 2.0 * ln_h + at.ln_k_co3() + self.ln_water);
        match mineral {
            Mineral::Calcite | Mineral::Aragonite => Some(calcium? + ln_co3?),
            Mineral::Gypsum => Some(calcium? + there(ln_so4)? + 2.0 * self.ln_water),
            Mineral::Anhydrite => Some(calcium? + there(ln_so4)?),
            Mineral::Brucite => Some(there(ln_mg)? - 2.0 * ln_h + 2.0 * self.ln_water),
            Mineral::Nesquehonite => Some(there(ln_mg)? + ln_co3? + 3.0 * self.ln_water),
            Mineral::AmorphousSilica => Some(there(ln_silica)? - 2.0 * self.ln_water),
        }
    }
}
