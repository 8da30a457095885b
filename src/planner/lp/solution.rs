//! What a solver says of one water: its doses with the value of each stage, or why there are none.

use thiserror::Error;

/// The doses of one water, with the value of each stage.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Solution {
    /// meq/L of each stock.
    pub meq_per_l: Vec<f64>,
    /// Share of each base water.
    pub shares: Vec<f64>,
    /// Stage 0, when it was asked for.
    pub largest: Option<f64>,
    /// Stage 1: weighted misses beyond tolerance, in units of miss.
    pub beyond: f64,
    /// Stage 2: weighted misses inside tolerance, in units of miss.
    pub inside: f64,
    /// The preference stages.
    pub preference: Vec<f64>,
}

impl Solution {
    /// The value of each stage, in order.
    pub(crate) fn values(&self) -> impl Iterator<Item = f64> + '_ {
        let misses = self.largest.into_iter().chain([self.beyond, self.inside]);
        misses.chain(self.preference.iter().copied())
    }
}

/// Why there is no answer. None of these is the user's fault except the first two.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SolveError {
    /// The base waters may not fill a litre.
    #[error("the base waters may take {} % of the volume together, and the rest cannot be filled", (share * 100.0).round())]
    SharesTooSmall {
        /// Sum of the largest shares.
        share: f64,
    },
    /// A goal counts what nobody measured of a base water.
    #[error("{what} was not measured of a base water, and a goal counts it")]
    NotMeasured {
        /// What it is.
        what: &'static str,
    },
    /// No doses that the dispenser delivers keep the limits and fit into the bottle.
    #[error("no doses that the dispenser delivers keep the limits and fit into the bottle")]
    NothingFits,
    /// What is left of the stocks is taken by the other waters.
    #[error("what is left of the stocks was not found to do for it beside the other waters")]
    NothingLeft,
    /// The least dose of each stock that the water must have is too much for the bottle or the limits.
    #[error("the least doses of its stocks are more than the flight allows")]
    LeastDosesTooMany,
    /// The best water has no base water, and doses are to be added to a litre of it.
    #[error(
        "the best answer is made of stocks alone, so there is no litre of base water to add them to"
    )]
    StocksAlone,
    /// Someone stopped the search.
    #[error("the search was stopped")]
    Cancelled,
    /// The solver ended without an optimum.
    #[error("the solver ended with {ending} in stage {stage}")]
    Ended {
        /// How it ended.
        ending: &'static str,
        /// Number of the stage.
        stage: usize,
    },
    /// The answer, re-evaluated outside the solver, is not what the solver says.
    #[error("the answer fails its recheck: {what} differs by {by:e}")]
    Disagreement {
        /// What differs.
        what: &'static str,
        /// By how much.
        by: f64,
    },
}
