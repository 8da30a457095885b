//! Likeness to another water, among the waters that keep their goals.

use crate::chemistry::{Composition, Conserved};
use crate::flight::{Flight, MissRule, Order, Target};
use crate::planner::lp::program::{PourableColumns, Priorities, Row};
use crate::planner::lp::solution::SolveError;
use crate::planner::lp::stages::Planner;
use crate::planner::lp::{program, recheck};
use crate::planner::{Plan, PlanError, plan};
use crate::stock::Stock;

/// Plans every target of a flight as near as possible to a water, by the sum of the differences of
/// all ions in meq/L. This stands behind the misses beyond tolerance and instead of those inside:
/// for comparisons that change one thing. Of an order it keeps which stocks each water may have, and the
/// least doses of a style.
///
/// # Errors
/// The first target that has no confirmed answer.
pub fn plan_nearest_to(
    flight: &Flight,
    stocks: &[Stock],
    order: &Order,
    water: &Composition,
) -> Result<Vec<Plan>, PlanError> {
    let styled = order.with_least_of_each(flight);
    let pourable = PourableColumns::of(&styled, stocks);
    let one = |(n, target): (usize, &Target)| {
        let allowed: Vec<bool> = stocks.iter().map(|stock| order.allows(n, stock.name())).collect();
        nearest(&styled, target, (&pourable, &allowed), water)
            .map_err(|source| PlanError { target: target.name.clone(), source })
    };
    styled.targets.iter().enumerate().map(one).collect()
}

/// The ions whose differences count.
const IONS: [Conserved; 8] = [
    Conserved::Ca,
    Conserved::Mg,
    Conserved::Na,
    Conserved::K,
    Conserved::Cl,
    Conserved::SO4,
    Conserved::NO3,
    Conserved::Alkalinity,
];

fn nearest(
    flight: &Flight,
    target: &Target,
    (pourable, allowed): (&PourableColumns, &[bool]),
    water: &Composition,
) -> Result<Plan, SolveError> {
    let mut rows = program::edges(target);
    for ion in IONS {
        let mut form = program::Form::default();
        let charge = f64::from(ion.charge().abs());
        for (slot, c) in form.iter_mut().zip(Conserved::ALL) {
            *slot = if c == ion { charge } else { 0.0 };
        }
        let wanted = water.dot(&form);
        rows.push(Row::band(form, wanted, wanted, f64::INFINITY, 1.0));
    }
    let priorities = Priorities {
        largest_first: flight.misses == MissRule::Largest,
        preference: plan::priorities_of(flight, pourable).preference,
    };
    let mut planner = Planner::default();
    planner.allow(allowed);
    let solution = planner.solve(pourable, &rows, &priorities)?;
    let made = plan::pour(pourable, &solution);
    recheck::misses(&made, &rows, &solution)?;
    Ok(plan::evaluated(pourable, target, solution, made))
}
