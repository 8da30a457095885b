//! A flight planned as a whole: with a dispenser, with few stocks, with what is left in them.

use std::time::{Duration, Instant};

use rayon::prelude::*;

use crate::planner::deliver::{self, Delivered};
use crate::planner::joint::{self, Together};
use crate::planner::plan::{self, Plan, PlanError};
use crate::planner::portions::Portion;
use crate::planner::program::{self, Pourable, Row};
use crate::planner::recheck;
use crate::planner::stages::{Planner, Solution, SolveError, Wish};
use crate::planner::stock_set::{Chosen, Members};
use crate::shelf::Stock;
use crate::waters::{Convention, Dispenser, Flight, Order, Preference, StockRule, StockSet};

/// A flight planned as a whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Ordered {
    /// One plan for each target.
    pub plans: Vec<Plan>,
    /// The same with a dispenser, when there is one: steps, proofs, what the steps cost.
    pub delivered: Vec<Delivered>,
    /// The stocks that the flight opens, when their number was limited.
    pub chosen: Option<Chosen>,
    /// What the limits on the stocks left changed.
    pub left: Option<LeftOver>,
}

/// What is left in the bottles against what the flight takes.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOver {
    /// Whether the limits forced other doses than each water alone would have.
    pub binding: bool,
    /// Whether the doses are proved to be the best within the limits.
    pub proved: bool,
}

/// Our choice: the search for a set of stocks ends after this; what is then not proved is said.
pub const SET_PATIENCE: Duration = Duration::from_secs(10);

/// What stays the same for all targets.
pub(super) struct Ground<'a> {
    pub(super) flight: &'a Flight,
    pub(super) stocks: &'a [Stock],
    pub(super) order: &'a Order,
    pub(super) pourable: Pourable,
    pub(super) wish: Wish,
    pub(super) patience: Duration,
    /// When the search for a set of stocks ends.
    pub(super) deadline: Instant,
}

/// Plans a flight as its order asks.
///
/// # Errors
/// The first target that has no confirmed answer.
pub fn plan_order(
    flight: &Flight,
    stocks: &[Stock],
    order: &Order,
    patience: Duration,
) -> Result<Ordered, PlanError> {
    let pourable = Pourable::of(flight, stocks);
    let wish = plan::wish_of(flight, &pourable);
    let deadline = Instant::now() + SET_PATIENCE;
    let ground = Ground { flight, stocks, order, pourable, wish, patience, deadline };
    let chosen = ground.choose()?;
    let everything = vec![true; stocks.len()];
    let members = chosen.as_ref().map_or(&everything, |c| &c.members);
    let mut plans = if order.rules.iter().all(|r| r.without.is_empty()) && chosen.is_none() {
        plan::plan_flight(flight, stocks)?
    } else {
        let targets = 0..flight.targets.len();
        targets.map(|t| ground.continuous(t, members)).collect::<Result<Vec<_>, _>>()?
    };
    let mut left = None;
    let limits = ground.limits();
    if !limits.is_empty() {
        let binding = !ground.within(&plans, &limits);
        if binding {
            let proved;
            (plans, proved) = ground.together(&limits, members)?;
            left = Some(LeftOver { binding, proved });
        } else {
            left = Some(LeftOver { binding, proved: true });
        }
    }
    let mut delivered = Vec::new();
    if order.dispenser.is_some() {
        delivered = ground.deliver(members, &plans, &limits)?;
        if let Some(left) = &mut left {
            let doses: Vec<Plan> = delivered.iter().map(|d| d.plan.clone()).collect();
            left.proved = !left.binding && ground.within(&doses, &limits);
        }
        plans = delivered.iter().map(|d| d.plan.clone()).collect();
    }
    Ok(Ordered { plans, delivered, chosen, left })
}

impl Ground<'_> {
    pub(super) fn failed(&self, target: usize) -> impl Fn(SolveError) -> PlanError + '_ {
        move |source| PlanError {
            target: self.flight.targets.get(target).map(|t| t.name.clone()).unwrap_or_default(),
            source,
        }
    }

    /// The members that a target may use.
    pub(super) fn allowed(&self, target: usize, members: &[bool]) -> Members {
        self.stocks
            .iter()
            .zip(members)
            .map(|(stock, member)| *member && self.order.allows(target, stock.name()))
            .collect()
    }

    fn rows(&self, target: usize) -> Vec<Row> {
        let mut rows = Vec::new();
        if let Some(target) = self.flight.targets.get(target) {
            program::push_rows(target, &mut rows);
        }
        rows
    }

    fn continuous(&self, target: usize, members: &[bool]) -> Result<Plan, PlanError> {
        let allowed = self.allowed(target, members);
        self.continuous_with(&mut Planner::default(), target, &allowed).map_err(self.failed(target))
    }

    fn continuous_with(
        &self,
        planner: &mut Planner,
        target: usize,
        allowed: &[bool],
    ) -> Result<Plan, SolveError> {
        let Some(wanted) = self.flight.targets.get(target) else {
            return Err(SolveError::NothingFits);
        };
        let mut rows = Vec::new();
        let mut one = |allowed: &[bool]| {
            plan::plan_with(planner, &mut rows, wanted, &self.pourable, &self.wish, allowed)
        };
        if self.flight.preference == Preference::FewestStocks {
            return plan::with_fewest(one, allowed);
        }
        one(allowed)
    }

    /// Misses beyond tolerance of a target with these stocks, in steps where there is a dispenser.
    pub(super) fn best_beyond(
        &self,
        target: usize,
        members: &[bool],
        continuous: &impl Fn(usize, &[bool]) -> (f64, f64),
    ) -> f64 {
        let Some(dispenser) = &self.order.dispenser else { return continuous(target, members).0 };
        let rule = self.rule(target, members);
        let portions = deliver::portions(self.flight, self.stocks, dispenser, &rule);
        let rows = self.rows(target);
        let time = self.deadline.saturating_duration_since(Instant::now()).min(self.patience);
        deliver::least_beyond(&self.pourable, &portions, &rows, time)
            .unwrap_or(f64::INFINITY)
    }

    /// The rule of a target, the stocks outside of the set shut out.
    fn rule(&self, target: usize, members: &[bool]) -> StockRule {
        let mut rule = self.order.rule(target);
        if self.order.stock_set == StockSet::Same {
            let inside = self.stocks.iter().zip(members).filter(|(_, m)| **m);
            rule.with.extend(inside.map(|(s, _)| s.name().to_owned()));
        }
        let outside = self.stocks.iter().zip(members).filter(|(_, m)| !**m);
        rule.without.extend(outside.map(|(s, _)| s.name().to_owned()));
        rule
    }

    /// Stocks with the mL left in them.
    fn limits(&self) -> Vec<(usize, f64)> {
        let place = |name: &str| self.stocks.iter().position(|s| s.name() == name);
        self.order
            .left
            .iter()
            .filter_map(|(name, ml)| place(name).map(|j| (j, ml.value())))
            .collect()
    }

    /// Finished litres in one bottle of a plan.
    fn litres(&self, plan: &Plan) -> f64 {
        match self.flight.convention {
            Convention::MadeUpToALitre => self.flight.bottle.value(),
            Convention::AddedToALitre => {
                self.flight.bottle.value() / plan.shares.iter().sum::<f64>().max(f64::MIN_POSITIVE)
            }
        }
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
    fn together(
        &self,
        limits: &[(usize, f64)],
        members: &[bool],
    ) -> Result<(Vec<Plan>, bool), PlanError> {
        let targets = 0..self.flight.targets.len();
        let asked = Together {
            rows: targets.clone().map(|t| self.rows(t)).collect(),
            allowed: targets.clone().map(|t| self.allowed(t, members)).collect(),
            bottle: self.flight.bottle.value(),
            left: limits.to_vec(),
        };
        let watch = crate::planner::watch::Watch::default();
        let doses = joint::plan_together(&self.pourable, &asked, &self.wish, &watch).map_err(self.failed(0))?;
        let mut plans = Vec::new();
        for (n, (target, solution)) in self.flight.targets.iter().zip(doses.solutions).enumerate() {
            let water = plan::pour(&self.pourable, &solution);
            recheck::filled(&self.pourable, &solution).map_err(self.failed(n))?;
            plans.push(plan::judged(&self.pourable, target, solution, water));
        }
        Ok((plans, doses.proved))
    }

    /// Every target in steps. With limits each target leaves to the later ones what their
    /// continuous doses need.
    fn deliver(
        &self,
        members: &[bool],
        plans: &[Plan],
        limits: &[(usize, f64)],
    ) -> Result<Vec<Delivered>, PlanError> {
        let Some(dispenser) = &self.order.dispenser else { return Ok(Vec::new()) };
        if limits.is_empty() {
            let all: Vec<usize> = (0..self.flight.targets.len()).collect();
            return all
                .par_iter()
                .map(|n| self.deliver_one(dispenser, *n, &self.portions(dispenser, *n, members)))
                .collect();
        }
        let mut delivered: Vec<Delivered> = Vec::new();
        for n in 0..self.flight.targets.len() {
            let mut portions = self.portions(dispenser, n, members);
            let done: Vec<Plan> = delivered.iter().map(|d| d.plan.clone()).collect();
            for (j, ml) in limits {
                let later = plans.get(n + 1..).unwrap_or_default();
                let free = ml - self.taken(&done, *j) - self.taken(later, *j);
                if let (Some(portion), Some(stock)) = (portions.get_mut(*j), self.stocks.get(*j)) {
                    let step = dispenser.ml_per_step(stock.density().value.value());
                    portion.most = portion.most.min(deliver::steps_within(free, step));
                }
            }
            delivered.push(self.deliver_one(dispenser, n, &portions)?);
        }
        Ok(delivered)
    }

    fn portions(&self, dispenser: &Dispenser, target: usize, members: &[bool]) -> Vec<Portion> {
        let rule = self.rule(target, members);
        deliver::portions(self.flight, self.stocks, dispenser, &rule)
    }

    fn deliver_one(
        &self,
        dispenser: &Dispenser,
        target: usize,
        portions: &[Portion],
    ) -> Result<Delivered, PlanError> {
        let Some(wanted) = self.flight.targets.get(target) else {
            return Err(self.failed(target)(SolveError::NothingFits));
        };
        deliver::deliver_portions(
            self.flight,
            self.stocks,
            wanted,
            dispenser,
            portions,
            self.patience,
        )
        .map_err(self.failed(target))
    }
}
