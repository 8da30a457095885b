//! A reading against what was poured: does the bottle agree, and if not, which single slip of the
//! hand explains it best.

use serde::Serialize;

use crate::chemistry::{ChemistryError, Composition};
use crate::flight::Convention;
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
    /// Relative standard uncertainty of measuring it out, by its tool; it counts where it is more than
    /// the meter's settings allow a hand.
    pub measured_out: f64,
}

/// A bottle as it should have been poured.
#[derive(Debug, Clone, PartialEq)]
pub struct Poured {
    /// Its doses; none where they are not known, and `base` is then the whole water.
    pub doses: Option<Vec<Dose>>,
    /// One litre of what they were poured into.
    pub base: Composition,
    /// Whether it was filled up over the doses, or the doses were added to it.
    pub convention: Convention,
    /// What one standard uncertainty of everything else that is not known exactly (strengths,
    /// analyses, filling), one after the other, changes in a litre of finished water.
    pub off: Vec<Composition>,
}

impl Poured {
    /// A water of which it is not known what was poured.
    #[must_use]
    pub fn unknown(water: Composition) -> Self {
        let convention = Convention::default();
        Self { doses: None, base: water, convention, off: Vec::new() }
    }

    /// A water that nothing is poured into.
    #[must_use]
    pub fn nothing(water: Composition) -> Self {
        Self { doses: Some(Vec::new()), ..Self::unknown(water) }
    }

    /// Doses in distilled water that fills up the litre.
    #[must_use]
    pub fn in_distilled(doses: Vec<Dose>) -> Self {
        Self { doses: Some(doses), ..Self::unknown(Composition::PURE_WATER) }
    }

    /// Its doses, as far as they are known.
    #[must_use]
    pub fn known_doses(&self) -> &[Dose] {
        self.doses.as_deref().unwrap_or_default()
    }

    /// The finished water.
    #[must_use]
    pub fn water(&self) -> Composition {
        self.with(&self.volumes())
    }

    /// The doses as they should be, mL per litre of finished water.
    fn volumes(&self) -> Vec<f64> {
        self.known_doses().iter().map(|dose| dose.ml_per_l).collect()
    }

    /// The water with other volumes than it should have: where it was filled up they take the place of
    /// base water, where they were added it becomes more.
    fn with(&self, ml_per_l: &[f64]) -> Composition {
        let litres = |ml: &[f64]| ml.iter().sum::<f64>() / ML_PER_L;
        let dosed = litres(ml_per_l);
        let (base, whole) = match self.convention {
            Convention::MadeUpToALitre => ((1.0 - dosed).max(0.0), 1.0),
            Convention::AddedToALitre => {
                let base = (1.0 - litres(&self.volumes())).max(0.0);
                (base, base + dosed)
            }
        };
        let poured = self.known_doses().iter().zip(ml_per_l);
        poured.fold(self.base * (base / whole), |water, (dose, ml)| {
            water + dose.per_ml * (*ml / whole)
        })
    }
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
    /// Standard uncertainty of the comparison: model, meter, doses and rounding, strengths and
    /// analyses, and what was not measured.
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
    /// How many doses a slip was looked for in; none where they are not known.
    pub doses: Option<usize>,
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
    /// Compares a reading with the water that should be in the bottle.
    ///
    /// ```
    /// use waterflight::chemistry::{Composition, Conserved};
    /// use waterflight::assessment::{Dose, Poured, Slip};
    /// use waterflight::water::{MeterSettings, Meter};
    /// let salt = |cation, anion, meq_per_ml: f64| {
    ///     let mut per_ml = Composition::PURE_WATER;
    ///     per_ml.set_mmol_per_l(cation, meq_per_ml);
    ///     per_ml.set_mmol_per_l(anion, meq_per_ml);
    ///     per_ml
    /// };
    /// let doses = [
    ///     ("sodium", 10.0, salt(Conserved::Na, Conserved::Cl, 0.1)),
    ///     ("potassium", 3.0, salt(Conserved::K, Conserved::Cl, 0.1)),
    /// ];
    /// let doses = doses.map(|(stock, ml_per_l, per_ml)| Dose {
    ///     stock: stock.into(),
    ///     ml_per_l,
    ///     per_ml,
    ///     measured_out: 0.0,
    /// });
    /// let meter = Meter::new(MeterSettings::default()).unwrap();
    /// let verdict = meter.judge(44.0, &Poured::in_distilled(doses.to_vec())).unwrap();
    /// assert!(!verdict.agrees);
    /// let best = verdict.explanations.first().map(|e| e.slip.clone());
    /// assert_eq!(best, Some(Slip::Forgotten { stock: "sodium".into() }));
    /// ```
    ///
    /// # Errors
    /// As for the report of a water, when the bottle as it should be has no answer.
    pub fn judge(&self, read: f64, poured: &Poured) -> Result<MeterVerdict, ChemistryError> {
        let doses = poured.known_doses();
        let right = poured.volumes();
        let water = poured.with(&right);
        let expected = self.display(&water)?;
        let rounding = Spread::Rectangular(0.5 * self.settings().resolution).standard();
        let mut parts = vec![expected.model_uncertainty, rounding];
        let by_hand = Spread::Rectangular(self.settings().dose_error.value()).standard();
        for (i, dose) in doses.iter().enumerate() {
            let share = by_hand.max(dose.measured_out);
            let nudged = changed(&right, |j, v| if i == j { v * (1.0 + share) } else { v });
            parts.push(self.display(&poured.with(&nudged))?.value - expected.value);
        }
        for off in &poured.off {
            parts.push(self.display(&(water + *off))?.value - expected.value);
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
                let Ok(display) = self.display(&poured.with(&volumes)) else { continue };
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
            doses: poured.doses.as_ref().map(Vec::len),
            explanations,
            clear,
            notes: Vec::new(),
        })
    }
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
