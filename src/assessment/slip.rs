//! A reading against what was poured: does the bottle agree, and if not, which single slip of the
//! hand explains it best.

use serde::Serialize;

use crate::chemistry::{ChemistryError, Composition};
use crate::quantities::uncertain::{COVERAGE, Spread};
use crate::water::Meter;
use crate::water::meter::root_of_squares;

/// A dose as it should have been poured.
#[derive(Debug, Clone, PartialEq)]
pub struct Dose {
    /// Name of the stock.
    pub stock: String,
    /// Millilitres of it per litre of finished water.
    pub ml_per_l: f64,
    /// What a millilitre of it brings, mmol (meq of alkalinity).
    pub per_ml: Composition,
}

/// One slip of the hand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Slip {
    /// The stock is not in.
    Forgotten {
        /// Its name.
        stock: String,
    },
    /// The stock is in twice.
    Doubled {
        /// Its name.
        stock: String,
    },
    /// Two stocks were poured with each other's volume.
    Swapped {
        /// One of them.
        stock: String,
        /// The other.
        with: String,
    },
}

/// What a slip would have made of the reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Explanation {
    /// What went wrong by this explanation.
    pub slip: Slip,
    /// Reading to be expected with it, on the meter's scale.
    pub expected: f64,
    /// Reading less that, in standard uncertainties of what was to be expected with it.
    pub off_in_standard_uncertainties: f64,
}

/// What a reading says about a bottle.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeterVerdict {
    /// Unit of every reading here: the meter's scale.
    pub unit: &'static str,
    /// What was read.
    pub read: f64,
    /// What was to be expected.
    pub expected: f64,
    /// The same with the least and the most salt of the base water that was not measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expected_between: Option<[f64; 2]>,
    /// Standard uncertainty of the comparison: model, meter, doses and rounding, and what was not
    /// measured.
    pub uncertainty: f64,
    /// Its expanded uncertainty.
    pub expanded: f64,
    /// Coverage factor of that.
    pub coverage_factor: f64,
    /// Read less expected, in that unit.
    pub off_by: f64,
    /// The same in standard uncertainties.
    pub off_in_standard_uncertainties: f64,
    /// Whether the two agree within the expanded uncertainty.
    pub agrees: bool,
    /// Slips that would explain the reading, the best first; empty when the bottle agrees.
    pub explanations: Vec<Explanation>,
    /// Whether the best explanation stands clearly before the next.
    pub clear: bool,
    /// What is to be known of the doses that it is compared with.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

impl Explanation {
    /// How far the reading is off with it either way, in standard uncertainties.
    fn far_off(&self) -> f64 {
        self.off_in_standard_uncertainties.abs()
    }
}

/// Standard uncertainties by which the best explanation must be nearer than the next to be called
/// clear: our choice.
const CLEARLY: f64 = 1.0;

impl Meter {
    /// Compares a reading with the water that should be in the bottle: base water filled up to the
    /// litre over the doses. `base` is one litre of the base water as it is.
    ///
    /// ```
    /// use waterflight::chemistry::{Composition, Conserved};
    /// use waterflight::assessment::{Dose, Slip};
    /// use waterflight::water::{MeterSettings, Meter};
    /// let salt = |cation, anion, meq_per_ml: f64| {
    ///     let mut per_ml = Composition::PURE_WATER;
    ///     per_ml.set_mmol_per_l(cation, meq_per_ml);
    ///     per_ml.set_mmol_per_l(anion, meq_per_ml);
    ///     per_ml
    /// };
    /// let doses = [
    ///     Dose { stock: "sodium".into(), ml_per_l: 10.0, per_ml: salt(Conserved::Na, Conserved::Cl, 0.1) },
    ///     Dose { stock: "potassium".into(), ml_per_l: 3.0, per_ml: salt(Conserved::K, Conserved::Cl, 0.1) },
    /// ];
    /// let meter = Meter::new(MeterSettings::default()).unwrap();
    /// let verdict = meter.judge(44.0, &doses, &Composition::PURE_WATER).unwrap();
    /// assert!(!verdict.agrees);
    /// let best = verdict.explanations.first().map(|e| e.slip.clone());
    /// assert_eq!(best, Some(Slip::Forgotten { stock: "sodium".into() }));
    /// ```
    ///
    /// # Errors
    /// As for the report of a water, when the bottle as it should be has no answer.
    pub fn judge(
        &self,
        read: f64,
        doses: &[Dose],
        base: &Composition,
    ) -> Result<MeterVerdict, ChemistryError> {
        let poured = |volumes: &[f64]| bottle(volumes, doses, base);
        let right: Vec<f64> = doses.iter().map(|dose| dose.ml_per_l).collect();
        let expected = self.display(&poured(&right))?;
        let rounding = Spread::Rectangular(0.5 * self.settings().resolution).standard();
        let mut parts = vec![expected.model_uncertainty, rounding];
        for i in 0..doses.len() {
            let share = Spread::Rectangular(self.settings().dose_error.value()).standard();
            let nudged = changed(&right, |j, v| if i == j { v * (1.0 + share) } else { v });
            parts.push(self.display(&poured(&nudged))?.value - expected.value);
        }
        // How far the meter itself may be off follows from what it should show, not from what it does.
        let others = root_of_squares(&parts);
        let uncertainty_at = |shown: f64| {
            let error = self.settings().error.value() * shown;
            others.hypot(Spread::Rectangular(error).standard())
        };
        let uncertainty = uncertainty_at(expected.value);
        let off = (read - expected.value) / uncertainty;
        let agrees = off.abs() <= COVERAGE;
        let mut explanations = Vec::new();
        if !agrees {
            for (slip, volumes) in slips(doses, &right) {
                // A slip that makes no possible water explains nothing.
                let Ok(display) = self.display(&poured(&volumes)) else { continue };
                let off = (read - display.value) / uncertainty_at(display.value);
                if off.abs() <= COVERAGE {
                    explanations.push(Explanation {
                        slip,
                        expected: display.value,
                        off_in_standard_uncertainties: off,
                    });
                }
            }
            explanations.sort_by(|a, b| a.far_off().total_cmp(&b.far_off()));
        }
        let mut nearest = explanations.iter().map(Explanation::far_off);
        let clear = match (nearest.next(), nearest.next()) {
            (Some(best), Some(next)) => next - best >= CLEARLY,
            (best, _) => best.is_some(),
        };
        Ok(MeterVerdict {
            unit: self.settings().scale.label(),
            read,
            expected: expected.value,
            expected_between: expected.between,
            uncertainty,
            expanded: COVERAGE * uncertainty,
            coverage_factor: COVERAGE,
            off_by: read - expected.value,
            off_in_standard_uncertainties: off,
            agrees,
            explanations,
            clear,
            notes: Vec::new(),
        })
    }
}

/// The water of a bottle filled up to the litre with base water.
fn bottle(ml_per_l: &[f64], doses: &[Dose], base: &Composition) -> Composition {
    let dosed: f64 = ml_per_l.iter().sum();
    let base_share = (1.0 - dosed / ML_PER_L).max(0.0);
    doses
        .iter()
        .zip(ml_per_l)
        .fold(*base * base_share, |water, (dose, ml)| water + dose.per_ml * *ml)
}

/// Millilitres in a litre.
const ML_PER_L: f64 = 1000.0;

fn changed(volumes: &[f64], change: impl Fn(usize, f64) -> f64) -> Vec<f64> {
    volumes.iter().enumerate().map(|(i, v)| change(i, *v)).collect()
}

/// Every single slip with the volumes it would have poured.
fn slips(doses: &[Dose], right: &[f64]) -> Vec<(Slip, Vec<f64>)> {
    let mut all = Vec::new();
    for (i, dose) in doses.iter().enumerate().filter(|(_, dose)| dose.ml_per_l > 0.0) {
        let stock = dose.stock.clone();
        let without = changed(right, |j, v| if i == j { 0.0 } else { v });
        let twice = changed(right, |j, v| if i == j { 2.0 * v } else { v });
        all.push((Slip::Forgotten { stock: stock.clone() }, without));
        all.push((Slip::Doubled { stock }, twice));
    }
    for (i, dose) in doses.iter().enumerate() {
        for (j, other) in doses.iter().enumerate().skip(i + 1) {
            let differ = (dose.ml_per_l - other.ml_per_l).abs() > SAME_VOLUME_ML;
            if differ {
                let swapped = changed(right, |k, v| match k {
                    k if k == i => other.ml_per_l,
                    k if k == j => dose.ml_per_l,
                    _ => v,
                });
                let slip = Slip::Swapped { stock: dose.stock.clone(), with: other.stock.clone() };
                all.push((slip, swapped));
            }
        }
    }
    all
}

/// Volumes nearer than this are the same to a hand, mL: our choice; swapping them is no slip.
const SAME_VOLUME_ML: f64 = 0.01;
