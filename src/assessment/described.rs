//! Any water that has a name: a base water, a planned target, a stock diluted.

use crate::assessment::{Dose, Poured};
use crate::chemistry::Composition;
use crate::flight::{Flight, Target};
use crate::planner::Plan;
use crate::stock::Stock;
use crate::water::{BaseWater, ChargeBalance, Implausible};

/// A water with where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Described {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub water: Composition,
    /// What was poured for it.
    pub poured: Poured,
    /// The charge balance of an analysis; none for what is made of salts or is so many times as strong, and
    /// for pure water.
    pub balance: Option<ChargeBalance>,
    /// What is to be said of where it comes from.
    pub notes: Vec<String>,
    /// What is odd about an analysis.
    pub doubtful: Vec<Implausible>,
}

/// Our choice: doses below this are rounding of the solver, mL/L; far below a drop.
const NOTHING_ML_PER_L: f64 = 1e-6;

impl Described {
    /// A base water as it is.
    #[must_use]
    pub fn base_water(water: &BaseWater) -> Self {
        let is_pure = water.composition == Composition::PURE_WATER;
        Self {
            balance: (!is_pure).then(|| water.charge_balance()),
            doubtful: water.doubtful.clone(),
            poured: Poured::nothing(water.composition),
            ..Self::held(&water.name, water.composition, Vec::new())
        }
    }

    /// A target as it was planned.
    #[must_use]
    pub fn target(flight: &Flight, stocks: &[Stock], target: &Target, plan: &Plan) -> Self {
        let doses = stocks
            .iter()
            .zip(&plan.ml_per_l)
            .filter(|(_, ml)| **ml > NOTHING_ML_PER_L)
            .map(|(stock, ml)| Dose {
                stock: stock.name().to_owned(),
                ml_per_l: *ml,
                per_ml: stock.composition_per_ml(),
                measured_out: 0.0,
            })
            .collect();
        let filled: f64 = plan.shares.iter().sum();
        let mut base = Composition::PURE_WATER;
        if filled > 0.0 {
            for (part, share) in flight.base.iter().zip(&plan.shares) {
                base += part.water.composition * (share / filled);
            }
        }
        let convention = flight.convention;
        Self {
            poured: Poured { doses: Some(doses), base, convention, off: Vec::new() },
            ..Self::held(&target.name, *plan.water, Vec::new())
        }
    }

    /// The same water so many times as strong: an all-in-one concentrate of which one part and
    /// distilled water make it.
    #[must_use]
    pub fn concentrated(&self, times: f64) -> Self {
        let name = format!("{times}x {}", self.name);
        // The test of charges is one of what was analysed.
        let strong = Self::held(&name, self.water * times, self.notes.clone());
        Self { doubtful: self.doubtful.clone(), ..strong }
    }

    /// A stock diluted with distilled water: so many millilitres made up to a litre.
    #[must_use]
    pub fn dilution(stock: &Stock, ml_per_l: f64) -> Self {
        let per_ml = stock.composition_per_ml();
        let name = format!("{ml_per_l} mL/L {}", stock.name());
        let stock = stock.name().to_owned();
        Self {
            poured: Poured::in_distilled(vec![Dose { stock, ml_per_l, per_ml, measured_out: 0.0 }]),
            ..Self::held(&name, per_ml * ml_per_l, Vec::new())
        }
    }

    /// A water known by what it held alone, as a session keeps it.
    #[must_use]
    pub fn held(name: &str, water: Composition, notes: Vec<String>) -> Self {
        let name = name.to_owned();
        let poured = Poured::unknown(water);
        Self { name, water, poured, balance: None, notes, doubtful: Vec::new() }
    }
}
