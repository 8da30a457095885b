//! Why a target is out of reach: the goals that conflict, and what the limits of the flight and its
//! base waters have to do with it.
//!
//! A set of goals conflicts when no doses keep all of them within tolerance. The rows of all goals are
//! stated once; a trial with some of them gives the others an endless tolerance, so that the matrix
//! and the bases of earlier trials stay. Those others are still drawn, in the second stage, so a trial
//! that succeeds says of more goals than it was made for that they can be kept.

use crate::chemistry::Composition;
use crate::flight::{Convention, DoseLimits, Flight, Target};
use crate::planner::lp::program;
use crate::planner::lp::program::{LimitKind, PourableColumns, Priorities, Row};
use crate::planner::lp::solution::SolveError;
use crate::planner::lp::stages::Planner;
use crate::planner::subset::{Mask, Probe};
use crate::planner::{Plan, plan, subset};
use crate::stock::Stock;
use crate::water::Measure;

/// What would bring a water into reach beside other salts; each tried.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Hints {
    /// The limits of the flight that the nearest water stands at; that alone blames none of them.
    pub at_limit: Vec<LimitKind>,
    /// Those of them without which, the other kept, the water is in reach.
    pub lifted: Vec<LimitKind>,
    /// The water without any limit, when that reaches it.
    pub without_limits: Option<Unlimited>,
    /// Whether distilled water among the base waters would reach it, within the limits.
    pub distilled: bool,
}

/// A water that no limit holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unlimited {
    /// All stocks, mL per litre in the convention of the flight.
    pub stocks_ml_per_l: f64,
    /// Dissolved solids, mg/L.
    pub dissolved_solids_mg_per_l: f64,
}

impl Unlimited {
    /// That of a plan.
    #[must_use]
    pub fn of(plan: &Plan, convention: Convention) -> Self {
        Self {
            stocks_ml_per_l: plan.stocks_ml_per_l(convention),
            dissolved_solids_mg_per_l: Measure::DissolvedSolids.of(&plan.water),
        }
    }
}

/// Goals are tried in sets up to this many; beyond it goals are dropped one by one, which still
/// gives a set that cannot be made smaller. Our choice: 2^12 sets take some tens of milliseconds.
const TRIED_BY_SIZE: usize = 12;

/// What is asked of targets out of reach, one after the other: what is stated for one serves the
/// next.
#[derive(Debug, Clone)]
pub struct Explainer {
    pourable: PourableColumns,
    priorities: Priorities,
    /// As the flight is; without its limits; with distilled water, where there is none.
    as_is: Planner,
    without_limits: (PourableColumns, Planner),
    with_distilled: Option<(PourableColumns, Planner)>,
    trials: Planner,
}

impl Explainer {
    /// For the targets of a flight that have these stocks.
    #[must_use]
    pub fn new(flight: &Flight, stocks: &[Stock]) -> Self {
        let pourable = PourableColumns::of(flight, stocks);
        let priorities = plan::priorities_of(flight, &pourable);
        let free = PourableColumns { limits: DoseLimits::NONE, ..pourable.clone() };
        let pure = |(water, at_most): &(Composition, f64)| {
            *water == Composition::PURE_WATER && *at_most >= 1.0
        };
        let with_distilled = (!pourable.base.iter().any(pure)).then(|| {
            let mut thinned = pourable.clone();
            thinned.base.push((Composition::PURE_WATER, 1.0));
            thinned.base_price_per_l.push(0.0);
            (thinned, Planner::default())
        });
        Self {
            pourable,
            priorities,
            as_is: Planner::default(),
            without_limits: (free, Planner::default()),
            with_distilled,
            trials: Planner::default(),
        }
    }

    /// The smallest set of goals of a target that no doses keep; empty when all can be kept.
    ///
    /// # Errors
    /// When a water has no confirmed answer.
    pub fn conflicting_goals(&mut self, target: &Target) -> Result<Vec<usize>, SolveError> {
        let all: Vec<usize> = (0..target.goals.len()).collect();
        let trial = Trial::new(target);
        let kept = trial.kept(&mut self.trials, &self.pourable, |_| true)?;
        if kept.iter().all(|kept| *kept) {
            return Ok(Vec::new());
        }
        if all.len() > TRIED_BY_SIZE {
            return self.without_needless(&trial, all);
        }
        let as_mask = |kept: &[bool]| {
            kept.iter().enumerate().fold(0, |mask, (n, kept)| mask | (Mask::from(*kept) << n))
        };
        let known = as_mask(&kept);
        let mut probe = |mask: Mask| {
            if mask & !known == 0 {
                return Ok(Probe::Within(known));
            }
            let kept = trial.kept(&mut self.trials, &self.pourable, |n| mask >> n & 1 == 1)?;
            let kept = as_mask(&kept);
            Ok(if mask & !kept == 0 { Probe::Within(kept) } else { Probe::Sought })
        };
        let found = subset::first_by_size(all.len(), &mut probe)?;
        Ok(found
            .map_or(all.clone(), |mask| all.into_iter().filter(|n| mask >> n & 1 == 1).collect()))
    }

    /// Drops one goal after the other as long as the rest still conflicts.
    fn without_needless(
        &mut self,
        trial: &Trial<'_>,
        mut set: Vec<usize>,
    ) -> Result<Vec<usize>, SolveError> {
        for goal in set.clone() {
            let rest: Vec<usize> = set.iter().copied().filter(|n| *n != goal).collect();
            let kept = trial.kept(&mut self.trials, &self.pourable, |n| rest.contains(&n))?;
            let kept = |n: &usize| kept.get(*n).copied().unwrap_or_default();
            if !rest.iter().all(kept) {
                set = rest;
            }
        }
        Ok(set)
    }

    /// Of these goals of a target those of which each, left out alone, brings all others into reach.
    ///
    /// # Errors
    /// When a water has no confirmed answer.
    pub fn enough_to_leave_out(
        &mut self,
        target: &Target,
        goals: &[usize],
    ) -> Result<Vec<usize>, SolveError> {
        let trial = Trial::new(target);
        let mut enough = Vec::new();
        for &goal in goals {
            let kept = trial.kept(&mut self.trials, &self.pourable, |n| n != goal)?;
            if kept.iter().enumerate().all(|(n, kept)| n == goal || *kept) {
                enough.push(goal);
            }
        }
        Ok(enough)
    }

    /// What would bring a target that is out of reach into it, beside other salts.
    ///
    /// # Errors
    /// When a water has no confirmed answer.
    pub fn hints(&mut self, target: &Target) -> Result<Hints, SolveError> {
        let plan = plan_on(&mut self.as_is, &self.pourable, &self.priorities, target)?;
        if plan.reached() {
            return Ok(Hints::default());
        }
        let volume = self.pourable.stocks.iter().map(|(_, ml)| *ml).collect();
        // The stages of misses are all that decides on reach.
        let priorities = Priorities {
            largest_first: self.priorities.largest_first,
            preference: vec![(volume, Vec::new())],
        };
        let reached = |(pourable, planner): &mut (PourableColumns, Planner)| {
            match plan_on(planner, pourable, &priorities, target) {
                Ok(plan) => Ok(Some(plan).filter(Plan::reached)),
                // Without limits the best may have no base water at all.
                Err(SolveError::StocksAlone) => Ok(None),
                Err(error) => Err(error),
            }
        };
        let mut hints = Hints { at_limit: plan.at_limit.clone(), ..Hints::default() };
        if !hints.at_limit.is_empty() {
            hints.without_limits = reached(&mut self.without_limits)?
                .map(|plan| Unlimited::of(&plan, self.pourable.convention));
        }
        if hints.without_limits.is_some() {
            for &kind in &hints.at_limit {
                let rest = without_limit(self.pourable.limits, kind);
                let mut one =
                    (PourableColumns { limits: rest, ..self.pourable.clone() }, Planner::default());
                if reached(&mut one)?.is_some() {
                    hints.lifted.push(kind);
                }
            }
        }
        if let Some(distilled) = &mut self.with_distilled {
            hints.distilled = reached(distilled)?.is_some();
        }
        Ok(hints)
    }
}

/// Limits with one of them lifted.
#[must_use]
pub fn without_limit(limits: DoseLimits, kind: LimitKind) -> DoseLimits {
    let endless = f64::INFINITY;
    match kind {
        LimitKind::Stocks => DoseLimits { stocks_ml_per_l: endless, ..limits },
        LimitKind::DissolvedSolids => DoseLimits { dissolved_solids_mg_per_l: endless, ..limits },
        LimitKind::Share => limits,
    }
}

fn plan_on(
    planner: &mut Planner,
    pourable: &PourableColumns,
    priorities: &Priorities,
    target: &Target,
) -> Result<Plan, SolveError> {
    plan::plan_with(planner, &mut Vec::new(), target, pourable, priorities, &[])
}

/// The rows of a target's goals with their tolerances as part of the bands.
struct Trial<'a> {
    target: &'a Target,
    /// Each row with the goal it belongs to.
    rows: Vec<(usize, Row)>,
}

impl<'a> Trial<'a> {
    fn new(target: &'a Target) -> Self {
        let mut rows = Vec::new();
        for (n, goal) in target.goals.iter().enumerate() {
            rows.extend(program::edges_of(goal, target).into_iter().map(|row| (n, row)));
        }
        Self { target, rows }
    }

    /// Which goals a water keeps that keeps `some` of them, if any does.
    fn kept(
        &self,
        planner: &mut Planner,
        pourable: &PourableColumns,
        some: impl Fn(usize) -> bool,
    ) -> Result<Vec<bool>, SolveError> {
        let row = |(n, row): &(usize, Row)| Row {
            tolerance: if some(*n) { row.tolerance } else { f64::INFINITY },
            ..*row
        };
        let rows: Vec<Row> = self.rows.iter().map(row).collect();
        let solution = match plan::solved(planner, pourable, &rows, &Priorities::default()) {
            Err(SolveError::StocksAlone) => {
                // Those that are only drawn may have led there.
                let alone: Vec<Row> =
                    self.rows.iter().filter(|(n, _)| some(*n)).map(|(_, row)| *row).collect();
                let volume = pourable.stocks.iter().map(|(_, ml)| *ml).collect();
                let preference = vec![(volume, vec![0.0; pourable.base.len()])];
                let least = Priorities { largest_first: false, preference };
                match plan::solved(&mut Planner::default(), pourable, &alone, &least) {
                    Err(SolveError::StocksAlone) => {
                        return Ok(vec![false; self.target.goals.len()]);
                    }
                    solution => solution?,
                }
            }
            solution => solution?,
        };
        let water = plan::pour(pourable, &solution);
        let kept = self.target.goals.iter().map(|goal| plan::assess_goal(goal, &water).reached);
        Ok(kept.collect())
    }
}
