//! Which stocks a flight opens, asked of the planner: every candidate set is planned.

use std::cell::RefCell;
use std::time::Instant;

use crate::planner::plan::{self, PlanError};
use crate::planner::stages::Planner;
use crate::planner::stock_set::{self, Chosen, Members};
use crate::planner::whole_flight::Ground;
use crate::shelf::Stock;
use crate::waters::StockSet;

/// Our choice: a set of stocks serves a target as well as the whole shelf when its misses beyond
/// tolerance are larger by no more than this, in units of miss.
const AS_WELL: f64 = 1e-6;

impl Ground<'_> {
    /// The set of stocks, when its size is limited.
    pub(super) fn choose(&self) -> Result<Option<Chosen>, PlanError> {
        let deadline = self.deadline;
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
}

/// Sums of misses that differ by less than can be told are one level.
fn level(misses: f64) -> i64 {
    #[expect(clippy::cast_possible_truncation, reason = "a cast of a float saturates")]
    let level = (misses / AS_WELL).round() as i64;
    level
}
