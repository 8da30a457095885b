//! What the doses go into: distilled water, or a water with an analysis.

use thiserror::Error;

use crate::chemistry::{Aqueous, Composition, Conserved};
use crate::quantities::{Celsius, Fraction};
use crate::waters::charge_balance::ChargeBalance;
use crate::waters::measure::Measure;

/// Temperature at which the pH of an analysis is taken to be measured (common practice).
const ANALYSIS_CELSIUS: f64 = 25.0;

/// Name under which pure water is always there.
pub const DISTILLED: &str = "distilled";

/// A water that doses go into.
#[derive(Debug, Clone, PartialEq)]
pub struct BaseWater {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub composition: Composition,
    /// pH of the analysis, if one was given.
    pub ph: Option<f64>,
    /// Price of a millilitre, if one was given.
    pub price_per_ml: Option<f64>,
    /// How far each amount of the analysis may be off, relative; 0 when it is taken as exact.
    pub within: Fraction,
}

/// Why an analysis cannot be used.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AnalysisError {
    /// Hardness alone does not tell calcium from magnesium.
    #[error("hardness alone does not say how much of it is calcium")]
    HardnessAlone,
    /// Calcium, magnesium and hardness are given and disagree.
    #[error("calcium and magnesium make {sum:.3} meq/L, hardness says {hardness:.3} meq/L")]
    HardnessDisagrees {
        /// Sum of calcium and magnesium, meq/L.
        sum: f64,
        /// Hardness as given, meq/L.
        hardness: f64,
    },
    /// One part of the hardness is larger than the whole.
    #[error("{} is {part:.3} meq/L, more than the whole hardness of {hardness:.3} meq/L", measure.label())]
    PartExceedsHardness {
        /// The part.
        measure: Measure,
        /// Its amount, meq/L.
        part: f64,
        /// The whole, meq/L.
        hardness: f64,
    },
    /// The same thing is given twice under two names.
    #[error("{} and {} are the same thing, given twice", first.label(), second.label())]
    Twice {
        /// First name.
        first: Measure,
        /// Second name.
        second: Measure,
    },
    /// No amount of carbon dioxide gives this alkalinity this pH.
    #[error("no water of this analysis has a pH of {ph}")]
    Ph {
        /// The pH as given.
        ph: f64,
    },
    /// A sum of masses cannot be split into constituents.
    #[error("{} is a sum; an analysis needs its parts", measure.label())]
    Sum {
        /// The measure.
        measure: Measure,
    },
}

impl BaseWater {
    /// Distilled or fully demineralised water.
    #[must_use]
    pub fn distilled() -> Self {
        Self {
            name: DISTILLED.to_owned(),
            composition: Composition::PURE_WATER,
            ph: None,
            price_per_ml: None,
            within: Fraction::new(0.0),
        }
    }

    /// A water from its analysis: amounts in the native unit of each measure. Calcium and
    /// magnesium may be given as ions, as their parts of the hardness, or one of them with the
    /// hardness. Carbon follows from the alkalinity and the pH, taken at 25 °C; without a pH all
    /// of the alkalinity counts as bicarbonate.
    ///
    /// # Errors
    /// When the amounts contradict each other or do not determine the composition.
    pub fn from_analysis(
        name: String,
        amounts: &[(Measure, f64)],
        ph: Option<f64>,
    ) -> Result<Self, AnalysisError> {
        let given = |m: Measure| amounts.iter().find(|(k, _)| *k == m).map(|(_, v)| *v);
        for measure in [Measure::DissolvedSolids, Measure::ResidueOnEvaporation] {
            if given(measure).is_some() {
                return Err(AnalysisError::Sum { measure });
            }
        }
        let one_of = |first: Measure, second: Measure| match (given(first), given(second)) {
            (Some(_), Some(_)) => Err(AnalysisError::Twice { first, second }),
            (a, b) => Ok(a.or(b)),
        };
        let calcium = one_of(Measure::Calcium, Measure::CalciumHardness)?;
        let magnesium = one_of(Measure::Magnesium, Measure::MagnesiumHardness)?;
        let (calcium, magnesium) = split_hardness(calcium, magnesium, given(Measure::Hardness))?;
        let alkalinity = one_of(Measure::Alkalinity, Measure::Bicarbonate)?.unwrap_or(0.0);
        let native = |m: Measure| given(m).unwrap_or(0.0);
        let mut composition = Composition::PURE_WATER;
        for (conserved, mmol_per_l) in [
            (Conserved::Ca, calcium / 2.0),
            (Conserved::Mg, magnesium / 2.0),
            (Conserved::Na, native(Measure::Sodium)),
            (Conserved::K, native(Measure::Potassium)),
            (Conserved::Cl, native(Measure::Chloride)),
            (Conserved::SO4, native(Measure::Sulfate) / 2.0),
            (Conserved::NO3, native(Measure::Nitrate)),
            (Conserved::SiO2, native(Measure::Silica)),
            (Conserved::Dic, alkalinity),
            (Conserved::Alkalinity, alkalinity),
        ] {
            composition.set_mmol_per_l(conserved, mmol_per_l);
        }
        if let Some(ph) = ph {
            let carbon = Aqueous::at(Celsius::new(ANALYSIS_CELSIUS))
                .and_then(|at| at.carbon_for_ph(&composition, ph))
                .map_err(|_| AnalysisError::Ph { ph })?;
            composition.set_mmol_per_l(Conserved::Dic, carbon);
        }
        Ok(Self { name, composition, ph, price_per_ml: None, within: Fraction::new(0.0) })
    }

    /// The charge-balance test of the analysis.
    #[must_use]
    pub fn charge_balance(&self) -> ChargeBalance {
        ChargeBalance::of(&self.composition)
    }
}

/// Calcium and magnesium, meq/L, from any sufficient two of calcium, magnesium and hardness.
fn split_hardness(
    calcium: Option<f64>,
    magnesium: Option<f64>,
    hardness: Option<f64>,
) -> Result<(f64, f64), AnalysisError> {
    /// Our choice: rounding of an analysis report excuses this much, meq/L and relative.
    const ROUNDING: f64 = 0.05;
    let rest = |measure, part: f64, hardness: f64| {
        if part > hardness * (1.0 + ROUNDING) + ROUNDING {
            return Err(AnalysisError::PartExceedsHardness { measure, part, hardness });
        }
        Ok((hardness - part).max(0.0))
    };
    match (calcium, magnesium, hardness) {
        (ca, mg, None) => Ok((ca.unwrap_or(0.0), mg.unwrap_or(0.0))),
        (Some(ca), None, Some(h)) => Ok((ca, rest(Measure::Calcium, ca, h)?)),
        (None, Some(mg), Some(h)) => Ok((rest(Measure::Magnesium, mg, h)?, mg)),
        (Some(ca), Some(mg), Some(h)) => {
            if (ca + mg - h).abs() > ROUNDING * h + ROUNDING {
                return Err(AnalysisError::HardnessDisagrees { sum: ca + mg, hardness: h });
            }
            Ok((ca, mg))
        }
        (None, None, Some(h)) if h > 0.0 => Err(AnalysisError::HardnessAlone),
        (None, None, Some(_)) => Ok((0.0, 0.0)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn analysis(amounts: &[(Measure, f64)]) -> Result<BaseWater, AnalysisError> {
        BaseWater::from_analysis("test".into(), amounts, None)
    }

    #[test]
    fn hardness_and_one_part_give_the_other() {
        let water = analysis(&[(Measure::Hardness, 3.0), (Measure::Calcium, 2.0)]);
        assert_eq!(water.map(|w| w.composition.mmol_per_l(Conserved::Mg)), Ok(0.5));
    }

    #[test]
    fn contradictions_are_named() {
        assert_eq!(analysis(&[(Measure::Hardness, 3.0)]), Err(AnalysisError::HardnessAlone));
        assert!(matches!(
            analysis(&[(Measure::Hardness, 1.0), (Measure::Magnesium, 2.0)]),
            Err(AnalysisError::PartExceedsHardness { .. })
        ));
        assert!(matches!(
            analysis(&[
                (Measure::Hardness, 1.0),
                (Measure::Magnesium, 2.0),
                (Measure::Calcium, 2.0)
            ]),
            Err(AnalysisError::HardnessDisagrees { .. })
        ));
        assert!(matches!(
            analysis(&[(Measure::Alkalinity, 1.0), (Measure::Bicarbonate, 1.0)]),
            Err(AnalysisError::Twice { .. })
        ));
    }
}
