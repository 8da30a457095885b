//! A flight planned as a whole: with a dispenser, with few stocks, with what is left in them.

use std::cell::RefCell;
use std::time::{Duration, Instant};

use crate::planner::deliver::{self, Delivered};
use crate::planner::joint::{self, Together};
use crate::planner::plan::{self, Plan, PlanError};
use crate::planner::program::{self, Pourable, Row};
use crate::planner::recheck;
use crate::planner::stages::{Planner, Solution, SolveError, Wish};
use crate::planner::stock_set::{self, Chosen, Members};
use crate::shelf::Stock;
use crate::waters::{Convention, Flight, Order, Preference, StockRule, StockSet};

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

/// Our choice: a set of stocks serves a target as well as the whole shelf when its misses beyond
/// tolerance are larger by no more than this, in units of miss.
const AS_WELL: f64 = 1e-6;

/// What stays the same for all targets.
struct Ground<'a> {
    flight: &'a Flight,
    stocks: &'a [Stock],
    order: &'a Order,
    pourable: Pourable,
    wish: Wish,
    patience: Duration,
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
    let pourable = Pourable::new(stocks, &flight.base);
    let wish = plan::wish_of(flight, &pourable);
    let ground = Ground { flight, stocks, order, pourable, wish, patience };
    let chosen = ground.choose()?;
    let everything = vec![true; stocks.len()];
    let members = chosen.as_ref().map_or(&everything, |c| &c.members);
    let mut plans = Vec::new();
    for target in 0..flight.targets.len() {
        plans.push(ground.continuous(target, members)?);
    }
    let mut left = None;
    let limits = ground.limits();
    if !limits.is_empty() {
        let binding = !ground.within(&plans, &limits);
        if binding {
            plans = ground.together(&limits, members)?;
        }
        left = Some(LeftOver { binding, proved: true });
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

/// Sums of misses that differ by less than can be told are one level.
fn level(misses: f64) -> i64 {
    #[expect(clippy::cast_possible_truncation, reason = "a cast of a float saturates")]
    let level = (misses / AS_WELL).round() as i64;
    level
}

impl Ground<'_> {
    fn failed(&self, target: usize) -> impl Fn(SolveError) -> PlanError + '_ {
        move |source| PlanError {
            target: self.flight.targets.get(target).map(|t| t.name.clone()).unwrap_or_default(),
            source,
        }
    }

    /// The members that a target may use.
    fn allowed(&self, target: usize, members: &[bool]) -> Members {
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

    /// The set of stocks, when its size is limited.
    fn choose(&self) -> Result<Option<Chosen>, PlanError> {
        let deadline = Instant::now() + SET_PATIENCE;
        let n = self.stocks.len();
        // Stocks that some water requires are in every set.
        let required: Members = self
            .stocks
            .iter()
            .map(|s| (0..self.flight.targets.len()).any(|t| self.order.requires(t, s.name())))
            .collect();
        let with_required = |members: &[bool]| -> Members {
            members.iter().zip(&required).map(|(m, r)| *m || *r).collect()
        };
        // One planner for each target: its matrix changes with the set, its room does not.
        let planner = RefCell::new(Planner::default());
        let failure = RefCell::new(None);
        let value = |target: usize, members: &[bool]| -> (f64, f64) {
            let allowed = self.allowed(target, members);
            let mut planner = planner.borrow_mut();
            let mut rows = Vec::new();
            let Some(wanted) = self.flight.targets.get(target) else { return (0.0, 0.0) };
            let plan = plan::plan_with(
                &mut planner,
                &mut rows,
                wanted,
                &self.pourable,
                &self.wish,
                &allowed,
            );
            match plan {
                Ok(plan) => (plan.stages.beyond, plan.stages.inside),
                Err(error) => {
                    failure.borrow_mut().get_or_insert((target, error));
                    (f64::INFINITY, f64::INFINITY)
                }
            }
        };
        let targets = 0..self.flight.targets.len();
        let worth = |members: &[bool]| -> Vec<f64> {
            let members = with_required(members);
            targets.clone().map(|t| value(t, &members)).fold(vec![0.0, 0.0], |sum, (b, i)| {
                sum.iter().zip([b, i]).map(|(s, v)| s + v).collect()
            })
        };
        let chosen = match self.order.stock_set {
            StockSet::Any => return Ok(None),
            StockSet::Same => self.same(&required, &value, deadline),
            StockSet::AtMost(most) => stock_set::best_of_size(n, most, worth, deadline),
            StockSet::Fewest => {
                let whole: Vec<f64> =
                    targets.clone().map(|t| self.best_beyond(t, &vec![true; n], &value)).collect();
                let serves = |members: &[bool]| {
                    let members = with_required(members);
                    targets.clone().zip(&whole).all(|(t, best)| {
                        let limit = best + AS_WELL * best.max(1.0);
                        value(t, &members).0 <= limit
                            && self.best_beyond(t, &members, &value) <= limit
                    })
                };
                let fewest = stock_set::fewest(n, serves, deadline);
                Self::best_among(fewest, n, worth, serves, deadline)
            }
        };
        if let Some((target, error)) = failure.into_inner() {
            return Err(self.failed(target)(error));
        }
        let members = with_required(&chosen.members);
        Ok(Some(Chosen { members, ..chosen }))
    }

    /// Of all sets of the smallest size that serve, the one with the best flight.
    fn best_among(
        fewest: Chosen,
        n: usize,
        worth: impl Fn(&[bool]) -> Vec<f64>,
        serves: impl Fn(&[bool]) -> bool,
        deadline: Instant,
    ) -> Chosen {
        let most = stock_set::size(&fewest.members);
        let best = stock_set::best_of_size(n, most, worth, deadline);
        // With a dispenser the best continuous set need not serve; the one found first does.
        if best.proved && serves(&best.members) {
            Chosen { members: best.members, ..fewest }
        } else {
            fewest
        }
    }

    /// Misses beyond tolerance of a target with these stocks, in steps where there is a dispenser.
    fn best_beyond(
        &self,
        target: usize,
        members: &[bool],
        continuous: &impl Fn(usize, &[bool]) -> (f64, f64),
    ) -> f64 {
        let Some(dispenser) = &self.order.dispenser else { return continuous(target, members).0 };
        let rule = self.rule(target, members);
        let portions = deliver::portions(self.flight, self.stocks, dispenser, &rule);
        let rows = self.rows(target);
        deliver::least_beyond(&self.pourable, &portions, &rows, self.flight, self.patience)
            .unwrap_or(f64::INFINITY)
    }

    /// The fewest stocks that, all of them in every water, miss the least. Sets are looked at in
    /// the order of what they reach without a least amount, then of their size: the first that
    /// reaches it with the least amounts cannot be bettered.
    fn same(
        &self,
        required: &[bool],
        continuous: &impl Fn(usize, &[bool]) -> (f64, f64),
        deadline: Instant,
    ) -> Chosen {
        /// Our choice: all sets of so many stocks are looked at in some seconds.
        const MOST_STOCKS: usize = 14;
        let n = self.stocks.len().min(MOST_STOCKS);
        let targets = 0..self.flight.targets.len();
        let mut sets: Vec<(i64, usize, f64, Members)> = (0..1_u32 << n)
            .map(|bits| -> Members {
                let of = required.iter().enumerate();
                of.map(|(j, must)| *must || (j < n && bits >> j & 1 == 1)).collect()
            })
            .filter(|members| {
                let in_all = |(s, m): (&Stock, &bool)| {
                    !*m || targets.clone().all(|t| self.order.allows(t, s.name()))
                };
                self.stocks.iter().zip(members).all(in_all)
            })
            .map(|members| {
                let bound = targets.clone().map(|t| continuous(t, &members).0).sum();
                (level(bound), stock_set::size(&members), bound, members)
            })
            .collect();
        sets.sort_by_key(|set| (set.0, set.1));
        let mut best: Option<(f64, Members)> = None;
        let mut proved = self.stocks.len() <= MOST_STOCKS;
        for (_, _, bound, members) in sets {
            let enough = |known: f64| known <= bound + AS_WELL * bound.max(1.0);
            if best.as_ref().is_some_and(|(known, _)| enough(*known)) {
                break;
            }
            if Instant::now() >= deadline {
                proved = false;
                break;
            }
            let reached = targets.clone().map(|t| self.best_beyond(t, &members, continuous)).sum();
            if best.as_ref().is_none_or(|(known, _)| reached < *known) {
                best = Some((reached, members));
            }
        }
        let members = best.map_or_else(|| required.to_vec(), |(_, members)| members);
        Chosen { members, proved, at_least: 0 }
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

    /// All targets at once within what is left. Where doses come on top of a litre, the finished
    /// volume of a bottle is taken as large as it can be: the limits then hold for certain.
    fn together(&self, limits: &[(usize, f64)], members: &[bool]) -> Result<Vec<Plan>, PlanError> {
        /// Our choice: on top of a litre come at most a tenth of it.
        const ON_TOP: f64 = 1.1;
        let targets = 0..self.flight.targets.len();
        let litres = match self.flight.convention {
            Convention::MadeUpToALitre => self.flight.bottle.value(),
            Convention::AddedToALitre => self.flight.bottle.value() * ON_TOP,
        };
        let asked = Together {
            rows: targets.clone().map(|t| self.rows(t)).collect(),
            allowed: targets.clone().map(|t| self.allowed(t, members)).collect(),
            litres,
            left: limits.to_vec(),
        };
        let doses = joint::plan_together(&self.pourable, &asked).map_err(self.failed(0))?;
        let mut plans = Vec::new();
        for (n, (target, (meq_per_l, shares))) in self
            .flight
            .targets
            .iter()
            .zip(doses.meq_per_l.into_iter().zip(doses.shares))
            .enumerate()
        {
            let mut solution = Solution { meq_per_l, shares, ..Solution::default() };
            let water = plan::pour(&self.pourable, &solution);
            for row in asked.rows.get(n).into_iter().flatten() {
                let (beyond, inside) = row.costs(water.dot(&row.form));
                solution.beyond += beyond;
                solution.inside += inside;
            }
            recheck::filled(&self.pourable, &solution).map_err(self.failed(n))?;
            plans.push(plan::judged(&self.pourable, target, solution, water));
        }
        Ok(plans)
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
        let mut delivered: Vec<Delivered> = Vec::new();
        for (n, target) in self.flight.targets.iter().enumerate() {
            let rule = self.rule(n, members);
            let mut portions = deliver::portions(self.flight, self.stocks, dispenser, &rule);
            let done: Vec<Plan> = delivered.iter().map(|d| d.plan.clone()).collect();
            for (j, ml) in limits {
                let later = plans.get(n + 1..).unwrap_or_default();
                let free = ml - self.taken(&done, *j) - self.taken(later, *j);
                if let (Some(portion), Some(stock)) = (portions.get_mut(*j), self.stocks.get(*j)) {
                    let step = dispenser.ml_per_step(stock.density().value.value());
                    portion.most = portion.most.min(deliver::steps_within(free, step));
                }
            }
            let one = deliver::deliver_portions(
                self.flight,
                self.stocks,
                target,
                dispenser,
                &portions,
                self.patience,
            );
            delivered.push(one.map_err(self.failed(n))?);
        }
        Ok(delivered)
    }
}
