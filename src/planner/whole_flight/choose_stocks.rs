//! Which stocks a flight opens, asked of the planner: every candidate set is planned, in steps where
//! there is a dispenser.
//!
//! A set of stocks is worth what the flight made with it is: the misses of all waters, stage by
//! stage. With a dispenser that is the problem in steps; the same without steps can only be better,
//! so it is the bound that saves looking at most sets.

use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::time::{Duration, Instant};

use crate::flight::StockSet;
use crate::planner::lp::solution::SolveError;
use crate::planner::lp::stages::Planner;
use crate::planner::steps::proof::PROVED_WITHIN;
use crate::planner::steps::{Proof, deliver};
use crate::planner::subset::{Chosen, Members, SetEvaluation, SetValue};
use crate::planner::whole_flight::plan_order::FlightContext;
use crate::planner::{Plan, PlanError, plan, subset};
use crate::stock::Stock;

/// Our choice: a set of stocks serves a target as well as the whole shelf when nothing more is
/// missed beyond tolerance than this, in units of miss: rounding.
const AS_WELL: f64 = 1e-6;

/// What one water reaches with some stocks: largest miss (where it is asked for), misses beyond
/// tolerance, misses inside; then, without steps, the preference.
#[derive(Debug, Clone, PartialEq)]
struct Reached {
    values: Vec<f64>,
    /// What no doses can better.
    bounds: Vec<f64>,
    /// Whether the values are proved to be the best.
    proved: bool,
}

impl Reached {
    /// A water that these stocks cannot make at all.
    fn nothing(stages: usize) -> Self {
        let values = vec![f64::INFINITY; stages];
        Self { bounds: values.clone(), values, proved: true }
    }
}

/// Looks at sets, each water with each of its stocks only once.
struct Sets<'a> {
    context: &'a FlightContext<'a>,
    planner: RefCell<Planner>,
    continuous: RefCell<HashMap<(usize, Members), Reached>>,
    stepped: RefCell<HashMap<(usize, Members), Reached>>,
    failure: RefCell<Option<(usize, SolveError)>>,
    /// Whether some set was turned down that a longer search might have found to serve.
    unsure: Cell<bool>,
}

impl FlightContext<'_> {
    /// The set of stocks, when its size is limited.
    pub(crate) fn choose(&self) -> Result<Option<Chosen>, PlanError> {
        let required = self.required();
        let sets = Sets {
            context: self,
            planner: RefCell::default(),
            continuous: RefCell::default(),
            stepped: RefCell::default(),
            failure: RefCell::default(),
            unsure: Cell::new(false),
        };
        let chosen = match self.order.stock_set {
            StockSet::Any => return Ok(None),
            StockSet::Same => sets.same(&required),
            StockSet::AtMost(most) => sets.best_of_size(&required, most, &|_| true),
            StockSet::Fewest => sets.fewest(&required),
        };
        if let Some((target, error)) = sets.failure.into_inner() {
            return Err(self.failed(target)(error));
        }
        let proved = chosen.proved && !sets.unsure.get();
        Ok(Some(Chosen { proved, ..chosen }))
    }

    /// Stocks that some water requires: they are in every set.
    fn required(&self) -> Members {
        let targets = 0..self.flight.targets.len();
        let of = |s: &Stock| targets.clone().any(|t| self.order.requires(t, s.name()));
        self.stocks.iter().map(of).collect()
    }
}

impl Sets<'_> {
    fn targets(&self) -> std::ops::Range<usize> {
        0..self.context.flight.targets.len()
    }

    /// Stages of misses: those that steps and no steps have in common.
    fn misses(&self) -> usize {
        if self.context.priorities.largest_first { 3 } else { 2 }
    }

    /// Values of sums that differ by no more than this, relative above 1, are the same: what the
    /// search tells apart.
    fn even(&self) -> f64 {
        if self.context.order.dispenser.is_some() { PROVED_WITHIN } else { AS_WELL }
    }

    /// One water without steps.
    fn continuous(&self, target: usize, members: &[bool]) -> Reached {
        let allowed = self.context.allowed(target, members);
        if let Some(known) = self.continuous.borrow().get(&(target, allowed.clone())) {
            return known.clone();
        }
        let mut rows = Vec::new();
        let Some(wanted) = self.context.flight.targets.get(target) else {
            return Reached::nothing(self.misses());
        };
        let plan = plan::plan_with(
            &mut self.planner.borrow_mut(),
            &mut rows,
            wanted,
            &self.context.pourable,
            &self.context.priorities,
            &allowed,
        );
        let reached = match plan {
            Ok(plan) => {
                let values = values_of(&plan);
                Reached { bounds: values.clone(), values, proved: true }
            }
            Err(error) => {
                self.failure.borrow_mut().get_or_insert((target, error));
                Reached::nothing(self.misses())
            }
        };
        self.continuous.borrow_mut().insert((target, allowed), reached.clone());
        reached
    }

    /// One water as it is made: in steps where there is a dispenser.
    fn delivered(&self, target: usize, members: &[bool]) -> Reached {
        self.delivered_within(target, members, self.context.time_limit)
    }

    fn delivered_within(&self, target: usize, members: &[bool], limit: Duration) -> Reached {
        let context = self.context;
        let Some(dispenser) = &context.order.dispenser else {
            return self.continuous(target, members);
        };
        // Where the same stocks are in every water a set is more than what it allows.
        let key = (target, members.to_vec());
        if let Some(known) = self.stepped.borrow().get(&key) {
            return known.clone();
        }
        let rule = context.rule(target, members);
        let portions = deliver::portions(context.flight, context.stocks, dispenser, &rule);
        let rows = context.rows(target);
        let left = context.deadline.saturating_duration_since(Instant::now());
        let proofs = deliver::misses_of_portions(
            &context.pourable,
            &portions,
            &rows,
            &context.priorities,
            left.min(limit),
        );
        let stages = self.misses();
        let reached = proofs.map_or_else(
            || Reached::nothing(stages),
            |proofs| Reached {
                values: proofs.iter().map(|p| p.value).collect(),
                bounds: proofs.iter().map(|p| p.bound).collect(),
                proved: proofs.iter().all(Proof::proved),
            },
        );
        self.stepped.borrow_mut().insert(key, reached.clone());
        reached
    }

    fn sum(&self, of: impl Fn(usize) -> Vec<f64>) -> Vec<f64> {
        self.targets().map(of).fold(Vec::new(), |sum, values| {
            if sum.is_empty() {
                return values;
            }
            sum.iter().zip(values).map(|(a, b)| a + b).collect()
        })
    }

    /// The best set of so many stocks among those that `serve`.
    fn best_of_size(
        &self,
        required: &[bool],
        most: usize,
        serves: &dyn Fn(&[bool]) -> bool,
    ) -> Chosen {
        let stepped = self.context.order.dispenser.is_some();
        let mut bound = |members: &[bool]| {
            self.sum(|t| {
                let mut values = self.continuous(t, members).values;
                if stepped {
                    values.truncate(self.misses());
                }
                values
            })
        };
        let mut set_value = |members: &[bool]| {
            if !serves(members) {
                return SetValue { values: vec![f64::INFINITY], proved: true };
            }
            let each = |t: usize| self.delivered(t, members);
            SetValue {
                values: self.sum(|t| each(t).values),
                proved: self.targets().all(|t| each(t).proved),
            }
        };
        let evaluation =
            SetEvaluation { bound: &mut bound, set_value: &mut set_value, even: self.even() };
        subset::best_of_size(required, most, evaluation, &|| self.context.time_is_up())
    }

    /// As few as serve every target as well as the whole shelf; of all such sets the one with the
    /// best flight.
    fn fewest(&self, required: &[bool]) -> Chosen {
        let everything = vec![true; required.len()];
        let without_steps = self.fewest_without_steps(required, &everything);
        let left = self.context.deadline.saturating_duration_since(Instant::now());
        let waters = u32::try_from(self.targets().len().max(1)).unwrap_or(u32::MAX);
        // Of the time at most half goes to what all stocks together reach.
        let limit = self.context.time_limit.min(left / 2 / waters);
        let of_all = |target: usize| {
            let mut reached = self.delivered_within(target, &everything, limit);
            // What some of the stocks reach, all of them do.
            if let Some(few) = &without_steps
                && !reached.proved
            {
                let values = self.delivered_within(target, few, limit).values;
                if values.iter().lt(&reached.values) {
                    reached.values = values;
                }
            }
            reached
        };
        let whole: Vec<Reached> = self.targets().map(of_all).collect();
        if !whole.iter().all(|w| w.proved) {
            self.unsure.set(true);
        }
        let serves = |members: &[bool]| {
            self.targets().zip(&whole).all(|(t, whole)| self.serves(t, members, whole))
        };
        let fewest = subset::fewest(required, serves, &|| self.context.time_is_up());
        if !fewest.proved
            && let Some(few) = without_steps
            && subset::size(&few) < subset::size(&fewest.members)
            && self.targets().zip(&whole).all(|(t, whole)| self.reaches(t, &few, whole))
        {
            return Chosen { members: few, ..fewest };
        }
        if !serves(&fewest.members) {
            // Time ran out before the set at hand had been looked at.
            return Chosen { proved: false, ..fewest };
        }
        let most = subset::size(&fewest.members);
        let best = self.best_of_size(required, most, &serves);
        if best.proved && serves(&best.members) {
            Chosen { members: best.members, ..fewest }
        } else {
            fewest
        }
    }

    /// The fewest stocks that serve without the steps of a dispenser, where there is one: soon found, and
    /// nearly always enough in steps too.
    fn fewest_without_steps(&self, required: &[bool], everything: &[bool]) -> Option<Members> {
        self.context.order.dispenser.as_ref()?;
        let whole: Vec<Reached> = self.targets().map(|t| self.continuous(t, everything)).collect();
        let serves = |members: &[bool]| {
            let as_well = |(t, whole): (usize, &Reached)| {
                self.is_as_good(&self.continuous(t, members).values, whole, AS_WELL)
            };
            self.targets().zip(&whole).all(as_well)
        };
        let fewest = subset::fewest(required, serves, &|| self.context.time_is_up());
        serves(&fewest.members).then_some(fewest.members)
    }

    /// Whether values miss no more beyond tolerance than the whole shelf does; `even` is what counts as the
    /// same, relative above 1.
    fn is_as_good(&self, values: &[f64], whole: &Reached, even: f64) -> bool {
        let differs = |(value, best): (&f64, &f64)| {
            // Nothing missed is a verdict of its own; what is missed is known to the gap.
            let even = if *best <= AS_WELL { AS_WELL } else { even * best.max(1.0) };
            ((value - best).abs() > even).then_some(value < best)
        };
        // The first stage that differs decides.
        let pairs = values.iter().zip(&whole.values).take(self.misses() - 1);
        pairs.map(differs).find_map(|better| better).unwrap_or(true)
    }

    /// Whether a set brings one water within its tolerances where the whole shelf does.
    fn reaches(&self, target: usize, members: &[bool], whole: &Reached) -> bool {
        let beyond = self.misses() - 1;
        let is_within = |values: &[f64]| values.iter().take(beyond).all(|miss| *miss <= AS_WELL);
        !is_within(&whole.values) || is_within(&self.delivered(target, members).values)
    }

    /// Whether a set makes one water as well as the whole shelf does, beyond tolerance.
    fn serves(&self, target: usize, members: &[bool], whole: &Reached) -> bool {
        let as_well = |values: &[f64]| self.is_as_good(values, whole, self.even());
        if !as_well(&self.continuous(target, members).values) {
            return false;
        }
        let delivered = self.delivered(target, members);
        let found = as_well(&delivered.values);
        if !found && as_well(&delivered.bounds) && !delivered.proved {
            self.unsure.set(true);
        }
        found
    }

    /// The fewest stocks that, all of them in every water, miss the least. Sets are looked at in
    /// the order of what they reach without a least amount, then of their size: the first that
    /// reaches it with the least amounts cannot be bettered.
    fn same(&self, required: &[bool]) -> Chosen {
        /// Our choice: all sets of so many stocks are looked at in some seconds.
        const MOST_STOCKS: usize = 14;
        let context = self.context;
        let n = context.stocks.len().min(MOST_STOCKS);
        let first = |reached: Reached| reached.values.first().copied().unwrap_or_default();
        let mut sets: Vec<(i64, usize, f64, Members)> = subset::by_size(n)
            .map(|mask| -> Members {
                let chosen = subset::members(mask, required.len());
                chosen.into_iter().zip(required).map(|(is_in, must)| is_in || *must).collect()
            })
            .filter(|members| {
                let in_all = |(s, m): (&Stock, &bool)| {
                    !*m || self.targets().all(|t| context.order.allows(t, s.name()))
                };
                context.stocks.iter().zip(members).all(in_all)
            })
            .map(|members| {
                let bound = self.targets().map(|t| first(self.continuous(t, &members))).sum();
                (level(bound), subset::size(&members), bound, members)
            })
            .collect();
        sets.sort_by_key(|set| (set.0, set.1));
        let mut best: Option<(f64, Members)> = None;
        let mut proved = context.stocks.len() <= MOST_STOCKS;
        for (_, _, bound, members) in sets {
            let enough = |known: f64| known <= bound + AS_WELL * bound.max(1.0);
            if best.as_ref().is_some_and(|(known, _)| enough(*known)) {
                break;
            }
            if context.time_is_up() {
                proved = false;
                break;
            }
            let each: Vec<Reached> = self.targets().map(|t| self.delivered(t, &members)).collect();
            proved &= each.iter().all(|r| r.proved);
            let reached = each.into_iter().map(first).sum();
            if best.as_ref().is_none_or(|(known, _)| reached < *known) {
                best = Some((reached, members));
            }
        }
        let members = best.map_or_else(|| required.to_vec(), |(_, members)| members);
        Chosen { members, proved, at_least: 0 }
    }
}

/// The stage values of a plan without steps.
fn values_of(plan: &Plan) -> Vec<f64> {
    let stages = &plan.stages;
    let misses = stages.largest.into_iter().chain([stages.beyond, stages.inside]);
    misses.chain(stages.preference.iter().copied()).collect()
}

/// Sums of misses that differ by less than can be told are one level.
fn level(misses: f64) -> i64 {
    #[expect(clippy::cast_possible_truncation, reason = "a cast of a float saturates")]
    let level = (misses / AS_WELL).round() as i64;
    level
}
