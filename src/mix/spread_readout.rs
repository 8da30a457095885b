//! What is read of a finished water when its spread is worked out: one number per result.

use crate::chemistry::{Composition, Conserved, KeyedAmounts};
use crate::flight::{Goal, Subject, Target};
use crate::water::Measure;

/// One number for each conserved total.
pub(crate) type Totals = [f64; Conserved::ALL.len()];

/// The measures that every report of a water names.
pub(crate) const USUAL: [Measure; 3] =
    [Measure::Hardness, Measure::Alkalinity, Measure::DissolvedSolids];

/// What is read of a water: the subjects of its goals, its constituents, and the usual measures.
pub(crate) struct Readout {
    goals: Vec<ReadGoal>,
    constituents: Vec<(usize, f64)>,
    measures: Vec<(&'static Totals, f64)>,
}

/// The subject of a goal, and what one of the goal's unit is natively.
struct ReadGoal {
    of: &'static Totals,
    ratio: Option<ReadRatio>,
    native_per_unit: f64,
}

/// What a ratio is to, and what one of each side counts.
struct ReadRatio {
    to: &'static Totals,
    of_factor: f64,
    to_factor: f64,
}

impl Readout {
    pub(crate) fn new(target: &Target, water: &Composition) -> Self {
        let goal = |goal: &Goal| {
            let (of, ratio) = match goal.subject {
                Subject::Measure(measure) => (measure, None),
                Subject::Ratio { of, to, of_factor, to_factor } => {
                    (of, Some(ReadRatio { to: to.coefficients(), of_factor, to_factor }))
                }
            };
            let native_per_unit = goal.native_per_unit;
            ReadGoal { of: of.coefficients(), ratio, native_per_unit }
        };
        let named = KeyedAmounts::mg_per_l(water);
        let constituent = |(key, _): &(&'static str, f64)| {
            let place = Conserved::ALL.iter().position(|c| c.key() == *key)?;
            Some((place, Conserved::ALL.get(place)?.g_per_mol()))
        };
        let known = USUAL.into_iter().filter(|measure| measure.measured(water).is_some());
        Self {
            goals: target.goals.iter().map(goal).collect(),
            constituents: named.0.iter().filter_map(constituent).collect(),
            measures: known.map(|m| (m.coefficients(), m.native_per_usual_unit())).collect(),
        }
    }

    /// Adds what is read of a water to the results: of a goal in its unit, and 0 for a ratio to
    /// something absent.
    pub(crate) fn add(&self, water: &Totals, results: &mut Vec<f64>) {
        let dot = |coefficients: &Totals| -> f64 {
            water.iter().zip(coefficients).map(|(a, b)| a * b).sum()
        };
        results.extend(self.goals.iter().map(|goal| {
            let native = match &goal.ratio {
                None => dot(goal.of),
                Some(ratio) => {
                    let denominator = dot(ratio.to) * ratio.to_factor;
                    if denominator > 0.0 {
                        dot(goal.of) * ratio.of_factor / denominator
                    } else {
                        0.0
                    }
                }
            };
            native / goal.native_per_unit
        }));
        let mg = |(place, g_per_mol): &(usize, f64)| water.get(*place).map(|mmol| mmol * g_per_mol);
        results.extend(self.constituents.iter().filter_map(mg));
        results.extend(self.measures.iter().map(|(of, per_unit)| dot(of) / per_unit));
    }
}
