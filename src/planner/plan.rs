//! A flight in, doses and the waters they give out.

use std::cell::RefCell;
use std::time::{Duration, Instant};

use rayon::prelude::*;
use thiserror::Error;

use crate::chemistry::Composition;
use crate::flight::{Band, Convention, Flight, Goal, MissRule, Preference, Subject, Target};
use crate::planner::lp::program::{LimitKind, PourableColumns, Priorities, Row};
use crate::planner::lp::solution::{Solution, SolveError};
use crate::planner::lp::stages::Planner;
use crate::planner::lp::{program, recheck};
use crate::planner::subset::{SetEvaluation, SetValue};
use crate::planner::{subset, threads};
use crate::stock::Stock;
use crate::water::Measure;

/// The answer for one target, per litre of finished water.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Dose of each stock, mL per litre of finished water, in the order of the shelf.
    pub ml_per_l: Vec<f64>,
    /// Share of each base water, in the order of the flight.
    pub shares: Vec<f64>,
    /// The water that results; on the heap, since plans of many targets are moved about.
    pub water: Box<Composition>,
    /// Each goal against what was reached, in the order of the target.
    pub goals: Vec<GoalResult>,
    /// The value of each stage.
    pub stages: StageValues,
    /// The limits of the flight that the doses stand at, when goals are missed.
    pub at_limit: Vec<LimitKind>,
}

/// What became of one goal; native units of its measure, or the ratio itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GoalResult {
    /// What the water has; `None` for a ratio whose denominator is absent.
    pub got: Option<f64>,
    /// Distance from the wanted band: negative below, positive above.
    pub miss: f64,
    /// Whether the miss is within the tolerance.
    pub reached: bool,
}

/// Values of the stages, for comparison with other solvers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StageValues {
    /// The largest weighted miss beyond tolerance, when it was made least first.
    pub largest: Option<f64>,
    /// Weighted misses beyond tolerance.
    pub beyond: f64,
    /// Weighted misses inside tolerance.
    pub inside: f64,
    /// The preference.
    pub preference: Vec<f64>,
}

impl Plan {
    /// Whether every goal is met within its tolerance.
    #[must_use]
    pub fn reached(&self) -> bool {
        self.goals.iter().all(|g| g.reached)
    }

    /// All stocks together, mL per litre as the convention counts it: of finished water, or of the base
    /// water that doses are added to.
    #[must_use]
    pub fn stocks_ml_per_l(&self, convention: Convention) -> f64 {
        self.ml_per_l.iter().sum::<f64>() / self.litres_counted(convention)
    }

    /// What doses are counted on, of each litre of finished water.
    #[must_use]
    pub fn litres_counted(&self, convention: Convention) -> f64 {
        match convention {
            Convention::MadeUpToALitre => 1.0,
            Convention::AddedToALitre => self.shares.iter().sum::<f64>().max(f64::MIN_POSITIVE),
        }
    }

    /// Weighted misses of a target inside its tolerances, in units of miss. The second stage draws a ratio
    /// to its goal from beyond its tolerance as well; that part stands among the misses beyond already.
    #[must_use]
    pub fn misses_inside(&self, target: &Target) -> f64 {
        self.stages.inside - program::drawn_from_beyond(target, &self.water)
    }
}

/// Why a flight has no plan.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("{target}: {source}")]
pub struct PlanError {
    /// Name of the target.
    pub target: String,
    /// What happened.
    pub source: SolveError,
}

/// Flights shorter than this are planned on one core: starting threads would take longer than
/// the planning. Our choice, measured at about 5 µs a target.
const LEAST_FOR_THREADS: usize = 64;
/// Our choice: so many parts of a long flight keep any machine busy, and each goes on from the bases
/// of many waters.
const MOST_PARTS: usize = 64;

/// Plans every target of a flight.
///
/// # Errors
/// The first target that has no confirmed answer.
pub fn plan_flight(flight: &Flight, stocks: &[Stock]) -> Result<Vec<Plan>, PlanError> {
    let plans = plan_each(flight, stocks, &|_| vec![true; stocks.len()]);
    let named = flight.targets.iter().zip(plans);
    named
        .map(|(t, plan)| plan.map_err(|source| PlanError { target: t.name.clone(), source }))
        .collect()
}

/// Plans every target of a flight with the stocks that it may use, each on its own: one without an
/// answer takes nothing from the others.
pub(super) fn plan_each(
    flight: &Flight,
    stocks: &[Stock],
    allowed: &(dyn Fn(usize) -> Vec<bool> + Sync),
) -> Vec<Result<Plan, SolveError>> {
    let pourable = PourableColumns::of(flight, stocks);
    let priorities = priorities_of(flight, &pourable);
    let one = |planner: &mut Planner, rows: &mut Vec<Row>, n: usize, target: &Target| {
        let with =
            |allowed: &[bool]| plan_with(planner, rows, target, &pourable, &priorities, allowed);
        as_preferred(flight.preference, with, &allowed(n))
    };
    let (mut planner, mut rows) = (Planner::default(), Vec::new());
    let targets = flight.targets.iter().enumerate();
    if flight.targets.len() < LEAST_FOR_THREADS {
        return targets.map(|(n, t)| one(&mut planner, &mut rows, n, t)).collect();
    }
    // Each part starts from a planner that knows the matrix of the first target already; an answer
    // or none, it is sought again with the others. The parts are the same on every machine, so that
    // the last digits of an answer do not depend on how many threads there are.
    if let Some(first) = flight.targets.first() {
        let _ = one(&mut planner, &mut rows, 0, first);
    }
    let size = flight.targets.len().div_ceil(MOST_PARTS).max(LEAST_FOR_THREADS);
    let part = |(part, targets): (usize, &[Target])| {
        let (mut planner, mut rows) = (planner.clone(), Vec::new());
        let from = part * size;
        let numbered = targets.iter().enumerate();
        let plans = numbered.map(|(n, target)| one(&mut planner, &mut rows, from + n, target));
        plans.collect::<Vec<_>>()
    };
    let parts = &flight.targets;
    threads::shared(
        || parts.par_chunks(size).enumerate().flat_map_iter(part).collect(),
        || parts.chunks(size).enumerate().flat_map(part).collect(),
    )
}

/// What the flight wants beyond the misses.
#[must_use]
pub fn priorities_of(flight: &Flight, pourable: &PourableColumns) -> Priorities {
    Priorities {
        largest_first: flight.misses == MissRule::Largest,
        preference: pourable.preference_costs(flight.preference),
    }
}

fn plan_target(
    planner: &mut Planner,
    rows: &mut Vec<Row>,
    target: &Target,
    pourable: &PourableColumns,
    priorities: &Priorities,
) -> Result<Plan, SolveError> {
    rows.clear();
    program::push_rows(target, rows);
    let solution = solved(planner, pourable, rows, priorities)?;
    let water = pour(pourable, &solution);
    recheck::misses(&water, rows, &solution)?;
    Ok(evaluated(pourable, target, solution, water))
}

/// Our choice: less base water than this part of a litre is none.
const NO_BASE: f64 = 1e-9;

/// The best doses for these rows, with base water to add them to where they are added.
pub(super) fn solved(
    planner: &mut Planner,
    pourable: &PourableColumns,
    rows: &[Row],
    priorities: &Priorities,
) -> Result<Solution, SolveError> {
    let solution = planner.solve(pourable, rows, priorities)?;
    let base: f64 = solution.shares.iter().sum();
    if pourable.convention == Convention::AddedToALitre && base < NO_BASE {
        return Err(SolveError::StocksAlone);
    }
    Ok(solution)
}

/// Plans a target with some of the stocks only; doses of the others are 0.
pub(super) fn plan_with(
    planner: &mut Planner,
    rows: &mut Vec<Row>,
    target: &Target,
    pourable: &PourableColumns,
    priorities: &Priorities,
    allowed: &[bool],
) -> Result<Plan, SolveError> {
    planner.allow(allowed);
    let plan = plan_target(planner, rows, target, pourable, priorities);
    planner.allow(&[]);
    plan
}

/// A target with the stocks that it may use: all of them, or the fewest where these are preferred.
pub(super) fn as_preferred(
    preference: Preference,
    mut one: impl FnMut(&[bool]) -> Result<Plan, SolveError>,
    allowed: &[bool],
) -> Result<Plan, SolveError> {
    match preference {
        Preference::FewestStocks => with_fewest(one, allowed),
        _ => one(allowed),
    }
}

/// The fewest of the allowed stocks that miss as little as all of them, beyond tolerance and
/// inside; of several such sets the one with the best later stages.
fn with_fewest(
    mut one: impl FnMut(&[bool]) -> Result<Plan, SolveError>,
    allowed: &[bool],
) -> Result<Plan, SolveError> {
    /// Our choice: misses larger by a millionth of a unit of miss are as small.
    const AS_SMALL: f64 = 1e-6;
    /// Our choice: longer than this no person waits for one water.
    const TIME_LIMIT: Duration = Duration::from_secs(1);
    let deadline = Instant::now() + TIME_LIMIT;
    let time_is_up = || Instant::now() >= deadline;
    let whole = one(allowed)?;
    let as_small = |value: f64, best: f64| value <= best + AS_SMALL * best.max(1.0);
    let same = |plan: &Plan| {
        let (new, old) = (&plan.stages, &whole.stages);
        as_small(new.largest.unwrap_or_default(), old.largest.unwrap_or_default())
            && as_small(new.beyond, old.beyond)
            && as_small(new.inside, old.inside)
    };
    let within = |members: &[bool]| -> Vec<bool> {
        members.iter().zip(allowed).map(|(m, a)| *m && *a).collect()
    };
    let none = vec![false; allowed.len()];
    let fewest = subset::fewest(&none, |m| one(&within(m)).is_ok_and(|p| same(&p)), &time_is_up);
    // Of as few stocks the best later stages; a set that misses more is of no use.
    let mut set_value = |members: &[bool]| match one(&within(members)) {
        Ok(plan) if same(&plan) => [vec![0.0], plan.stages.preference].concat(),
        _ => vec![1.0],
    };
    let most = subset::size(&fewest.members);
    let members = {
        let set_value = RefCell::new(&mut set_value);
        let evaluation = SetEvaluation {
            bound: &mut |m| (set_value.borrow_mut())(m),
            set_value: &mut |m| SetValue { values: (set_value.borrow_mut())(m), proved: true },
            even: AS_SMALL,
        };
        let best = subset::best_of_size(&none, most, evaluation, &time_is_up);
        if best.proved { best.members } else { fewest.members.clone() }
    };
    match one(&within(&members)) {
        Ok(plan) if same(&plan) => Ok(plan),
        _ => one(&within(&fewest.members)),
    }
}

/// A solution as a plan, its goals assessed by the water it gives.
pub(crate) fn evaluated(
    pourable: &PourableColumns,
    target: &Target,
    solution: Solution,
    water: Box<Composition>,
) -> Plan {
    let goals: Vec<GoalResult> =
        target.goals.iter().map(|goal| assess_goal(goal, &water)).collect();
    let mut ml_per_l = solution.meq_per_l;
    for (dose, (_, ml_per_meq)) in ml_per_l.iter_mut().zip(&pourable.stocks) {
        *dose *= ml_per_meq;
    }
    let at_limit = if goals.iter().all(|g| g.reached) {
        Vec::new()
    } else {
        at_limit(pourable, ml_per_l.iter().sum(), solution.shares.iter().sum(), &water)
    };
    Plan {
        at_limit,
        ml_per_l,
        shares: solution.shares,
        water,
        goals,
        stages: StageValues {
            largest: solution.largest,
            beyond: solution.beyond,
            inside: solution.inside,
            preference: solution.preference,
        },
    }
}

/// The limits that a water stands at.
fn at_limit(
    pourable: &PourableColumns,
    stocks_ml: f64,
    base: f64,
    water: &Composition,
) -> Vec<LimitKind> {
    /// Our choice: nearer to a limit than this part of it is at the limit.
    const NEAR: f64 = 1e-6;
    let per_litre = match pourable.convention {
        Convention::MadeUpToALitre => 1.0,
        Convention::AddedToALitre => base,
    };
    let mut kept = Vec::new();
    if stocks_ml >= (1.0 - NEAR) * pourable.limits.stocks_ml_per_l * per_litre {
        kept.push(LimitKind::Stocks);
    }
    let solids = Measure::DissolvedSolids.of(water);
    if solids >= (1.0 - NEAR) * pourable.limits.dissolved_solids_mg_per_l
        && solids >= (1.0 - NEAR) * pourable.most_solids()
    {
        kept.push(LimitKind::DissolvedSolids);
    }
    kept
}

/// The water that doses and shares give, by mixing and nothing else, where its plan keeps it.
#[must_use]
pub fn pour(pourable: &PourableColumns, solution: &Solution) -> Box<Composition> {
    let mut water = Box::new(Composition::PURE_WATER);
    for ((per_meq, _), meq) in pourable.stocks.iter().zip(&solution.meq_per_l) {
        if *meq > 0.0 {
            water.add_times(per_meq, *meq);
        }
    }
    for ((per_litre, _), share) in pourable.base.iter().zip(&solution.shares) {
        if *share > 0.0 {
            water.add_times(per_litre, *share);
        }
    }
    water
}

/// One goal against a water.
pub(crate) fn assess_goal(goal: &Goal, water: &Composition) -> GoalResult {
    /// Our choice: a miss beyond tolerance by less than this, relative to the goal, is rounding.
    const ROUNDING: f64 = 1e-7;
    /// Our choice: of a miss that is smaller, relative to the goal, the arithmetic is the cause.
    const NOISE: f64 = 1e-12;
    let forgiven = goal.tolerance + ROUNDING * goal.band.size().max(goal.miss_unit);
    let got = match goal.subject {
        Subject::Measure(measure) => measure.of(water),
        Subject::Ratio { of, to, of_factor, to_factor } => {
            let numerator = of.of(water) * of_factor;
            let denominator = to.of(water) * to_factor;
            if denominator <= ROUNDING {
                // Nothing to divide by: only "at least" can be met by a numerator that is there.
                let met = numerator <= ROUNDING || matches!(goal.band, Band::AtLeast(_));
                return GoalResult { got: None, miss: 0.0, reached: met };
            }
            numerator / denominator
        }
    };
    let miss = goal.band.miss(got);
    let is_noise = miss.abs() <= NOISE * goal.band.size().max(goal.miss_unit);
    let miss = if is_noise { 0.0 } else { miss };
    GoalResult { got: Some(got), miss, reached: miss.abs() <= forgiven }
}
