//! Other recipes for the same water: every goal within tolerance, and yet a different water.
//!
//! A recipe is known by the stocks it uses. The first is the one that the water is planned with; after it
//! come all that no stock can be left out of, the best first: misses inside tolerance, then the
//! preference. Of two stocks that serve for one another any mixture would serve as well, so that sets
//! with a stock to spare are no recipes of their own.

use crate::flight::{Flight, Target};
use crate::planner::lp::program::PourableColumns;
use crate::planner::lp::solution::SolveError;
use crate::planner::lp::stages::Planner;
use crate::planner::{Plan, plan, subset};
use crate::stock::Stock;

/// Our choice: a dose below this is no use of a stock, mL/L.
const USED_ML_PER_L: f64 = 1e-6;

/// Recipes of a target that keep every goal within tolerance, at most `most` of them: the one that it is
/// planned with, then those that no stock can be left out of, the best first. Empty when the target is
/// out of reach.
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
    let mut with = |allowed: &[bool]| {
        plan::plan_with(&mut planner, &mut rows, target, &pourable, &priorities, allowed)
    };
    let all = vec![true; stocks.len()];
    let planned = plan::as_preferred(flight.preference, &mut with, &all)?;
    if !planned.reached() {
        return Ok(Vec::new());
    }
    let look = |allowed: &[bool]| {
        let plan = match with(allowed) {
            // Fewer stocks may leave nothing that can be poured.
            Err(SolveError::StocksAlone) => return Ok(None),
            plan => plan?,
        };
        let used = used(&plan);
        Ok(plan.reached().then_some((plan, used)))
    };
    let others = subset::smallest_ranked(stocks.len(), most, look, order)?;
    let first = used(&planned);
    let others = others.into_iter().filter(|other| used(other) != first);
    Ok(std::iter::once(planned.clone()).chain(others).take(most).collect())
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
