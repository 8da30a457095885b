//! A flight planned as a whole: with a dispenser, with few stocks, with what is left in them.
//!
//! Above 400 lines: the order in which one flight is planned.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use rayon::prelude::*;

use crate::flight::{Dispenser, Flight, Order, StockRule, StockSet};
use crate::planner::lp::program::{PourableColumns, Priorities, Row};
use crate::planner::lp::solution::SolveError;
use crate::planner::lp::{program, recheck};
use crate::planner::steps::portions::Portion;
use crate::planner::steps::{Delivered, deliver};
use crate::planner::subset::{Chosen, Members};
use crate::planner::whole_flight::joint::JointProgram;
use crate::planner::whole_flight::{Watch, joint};
use crate::planner::{Plan, PlanError, plan, threads};
use crate::stock::Stock;

/// A flight planned as a whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Ordered {
    /// One plan for each target that has an answer, in the order of the flight.
    pub plans: Vec<Plan>,
    /// The same with a dispenser, when there is one: steps, proofs, what the steps cost.
    pub delivered: Vec<Delivered>,
    /// The stocks that the flight opens, when their number was limited.
    pub chosen: Option<Chosen>,
    /// What the limits on the stocks left changed.
    pub left: Option<LeftOver>,
    /// The targets without an answer, by their place in the flight.
    pub unanswered: Vec<Unanswered>,
}

impl Ordered {
    /// The places of the targets that the plans belong to, of so many targets.
    #[must_use]
    pub fn answered(&self, targets: usize) -> Vec<usize> {
        (0..targets).filter(|n| self.unanswered.iter().all(|u| u.target != *n)).collect()
    }
}

/// A target without an answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Unanswered {
    /// Its place in the flight.
    pub target: usize,
    /// Why.
    pub source: SolveError,
}

/// What is left in the bottles against what the flight takes.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOver {
    /// Whether the limits forced other doses than each water alone would have.
    pub binding: bool,
    /// Whether the doses are proved to be the best within the limits.
    pub proved: bool,
    /// Where doses changed: the misses beyond tolerance of the whole flight, and what no doses within what
    /// is left can better.
    pub beyond: Option<[f64; 2]>,
}

/// Our choice: nobody waits longer than this for a flight with few stocks, steps and all.
const ANSWER_WITHIN: Duration = Duration::from_secs(5);

/// Our choice: the search for a set of stocks ends after this; what is then not proved is said.
pub const SET_TIME_LIMIT: Duration = Duration::from_millis(3500);

/// Our choice: a water in steps is searched for this long at least.
const LEAST_FOR_STEPS: Duration = Duration::from_millis(100);

/// What stays the same for all targets.
pub(crate) struct FlightContext<'a> {
    pub(crate) flight: &'a Flight,
    pub(crate) stocks: &'a [Stock],
    pub(crate) order: &'a Order,
    pub(crate) pourable: PourableColumns,
    pub(crate) priorities: Priorities,
    pub(crate) time_limit: Duration,
    begun: Instant,
    /// When the search for a set of stocks ends.
    pub(crate) deadline: Instant,
    pub(crate) watch: Watch<'a>,
}

/// Plans a flight as its order asks.
///
/// # Errors
/// When the targets hang together and have no confirmed answer. A target that has none for itself
/// is named in [`Ordered::unanswered`], and the others are planned.
pub fn plan_order(
    flight: &Flight,
    stocks: &[Stock],
    order: &Order,
    time_limit: Duration,
) -> Result<Ordered, PlanError> {
    plan_order_watched(flight, stocks, order, time_limit, Watch::default())
}

/// The same while someone waits for it.
///
/// # Errors
/// As [`plan_order`], and [`SolveError::Cancelled`] when a search was stopped that has no answer
/// before its end.
pub fn plan_order_watched(
    flight: &Flight,
    stocks: &[Stock],
    order: &Order,
    time_limit: Duration,
    watch: Watch<'_>,
) -> Result<Ordered, PlanError> {
    let flight = &*order.with_least_of_each(flight);
    let all = FlightContext::new(flight, stocks, order, time_limit, watch);
    let everything = vec![true; stocks.len()];
    let alone = plan::plan_each(flight, stocks, &|n| all.allowed(n, &everything));
    let mut unanswered = Vec::new();
    let mut plans = Vec::new();
    for (target, plan) in alone.into_iter().enumerate() {
        match plan {
            Ok(_) if !all.fits(target) => {
                unanswered.push(Unanswered { target, source: SolveError::NothingFits });
            }
            Ok(plan) => plans.push((target, plan)),
            Err(source) => unanswered.push(Unanswered { target, source }),
        }
    }
    // The others go on without those that have no answer.
    let mut some = Flight { targets: Vec::new(), ..flight.clone() };
    let mut rules = Vec::new();
    for (target, _) in &plans {
        some.targets.extend(flight.targets.get(*target).cloned());
        rules.push(order.rule(*target));
    }
    let some_order = Order { rules, ..order.clone() };
    let context = FlightContext::new(&some, stocks, &some_order, time_limit, watch);
    let places: Vec<usize> = plans.iter().map(|(target, _)| *target).collect();
    let plans = plans.into_iter().map(|(_, plan)| plan).collect();
    let mut ordered = context.ordered(plans)?;
    // Places in the part of the flight that was planned as places in the whole of it.
    for one in &mut ordered.unanswered {
        one.target = places.get(one.target).copied().unwrap_or(one.target);
    }
    ordered.unanswered.extend(unanswered);
    ordered.unanswered.sort_by_key(|u| u.target);
    Ok(ordered)
}

impl<'a> FlightContext<'a> {
    fn new(
        flight: &'a Flight,
        stocks: &'a [Stock],
        order: &'a Order,
        time_limit: Duration,
        watch: Watch<'a>,
    ) -> Self {
        let pourable = PourableColumns::of(flight, stocks);
        let priorities = plan::priorities_of(flight, &pourable);
        let begun = Instant::now();
        let deadline = begun + SET_TIME_LIMIT;
        Self { flight, stocks, order, pourable, priorities, time_limit, begun, deadline, watch }
    }

    /// Everything that the order asks, on top of what each water is alone.
    fn ordered(&self, alone: Vec<Plan>) -> Result<Ordered, PlanError> {
        let chosen = self.choose()?;
        let everything = vec![true; self.stocks.len()];
        let members = chosen.as_ref().map_or(&everything, |c| &c.members);
        let mut plans = alone;
        if chosen.is_some() {
            let again = plan::plan_each(self.flight, self.stocks, &|n| self.allowed(n, members));
            plans = again
                .into_iter()
                .enumerate()
                .map(|(n, plan)| plan.map_err(self.failed(n)))
                .collect::<Result<Vec<_>, _>>()?;
        }
        let limits = self.limits();
        let mut delivered = self.deliver(members, &plans, &[])?;
        let mut left = None;
        // Which waters have doses when what is left is not shared.
        let mut could_be: Vec<bool> = Vec::new();
        if !limits.is_empty() {
            let steps: Vec<Plan> = delivered.iter().flatten().map(|d| d.plan.clone()).collect();
            // Each water by itself is the best there is, and it is all within what is left.
            let free = if self.order.dispenser.is_some() { &steps } else { &plans };
            let binding = !self.within(free, &limits);
            let (mut proved, mut beyond) = (true, None);
            if binding {
                let bound;
                (plans, proved, bound) = self.plan_jointly(&limits, members)?;
                if self.order.dispenser.is_some() {
                    proved = false;
                    could_be = delivered.iter().map(Option::is_some).collect();
                    delivered = self.deliver(members, &plans, &limits)?;
                }
                let made = delivered.iter().flatten().map(|water| &water.plan);
                let made: Vec<&Plan> =
                    if delivered.is_empty() { plans.iter().collect() } else { made.collect() };
                // Where a water is missing the sum is not one of the flight.
                beyond = (made.len() == self.flight.targets.len())
                    .then(|| [made.iter().map(|plan| plan.stages.beyond).sum(), bound]);
            }
            left = Some(LeftOver { binding, proved, beyond });
        }
        let mut unanswered = Vec::new();
        if self.order.dispenser.is_some() {
            plans.clear();
            for (target, water) in delivered.iter().enumerate() {
                if let Some(water) = water {
                    plans.push(water.plan.clone());
                    continue;
                }
                let shared = could_be.get(target).copied().unwrap_or_default();
                let source = if shared { SolveError::NothingLeft } else { SolveError::NothingFits };
                unanswered.push(Unanswered { target, source });
            }
        }
        let delivered = delivered.into_iter().flatten().collect();
        Ok(Ordered { plans, delivered, chosen, left, unanswered })
    }

    /// Whether the search for a set of stocks is to end.
    pub(crate) fn time_is_up(&self) -> bool {
        let part = self.begun.elapsed().as_secs_f64() / SET_TIME_LIMIT.as_secs_f64();
        part >= 1.0 || !self.watch.go_on("a set of stocks", 0, part)
    }

    /// Whether what a water must have of its stocks fits into the bottle.
    fn fits(&self, target: usize) -> bool {
        let Some(dispenser) = &self.order.dispenser else { return true };
        let portions =
            deliver::portions(self.flight, self.stocks, dispenser, &self.order.rule(target));
        deliver::least_fits(&self.pourable, &portions)
    }

    pub(crate) fn failed(&self, target: usize) -> impl Fn(SolveError) -> PlanError + '_ {
        move |source| PlanError {
            target: self.flight.targets.get(target).map(|t| t.name.clone()).unwrap_or_default(),
            source,
        }
    }

    /// The members that a target may use.
    pub(crate) fn allowed(&self, target: usize, members: &[bool]) -> Members {
        self.stocks
            .iter()
            .zip(members)
            .map(|(stock, member)| *member && self.order.allows(target, stock.name()))
            .collect()
    }

    pub(crate) fn rows(&self, target: usize) -> Vec<Row> {
        let mut rows = Vec::new();
        if let Some(target) = self.flight.targets.get(target) {
            program::push_rows(target, &mut rows);
        }
        rows
    }

    /// The rule of a target, the stocks outside of the set shut out.
    pub(crate) fn rule(&self, target: usize, members: &[bool]) -> StockRule {
        let mut rule = self.order.rule(target);
        if self.order.stock_set == StockSet::Same {
            let inside = self.stocks.iter().zip(members).filter(|(_, m)| **m);
            rule.with.extend(inside.map(|(s, _)| s.name().to_owned()));
        }
        let outside = self.stocks.iter().zip(members).filter(|(_, m)| !**m);
        rule.without.extend(outside.map(|(s, _)| s.name().to_owned()));
        rule
    }

    /// Stocks with the mL left in them for one bottle of each water.
    fn limits(&self) -> Vec<(usize, f64)> {
        let place = |name: &str| self.stocks.iter().position(|s| s.name() == name);
        self.order
            .left
            .iter()
            .filter_map(|(name, ml)| {
                place(name).map(|j| (j, ml.value() / self.order.bottles_of_each()))
            })
            .collect()
    }

    /// Finished litres in one bottle of a plan.
    fn litres(&self, plan: &Plan) -> f64 {
        self.flight.bottle.value() / plan.litres_counted(self.flight.convention)
    }

    fn taken(&self, plans: &[Plan], stock: usize) -> f64 {
        plans
            .iter()
            .map(|p| p.ml_per_l.get(stock).copied().unwrap_or_default() * self.litres(p))
            .sum()
    }

    fn within(&self, plans: &[Plan], limits: &[(usize, f64)]) -> bool {
        /// Our choice: a millionth of a millilitre is rounding.
        const ROUNDING_ML: f64 = 1e-6;
        limits.iter().all(|(j, ml)| self.taken(plans, *j) <= ml + ROUNDING_ML)
    }

    /// All targets at once within what is left.
    fn plan_jointly(
        &self,
        limits: &[(usize, f64)],
        members: &[bool],
    ) -> Result<(Vec<Plan>, bool, f64), PlanError> {
        let targets = 0..self.flight.targets.len();
        let asked = JointProgram {
            rows: targets.clone().map(|t| self.rows(t)).collect(),
            allowed: targets.clone().map(|t| self.allowed(t, members)).collect(),
            bottle: self.flight.bottle.value(),
            left: limits.to_vec(),
        };
        let doses = joint::plan_together(&self.pourable, &asked, &self.priorities, &self.watch)
            .map_err(self.failed(0))?;
        let mut plans = Vec::new();
        for (n, (target, solution)) in self.flight.targets.iter().zip(doses.solutions).enumerate() {
            let water = plan::pour(&self.pourable, &solution);
            recheck::filled(&self.pourable, &solution).map_err(self.failed(n))?;
            plans.push(plan::evaluated(&self.pourable, target, solution, water));
        }
        let stage = usize::from(self.priorities.largest_first);
        // Behind a largest miss that is made least first the sum has no bound of its own.
        let bound = doses.stages.get(stage).filter(|_| stage == 0).map_or(0.0, |[_, bound]| *bound);
        Ok((plans, doses.proved, bound.max(0.0)))
    }

    /// Every target in steps; none where nothing fits. With limits each target leaves to the later
    /// ones what their continuous doses need.
    fn deliver(
        &self,
        members: &[bool],
        plans: &[Plan],
        limits: &[(usize, f64)],
    ) -> Result<Vec<Option<Delivered>>, PlanError> {
        let Some(dispenser) = &self.order.dispenser else { return Ok(Vec::new()) };
        let count = self.flight.targets.len();
        if limits.is_empty() {
            let done = AtomicUsize::new(0);
            let all: Vec<usize> = (0..count).collect();
            let one = |n: &usize| {
                let portions = self.portions(dispenser, *n, members);
                let water = self.deliver_one(dispenser, *n, &portions);
                self.tell(done.fetch_add(1, Ordering::Relaxed) + 1);
                water
            };
            return threads::shared(
                || all.par_iter().map(one).collect(),
                || all.iter().map(one).collect(),
            );
        }
        let forwards_turns: Vec<usize> = (0..count).collect();
        // What comes first takes what the rest can spare: both ways round, the better one counts.
        let forwards =
            self.deliver_in_turn(dispenser, &forwards_turns, (members, plans), limits)?;
        if count < 2 || self.watch.stopped() {
            return Ok(forwards);
        }
        let backwards: Vec<usize> = forwards_turns.iter().rev().copied().collect();
        let backwards = self.deliver_in_turn(dispenser, &backwards, (members, plans), limits)?;
        let worth = |waters: &[Option<Delivered>]| {
            let sum = |of: fn(&Plan) -> f64| -> f64 {
                waters.iter().flatten().map(|water| of(&water.plan)).sum()
            };
            let missing = waters.iter().filter(|water| water.is_none()).count();
            (missing, sum(|plan| plan.stages.beyond), sum(|plan| plan.stages.inside))
        };
        let better = worth(&backwards) < worth(&forwards);
        Ok(if better { backwards } else { forwards })
    }

    /// The targets in steps, one after the other in this order.
    fn deliver_in_turn(
        &self,
        dispenser: &Dispenser,
        turns: &[usize],
        (members, plans): (&[bool], &[Plan]),
        limits: &[(usize, f64)],
    ) -> Result<Vec<Option<Delivered>>, PlanError> {
        let mut delivered: Vec<Option<Delivered>> = vec![None; turns.len()];
        for (turn, n) in turns.iter().enumerate() {
            let mut portions = self.portions(dispenser, *n, members);
            let done: Vec<Plan> = delivered.iter().flatten().map(|d| d.plan.clone()).collect();
            for (j, ml) in limits {
                let Some(stock) = self.stocks.get(*j) else { continue };
                let step = dispenser.ml_per_step(stock.density().value.value());
                // What must be in a later water is kept for it, needed for its goals or not.
                let needed = |later: &usize| {
                    let continuous = plans
                        .get(*later)
                        .map_or(0.0, |plan| self.taken(std::slice::from_ref(plan), *j));
                    let portions = self.portions(dispenser, *later, members);
                    let required = portions.get(*j).filter(|portion| portion.required);
                    continuous.max(required.map_or(0.0, |p| f64::from(p.least) * step))
                };
                let later: f64 = turns.iter().skip(turn + 1).map(needed).sum();
                let free = ml - self.taken(&done, *j) - later;
                if let Some(portion) = portions.get_mut(*j) {
                    portion.most = portion.most.min(deliver::steps_within(free, step));
                }
            }
            if let Some(water) = delivered.get_mut(*n) {
                *water = self.deliver_one(dispenser, *n, &portions)?;
            }
            self.tell(turn + 1);
        }
        Ok(delivered)
    }

    /// Tells how many waters in steps are done.
    fn tell(&self, done: usize) {
        #[expect(clippy::cast_precision_loss, reason = "a part of the whole, to be shown")]
        let part = done as f64 / self.flight.targets.len().max(1) as f64;
        self.watch.go_on("doses in steps", 0, part);
    }

    fn portions(&self, dispenser: &Dispenser, target: usize, members: &[bool]) -> Vec<Portion> {
        let rule = self.rule(target, members);
        deliver::portions(self.flight, self.stocks, dispenser, &rule)
    }

    /// How long one water in steps may take: after a search for stocks the waters share what is left
    /// of the time.
    fn limit_of_steps(&self) -> Duration {
        if self.order.stock_set == StockSet::Any {
            return self.time_limit;
        }
        let left = ANSWER_WITHIN.saturating_sub(self.begun.elapsed());
        let waters = u32::try_from(self.flight.targets.len()).unwrap_or(u32::MAX).max(1);
        let threads = u32::try_from(rayon::current_num_threads()).unwrap_or(1);
        self.time_limit.min((left * threads / waters).max(LEAST_FOR_STEPS))
    }

    fn deliver_one(
        &self,
        dispenser: &Dispenser,
        target: usize,
        portions: &[Portion],
    ) -> Result<Option<Delivered>, PlanError> {
        let Some(wanted) = self.flight.targets.get(target) else { return Ok(None) };
        // Stopped from outside, the rest has what is found at once.
        let time_limit = if self.watch.stopped() { Duration::ZERO } else { self.limit_of_steps() };
        match deliver::deliver_portions(
            self.flight,
            self.stocks,
            wanted,
            dispenser,
            portions,
            time_limit,
        ) {
            Ok(water) => Ok(Some(water)),
            Err(SolveError::NothingFits) => Ok(None),
            Err(error) => Err(self.failed(target)(error)),
        }
    }
}
