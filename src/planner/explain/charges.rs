//! Whether the charges that goals ask for can cancel: a water is neutral.

use crate::chemistry::{Composition, Conserved};
use crate::flight::{Goal, Subject};
use crate::planner::explain::question::Question;
use crate::water::Measure;

/// Charges that goals ask for and leave room for, meq/L.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charges {
    /// Cations, at least.
    pub cations_least: f64,
    /// Cations, at most; +∞ when nothing limits them.
    pub cations_most: f64,
    /// Anions, at least.
    pub anions_least: f64,
    /// Anions, at most.
    pub anions_most: f64,
}

impl Charges {
    /// Whether there is a sum that both can have.
    #[must_use]
    pub fn can_cancel(&self) -> bool {
        /// Our choice: a thousandth of a meq/L is rounding of goals.
        const ROUNDING: f64 = 1e-3;
        self.cations_least <= self.anions_most + ROUNDING
            && self.anions_least <= self.cations_most + ROUNDING
    }
}

impl Question<'_> {
    /// What all goals together ask for and leave room for, by charge.
    pub(super) fn charges(&self) -> Charges {
        let goals = &self.target.goals;
        let limits = |measures: &[Measure]| -> (f64, f64) {
            let of = goals.iter().filter(|g| match g.subject {
                Subject::Measure(m) => measures.contains(&m),
                Subject::Ratio { .. } => false,
            });
            of.fold((0.0, f64::INFINITY), |(low, high), goal| {
                let (least, most) = reach(goal);
                (low.max(least), high.min(most))
            })
        };
        let supplied = |c: Conserved| {
            let stocks = self.pourable.stocks.iter().map(|(per_meq, _)| per_meq);
            let base = self.pourable.base.iter().map(|(water, _)| water);
            // What nobody measured of a base water may be in it.
            let there = |water: &Composition| water.mmol_per_l(c) > 0.0 || !water.is_measured(c);
            stocks.chain(base).any(there)
        };
        let one = |c: Conserved, measures: &[Measure]| {
            let (low, high) = limits(measures);
            (low, if supplied(c) { high } else { 0.0 })
        };
        let add = |a: (f64, f64), b: (f64, f64)| (a.0 + b.0, a.1 + b.1);
        let calcium = one(Conserved::Ca, &[Measure::Calcium, Measure::CalciumHardness]);
        let magnesium = one(Conserved::Mg, &[Measure::Magnesium, Measure::MagnesiumHardness]);
        let parts = add(calcium, magnesium);
        let whole = limits(&[Measure::Hardness]);
        let hardness = (parts.0.max(whole.0), parts.1.min(whole.1));
        let cations = add(
            hardness,
            add(one(Conserved::Na, &[Measure::Sodium]), one(Conserved::K, &[Measure::Potassium])),
        );
        let anions = [
            one(Conserved::Cl, &[Measure::Chloride]),
            one(Conserved::SO4, &[Measure::Sulfate]),
            one(Conserved::NO3, &[Measure::Nitrate]),
            one(Conserved::Alkalinity, &[Measure::Alkalinity, Measure::Bicarbonate]),
            one(Conserved::Lactate, &[]),
            one(Conserved::Citrate, &[]),
        ]
        .into_iter()
        .fold((0.0, 0.0), add);
        Charges {
            cations_least: cations.0,
            cations_most: cations.1,
            anions_least: anions.0,
            anions_most: anions.1,
        }
    }
}

/// The least and the most that a goal allows, tolerance included, native.
fn reach(goal: &Goal) -> (f64, f64) {
    let low = (goal.band.low() - goal.tolerance).max(0.0);
    (low, goal.band.high() + goal.tolerance)
}
