//! Doses that a dispenser can deliver, for one water.

use std::time::{Duration, Instant};

use crate::flight::{Dispenser, Flight, Preference, StockRule, Target};
use crate::planner::lp::program;
use crate::planner::lp::program::{Deviations, PourableColumns, Priorities, Row};
use crate::planner::lp::recheck;
use crate::planner::lp::solution::{Solution, SolveError};
use crate::planner::lp::stages::Planner;
use crate::planner::steps::portions::{Portion, Stage, Statement};
use crate::planner::steps::{Proof, ballast, branch_and_bound};
use crate::planner::{Plan, plan};
use crate::stock::Stock;

/// Our choice: a water is searched for no longer than this; what is then not proved is said.
pub const TIME_LIMIT: Duration = Duration::from_secs(1);

/// Our choice: a dose that is smaller is nothing at all.
const NEGLIGIBLE_ML: f64 = 1e-6;

/// A water made with a dispenser.
#[derive(Debug, Clone, PartialEq)]
pub struct Delivered {
    /// The doses and what they give.
    pub plan: Plan,
    /// Steps of the dispenser for each stock, per bottle, in the order of the shelf.
    pub steps: Vec<u32>,
    /// Value and proved bound of each stage.
    pub proofs: Vec<Proof>,
    /// The same water without steps: what the dispenser costs.
    pub continuous: Plan,
    /// Stocks that the continuous water takes less of than the dispenser delivers.
    pub too_small: Vec<Dilution>,
    /// Nodes of the search.
    pub nodes: usize,
    /// Whether time ended the search.
    pub out_of_time: bool,
}

impl Delivered {
    /// Whether every stage is proved to be optimal.
    #[must_use]
    pub fn proved(&self) -> bool {
        self.proofs.iter().all(Proof::proved)
    }
}

/// A weaker bottle of a stock, so that a small dose can be delivered.
#[derive(Debug, Clone, PartialEq)]
pub struct Dilution {
    /// Number of the stock on the shelf.
    pub stock: usize,
    /// The dose that is too small, mL per bottle.
    pub ml_per_bottle: f64,
    /// The least that the dispenser delivers, mL.
    pub least_ml: f64,
    /// One part of stock to this many parts of diluted stock, by volume.
    pub fold: u32,
    /// The dose of the diluted stock, mL per bottle.
    pub diluted_ml_per_bottle: f64,
}

/// The portions of a shelf with a dispenser.
#[must_use]
pub fn portions(
    flight: &Flight,
    stocks: &[Stock],
    dispenser: &Dispenser,
    rule: &StockRule,
) -> Vec<Portion> {
    let named = |list: &[String], stock: &Stock| list.iter().any(|name| name == stock.name());
    stocks
        .iter()
        .map(|stock| {
            let density = stock.density().value.value();
            let step = dispenser.ml_per_step(density);
            let out = named(&rule.without, stock);
            Portion {
                meq_per_l: stock.meq_per_ml().value() * step / flight.bottle.value(),
                least: dispenser.least_steps(),
                most: if out { 0 } else { dispenser.most_steps(density, flight.bottle) },
                required: !out && named(&rule.with, stock),
            }
        })
        .collect()
}

/// The best water of one target that a dispenser can deliver.
///
/// # Errors
/// As [`plan::plan_flight`], and when no doses fit.
pub fn deliver_target(
    flight: &Flight,
    stocks: &[Stock],
    target: &Target,
    dispenser: &Dispenser,
    rule: &StockRule,
    time_limit: Duration,
) -> Result<Delivered, SolveError> {
    let portions = portions(flight, stocks, dispenser, rule);
    deliver_portions(flight, stocks, target, dispenser, &portions, time_limit)
}

/// Whole steps that a volume holds.
#[must_use]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the range of the type just before"
)]
pub(crate) fn steps_within(ml: f64, step_ml: f64) -> u32 {
    /// Our choice: a volume holds a step that it misses by this share of it.
    const ROUNDING: f64 = 1e-6;
    (ml / step_ml + ROUNDING).floor().clamp(0.0, f64::from(u32::MAX)) as u32
}

/// Steps that hold a dose, the last of them in part; none for none.
fn steps_for(ml: f64, dispenser: &Dispenser, stock: &Stock) -> u32 {
    if ml <= NEGLIGIBLE_ML {
        return 0;
    }
    let step = dispenser.ml_per_step(stock.density().value.value());
    steps_within(ml + step, step).max(dispenser.least_steps())
}

/// The same with portions that are already known.
pub(crate) fn deliver_portions(
    flight: &Flight,
    stocks: &[Stock],
    target: &Target,
    dispenser: &Dispenser,
    portions: &[Portion],
    time_limit: Duration,
) -> Result<Delivered, SolveError> {
    let pourable = PourableColumns::of(flight, stocks);
    let priorities = plan::priorities_of(flight, &pourable);
    let mut rows = Vec::new();
    program::push_rows(target, &mut rows);
    let allowed: Vec<bool> = portions.iter().map(|p| p.most > 0).collect();
    let continuous = plan::plan_with(
        &mut Planner::default(),
        &mut rows,
        target,
        &pourable,
        &priorities,
        &allowed,
    )?;
    let counting = flight.preference == Preference::FewestStocks;
    let statement = state(&pourable, portions, &rows, &priorities, counting);
    let found = branch_and_bound::search(&statement, Instant::now() + time_limit)
        .ok_or(SolveError::NothingFits)?;
    let bottle_ml = |ml_per_l: f64| {
        ml_per_l / continuous.litres_counted(flight.convention) * flight.bottle.value()
    };
    let needed: Vec<u32> = stocks
        .iter()
        .zip(&continuous.ml_per_l)
        .map(|(stock, ml)| steps_for(bottle_ml(*ml), dispenser, stock))
        .collect();
    let taken = &found.choice.portions;
    let without = ballast::without(&pourable, &target.goals, portions, taken, &needed)
        .and_then(|portions| {
            let statement = state(&pourable, &portions, &rows, &priorities, counting);
            branch_and_bound::search(&statement, Instant::now() + time_limit)
        })
        .filter(|without| ballast::misses_no_more(&found.proofs, &without.proofs));
    let found = without.unwrap_or(found);
    let choice = found.choice;
    // Doses that come on top of a litre are given per litre of finished water from here on.
    let finished = statement.finished_litres(&choice.portions);
    let meq: Vec<f64> = choice
        .portions
        .iter()
        .zip(portions)
        .map(|(n, p)| f64::from(*n) * p.meq_per_l / finished)
        .collect();
    let shares: Vec<f64> = choice.shares.iter().map(|y| y / finished).collect();
    let plan = evaluated(&pourable, &rows, target, &priorities, meq, shares)?;
    let too_small = stocks
        .iter()
        .zip(&continuous.ml_per_l)
        .enumerate()
        .filter_map(|(j, (stock, ml))| {
            let step = dispenser.ml_per_step(stock.density().value.value());
            dilution(j, bottle_ml(*ml), step, dispenser.least_steps())
        })
        .collect();
    Ok(Delivered {
        plan,
        steps: choice.portions,
        proofs: found.proofs,
        continuous,
        too_small,
        nodes: found.nodes,
        out_of_time: found.out_of_time,
    })
}

/// Whether the least of what must be in a water fits into the bottle and its limits.
pub(crate) fn least_fits(pourable: &PourableColumns, portions: &[Portion]) -> bool {
    let statement = Statement::new(pourable, portions, &[], &[], vec![Stage::Beyond]);
    branch_and_bound::search(&statement, Instant::now()).is_some()
}

/// The least misses that portions reach, stage by stage; `None` when nothing fits.
pub(crate) fn misses_of_portions(
    pourable: &PourableColumns,
    portions: &[Portion],
    rows: &[Row],
    priorities: &Priorities,
    time_limit: Duration,
) -> Option<Vec<Proof>> {
    let stages = Stage::of_misses(priorities.largest_first);
    let statement = Statement::new(pourable, portions, rows, &[], stages);
    branch_and_bound::search(&statement, Instant::now() + time_limit).map(|found| found.proofs)
}

/// Whole portions for rows as they stand, with the proof of each stage in the order: largest
/// miss (on request), beyond, inside, number of stocks (on request), preference.
#[derive(Debug, Clone, PartialEq)]
pub struct Portioned {
    /// Portions of each stock.
    pub portions: Vec<u32>,
    /// Share of each base water in the litre as it is poured.
    pub shares: Vec<f64>,
    /// Value and proved bound of each stage.
    pub proofs: Vec<Proof>,
    /// Nodes of the search.
    pub nodes: usize,
}

/// The best whole portions for rows as they stand: what [`deliver_target`] rests on, open to
/// tests and benchmarks. `None` when nothing fits into the litre.
#[must_use]
pub fn best_portions(
    pourable: &PourableColumns,
    portions: &[Portion],
    rows: &[Row],
    priorities: &Priorities,
    counting: bool,
    time_limit: Duration,
) -> Option<Portioned> {
    let statement = state(pourable, portions, rows, priorities, counting);
    branch_and_bound::search(&statement, Instant::now() + time_limit).map(|found| Portioned {
        portions: found.choice.portions,
        shares: found.choice.shares,
        proofs: found.proofs,
        nodes: found.nodes,
    })
}

/// The statement of a water with its stages.
pub(crate) fn state(
    pourable: &PourableColumns,
    portions: &[Portion],
    rows: &[Row],
    priorities: &Priorities,
    counting: bool,
) -> Statement {
    let mut stages = Stage::of_misses(priorities.largest_first);
    if counting {
        stages.push(Stage::Count);
    }
    stages.extend((0..priorities.preference.len()).map(Stage::Linear));
    Statement::new(pourable, portions, rows, &priorities.preference, stages)
}

/// The plan of given doses, every number worked out from the doses alone.
fn evaluated(
    pourable: &PourableColumns,
    rows: &[Row],
    target: &Target,
    priorities: &Priorities,
    meq_per_l: Vec<f64>,
    shares: Vec<f64>,
) -> Result<Plan, SolveError> {
    let mut solution = Solution { meq_per_l, shares, ..Solution::default() };
    let water = plan::pour(pourable, &solution);
    let Deviations { largest, beyond, inside } =
        Deviations::of(rows.iter().map(|row| (row, water.dot(&row.form))));
    solution.largest = priorities.largest_first.then_some(largest);
    solution.beyond = beyond;
    solution.inside = inside;
    let cost = |costs: &[f64], of: &[f64]| costs.iter().zip(of).map(|(c, v)| c * v).sum::<f64>();
    solution.preference = priorities
        .preference
        .iter()
        .map(|(s, b)| cost(s, &solution.meq_per_l) + cost(b, &solution.shares))
        .collect();
    recheck::filled(pourable, &solution)?;
    Ok(plan::evaluated(pourable, target, solution, water))
}

/// The weaker bottle that makes a dose deliverable; `None` when the dose is nothing or large
/// enough already.
///
/// ```
/// use waterflight::planner::steps::deliver::dilution;
/// // 0.12 mL wanted, 0.5 mL deliverable in steps of 0.1: tenfold gives 1.2 mL
/// let weaker = dilution(0, 0.12, 0.1, 5).unwrap();
/// assert_eq!(weaker.fold, 10);
/// assert!((weaker.diluted_ml_per_bottle - 1.2).abs() < 1e-12);
/// assert_eq!(dilution(0, 0.8, 0.1, 5), None);
/// ```
#[must_use]
pub fn dilution(
    stock: usize,
    ml_per_bottle: f64,
    step_ml: f64,
    least_steps: u32,
) -> Option<Dilution> {
    /// Our choice: the folds that are made with a flask and one pipette.
    const FOLDS: [u32; 5] = [5, 10, 20, 50, 100];
    /// Our choice: ten steps, so that one step is no more than a tenth of the dose.
    const STEPS: f64 = 10.0;
    let least_ml = f64::from(least_steps) * step_ml;
    if ml_per_bottle <= NEGLIGIBLE_ML || ml_per_bottle >= least_ml {
        return None;
    }
    let wanted = least_ml.max(STEPS * step_ml) / ml_per_bottle;
    let fold = FOLDS.into_iter().find(|f| f64::from(*f) >= wanted).unwrap_or(100);
    let diluted = ml_per_bottle * f64::from(fold);
    (diluted >= least_ml).then_some(Dilution {
        stock,
        ml_per_bottle,
        least_ml,
        fold,
        diluted_ml_per_bottle: diluted,
    })
}
