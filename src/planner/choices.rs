//! What decides between waters that keep their goals, beyond what a flight file names: prices,
//! and likeness to another water.

use crate::chemistry::{Composition, Conserved};
use crate::planner::plan::{self, Plan, PlanError};
use crate::planner::program::{self, Pourable, Row};
use crate::planner::recheck;
use crate::planner::stages::{Planner, SolveError, Wish};
use crate::shelf::Stock;
use crate::waters::{Flight, MissRule, Target};

/// What decides.
#[derive(Debug, Clone, PartialEq)]
pub enum Choice {
    /// The least cost: price of a millilitre of each stock, in the order of the shelf. Behind the
    /// misses, before the least volume.
    LeastCost(Vec<f64>),
    /// The nearest to this water, as the sum of the differences of all ions in meq/L. Behind the
    /// misses beyond tolerance and instead of those inside: for comparisons that change one thing.
    NearestTo(Composition),
}

/// Plans every target of a flight with such a choice.
///
/// # Errors
/// The first target that has no confirmed answer.
pub fn plan_choosing(
    flight: &Flight,
    stocks: &[Stock],
    choice: &Choice,
) -> Result<Vec<Plan>, PlanError> {
    let pourable = Pourable::new(stocks, &flight.base);
    let one = |target: &Target| match choice {
        Choice::LeastCost(per_ml) => cheapest(flight, target, &pourable, per_ml),
        Choice::NearestTo(water) => nearest(flight, target, &pourable, water),
    };
    flight
        .targets
        .iter()
        .map(|t| one(t).map_err(|source| PlanError { target: t.name.clone(), source }))
        .collect()
}

fn cheapest(
    flight: &Flight,
    target: &Target,
    pourable: &Pourable,
    per_ml: &[f64],
) -> Result<Plan, SolveError> {
    let costs = pourable
        .stocks
        .iter()
        .zip(per_ml.iter().copied().chain(std::iter::repeat(0.0)))
        .map(|((_, ml), price)| ml * price)
        .collect();
    let mut wish = plan::wish_of(flight, pourable);
    wish.preference.insert(0, (costs, vec![0.0; pourable.base.len()]));
    let all = vec![true; pourable.stocks.len()];
    plan::plan_with(&mut Planner::default(), &mut Vec::new(), target, pourable, &wish, &all)
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
    pourable: &Pourable,
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
    let wish = Wish {
        largest_first: flight.misses == MissRule::Largest,
        preference: plan::wish_of(flight, pourable).preference,
    };
    let solution = Planner::default().solve(pourable, &rows, &wish)?;
    let made = plan::pour(pourable, &solution);
    recheck::misses(&made, &rows, &solution)?;
    Ok(plan::judged(pourable, target, solution, made))
}
