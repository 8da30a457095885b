//! One water from dry salts: the best grams per litre, and the best whole steps of a balance.
//!
//! A salt takes no room of its own here: a gram moves the volume of a litre by 0.05 % at most, and
//! the water is made up to its volume.

use std::time::Duration;

use crate::chemistry::Composition;
use crate::flight::{BaseShare, Target};
use crate::planner::lp::program;
use crate::planner::lp::program::{PourableColumns, Priorities};
use crate::planner::lp::solution::{Solution, SolveError};
use crate::planner::lp::stages::Planner;
use crate::planner::steps::deliver::best_portions;
use crate::planner::steps::portions::Portion;
use crate::planner::{GoalResult, Plan, plan};
use crate::stock::DrySalt;

/// Grams of dry salts and what they give.
#[derive(Debug, Clone, PartialEq)]
pub struct WeighedOut {
    /// Grams to weigh per litre of finished water, in the order of the salts.
    pub g_per_l: Vec<f64>,
    /// Share of each base water.
    pub shares: Vec<f64>,
    /// The water that results.
    pub water: Composition,
    /// Each goal against what was reached.
    pub goals: Vec<GoalResult>,
    /// Weighted misses beyond tolerance, in units of miss.
    pub beyond: f64,
    /// Weighted misses inside tolerance, in units of miss.
    pub inside: f64,
    /// Whether no other whole steps miss the goals by less beyond tolerance; true where any grams
    /// may be weighed.
    pub proved: bool,
}

/// Our choice: no drinking water holds this much of one salt, g/L; it bounds the search.
pub(crate) const MOST_G_PER_L: f64 = 20.0;

/// Our choice: an amount is a whole number of steps when it is one within this share of a step.
const ROUNDING: f64 = 1e-6;

/// Our choice: less is rounding of the solver, g/L.
const NOTHING_G_PER_L: f64 = 1e-9;

/// The best grams per litre. `room` is the part of the litre that base water fills; the rest is
/// pure water that comes with a concentrate.
///
/// # Errors
/// As the planner.
pub fn any_grams(
    salts: &[DrySalt],
    base: &[BaseShare],
    target: &Target,
    room: f64,
) -> Result<WeighedOut, SolveError> {
    let (pourable, priorities) = stated(salts, base, room);
    let mut rows = Vec::new();
    program::push_rows(target, &mut rows);
    let solution = Planner::default().solve(&pourable, &rows, &priorities)?;
    Ok(evaluated(salts, &pourable, target, solution, true))
}

/// What a balance can give of one salt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weighable {
    /// Its step, g.
    pub step_g: f64,
    /// The least that is weighed, g; less is not weighed at all.
    pub least_g: f64,
    /// The most that it carries, g.
    pub most_g: f64,
}

/// The best whole steps of a balance for so many litres: searched, never rounded. `weighable`
/// says what the balance can give of each salt.
///
/// # Errors
/// As the planner, and when no steps fit.
pub fn whole_steps(
    salts: &[DrySalt],
    base: &[BaseShare],
    target: &Target,
    litres: f64,
    weighable: &[Weighable],
    time_limit: Duration,
) -> Result<WeighedOut, SolveError> {
    let (pourable, priorities) = stated(salts, base, 1.0);
    let mut rows = Vec::new();
    program::push_rows(target, &mut rows);
    let portions: Vec<Portion> = salts
        .iter()
        .zip(weighable)
        .map(|(salt, Weighable { step_g, least_g, most_g })| {
            let least = whole((least_g / step_g - ROUNDING).ceil());
            let most = most_g.min(MOST_G_PER_L * litres);
            Portion {
                meq_per_l: step_g / salt.g_per_meq() / litres,
                least,
                most: whole(most / step_g + ROUNDING),
                required: false,
            }
        })
        .collect();
    let found = best_portions(&pourable, &portions, &rows, &priorities, false, time_limit)
        .ok_or(SolveError::NothingFits)?;
    let meq_per_l =
        found.portions.iter().zip(&portions).map(|(n, p)| f64::from(*n) * p.meq_per_l).collect();
    // Misses beyond tolerance are the first stage.
    let proved = found.proofs.first().is_some_and(crate::planner::steps::Proof::proved);
    let solution = Solution { meq_per_l, shares: found.shares, ..Solution::default() };
    Ok(evaluated(salts, &pourable, target, solution, proved))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the range of the type just before"
)]
fn whole(steps: f64) -> u32 {
    steps.floor().clamp(1.0, f64::from(u32::MAX)) as u32
}

pub(crate) fn stated(
    salts: &[DrySalt],
    base: &[BaseShare],
    room: f64,
) -> (PourableColumns, Priorities) {
    let pourable = PourableColumns {
        stocks: salts.iter().map(|s| (s.salt.composition_per_meq(), 0.0)).collect(),
        base: base.iter().map(|b| (b.water.composition * room, b.at_most.value())).collect(),
        ..PourableColumns::default()
    };
    let grams = salts.iter().map(DrySalt::g_per_meq).collect();
    let preference = vec![(grams, vec![0.0; base.len()])];
    (pourable, Priorities { largest_first: false, preference })
}

pub(crate) fn evaluated(
    salts: &[DrySalt],
    pourable: &PourableColumns,
    target: &Target,
    solution: Solution,
    proved: bool,
) -> WeighedOut {
    let g_per_l = solution
        .meq_per_l
        .iter()
        .zip(salts)
        .map(|(meq, salt)| meq * salt.g_per_meq())
        .map(|g| if g < NOTHING_G_PER_L { 0.0 } else { g })
        .collect();
    let water = plan::pour(pourable, &solution);
    let mut rows = Vec::new();
    program::push_rows(target, &mut rows);
    let (mut beyond, mut inside) = (0.0, 0.0);
    for row in &rows {
        let (out, within) = row.costs(water.dot(&row.form));
        beyond += out;
        inside += within;
    }
    let plan = plan::evaluated(pourable, target, solution, water);
    let Plan { shares, water, goals, .. } = plan;
    WeighedOut { g_per_l, shares, water: *water, goals, beyond, inside, proved }
}
