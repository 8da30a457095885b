//! Other recipes for the same water: every goal within tolerance, and yet a different water.
//!
//! A recipe is known by the stocks it uses. From the best one on, each next recipe is the best
//! that leaves out at least one stock of every recipe before it, so all are distinct and none
//! contains another. Whole sets are compared by what they leave: misses inside tolerance first,
//! then the preference.

use crate::flight::{Flight, Target};
use crate::planner::lp::program::PourableColumns;
use crate::planner::lp::stages::{Planner, SolveError};
use crate::planner::{Plan, plan, subset};
use crate::stock::Stock;

/// Our choice: a dose below this is no use of a stock, mL/L.
const USED_ML_PER_L: f64 = 1e-6;

/// The best recipes of a target that keep every goal within tolerance, the best first; at most
/// `most` of them. Empty when the target is out of reach.
///
/// # Errors
/// When a water has no confirmed answer.
pub fn alternatives(
    flight: &Flight,
    stocks: &[Stock],
    target: &Target,
    most: usize,
) -> Result<Vec<Plan>, SolveError> {
    let pourable = PourableColumns::of(flight, stocks);
    let priorities = plan::priorities_of(flight, &pourable);
    let mut planner = Planner::default();
    let mut rows = Vec::new();
    let look = |allowed: &[bool]| {
        let plan =
            plan::plan_with(&mut planner, &mut rows, target, &pourable, &priorities, allowed)?;
        let used = used(&plan);
        Ok(plan.reached().then_some((plan, used)))
    };
    subset::ranked(stocks.len(), most, look, order)
}

/// The places of the stocks that a plan uses.
#[must_use]
pub fn used(plan: &Plan) -> Vec<usize> {
    let doses = plan.ml_per_l.iter().enumerate();
    doses.filter(|(_, ml)| **ml > USED_ML_PER_L).map(|(j, _)| j).collect()
}

fn order(a: &Plan, b: &Plan) -> std::cmp::Ordering {
    /// Our choice: misses that differ by less than a millionth of a tolerance are the same.
    const EVEN: f64 = 1e-6;
    let values = |p: &Plan| [vec![p.stages.inside], p.stages.preference.clone()].concat();
    for (x, y) in values(a).iter().zip(values(b)) {
        if (x - y).abs() > EVEN * y.abs().max(1.0) {
            return x.total_cmp(&y);
        }
    }
    std::cmp::Ordering::Equal
}
