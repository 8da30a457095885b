//! Why a water cannot be made, or which goals bind when it can.
//!
//! Nothing here is argued from signs of multipliers: every statement is another solve.

use crate::flight::{Band, Flight, Preference, Target};
use crate::planner::explain::alternatives::used;
use crate::planner::explain::charges::Charges;
use crate::planner::explain::out_of_reach::{Explainer, Hints};
use crate::planner::explain::question::{Question, all_kept};
use crate::planner::explain::reason::Reason;
use crate::planner::explain::remedies::Remedy;
use crate::planner::lp::program;
use crate::planner::lp::program::{PourableColumns, Priorities, Row};
use crate::planner::lp::solution::SolveError;
use crate::planner::lp::stages::Planner;
use crate::planner::{Plan, plan};
use crate::stock::{Catalogue, Salt, Stock};

/// What is known about a target.
#[derive(Debug, Clone, PartialEq)]
pub struct Why {
    /// The plan that the answer is about.
    pub plan: Plan,
    /// Places of the goals that cannot all be kept, every smaller part of which can; empty when
    /// the target is in reach.
    pub conflict: Vec<usize>,
    /// Those of the conflict of which each, left out alone, brings all other goals into reach.
    pub enough_to_leave_out: Vec<usize>,
    /// How near each goal gets while all others come first.
    pub nearest: Vec<Nearest>,
    /// Whether the charges that the goals ask for can cancel at all.
    pub charges: Charges,
    /// Salts that would reach the target, the best first; pairs when no salt does it alone.
    pub remedies: Vec<Remedy>,
    /// What each goal costs when the target is in reach.
    pub shifts: Vec<Shift>,
    /// What the limits of the flight and its base waters have to do with it, out of reach.
    pub hints: Hints,
    /// What else it lacks, out of reach.
    pub reason: Reason,
}

/// How near a goal gets when all others come first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nearest {
    /// What the water then has, native; `None` for a ratio to something absent.
    pub got: Option<f64>,
    /// Whether the goal is then within tolerance.
    pub reached: bool,
    /// Whether the others are all kept.
    pub others_kept: bool,
}

/// What moving a goal by one of its units does; re-solved, not extrapolated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// One unit more, and one unit less.
    pub more: Option<Moved>,
    /// One unit less.
    pub less: Option<Moved>,
}

/// The water of a moved goal against the one at hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moved {
    /// Whether every goal is still within tolerance.
    pub reached: bool,
    /// Change of all weighted misses, in units of tolerance.
    pub misses: f64,
    /// Change of the stock taken, mL per litre in the convention of the flight.
    pub ml_per_l: f64,
    /// Change of what the flight prefers to have little of; nothing where that is the stock taken.
    pub preferred: Option<Preferred>,
}

/// What a flight prefers to have little of, per litre of finished water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Preferred {
    /// Cost of salts and base waters, as the preference counts it.
    Cost(f64),
    /// Sodium, native.
    Sodium(f64),
    /// How many stocks.
    Stocks(f64),
}

impl Preferred {
    /// The amount.
    #[must_use]
    pub fn amount(self) -> f64 {
        match self {
            Self::Cost(v) | Self::Sodium(v) | Self::Stocks(v) => v,
        }
    }

    /// How much more it is than another.
    fn less(self, other: Self) -> Self {
        let by = other.amount();
        match self {
            Self::Cost(v) => Self::Cost(v - by),
            Self::Sodium(v) => Self::Sodium(v - by),
            Self::Stocks(v) => Self::Stocks(v - by),
        }
    }
}

/// Answers for one target of a flight; `price_per_g` gives what is known of prices.
///
/// # Errors
/// When a water has no confirmed answer.
pub fn why(
    flight: &Flight,
    stocks: &[Stock],
    target: &Target,
    catalogue: &Catalogue,
    price_per_g: &dyn Fn(&Salt) -> Option<f64>,
) -> Result<Why, SolveError> {
    let pourable = PourableColumns::of(flight, stocks);
    let priorities = plan::priorities_of(flight, &pourable);
    let preference = flight.preference;
    let question = Question { target, pourable, priorities, preference };
    let plan = question.plan(target)?;
    let out_of_reach = !plan.reached();
    let mut explainer = Explainer::new(flight, stocks);
    let conflict = if out_of_reach { explainer.conflicting_goals(target)? } else { Vec::new() };
    let enough_to_leave_out = explainer.enough_to_leave_out(target, &conflict)?;
    let nearest = (0..target.goals.len())
        .map(|goal| question.nearest(goal))
        .collect::<Result<Vec<_>, _>>()?;
    let charges = question.charges();
    let candidates = if out_of_reach { question.candidates(stocks, catalogue) } else { Vec::new() };
    let remedies =
        if out_of_reach { question.remedies(&candidates, price_per_g)? } else { Vec::new() };
    let shifts = if out_of_reach {
        Vec::new()
    } else {
        target.goals.iter().enumerate().map(|(n, _)| question.shift(n, &plan)).collect()
    };
    let hints = if out_of_reach { explainer.hints(target)? } else { Hints::default() };
    let reason = if out_of_reach { question.reason(&candidates) } else { Reason::default() };
    Ok(Why {
        plan,
        conflict,
        enough_to_leave_out,
        nearest,
        charges,
        remedies,
        shifts,
        hints,
        reason,
    })
}

impl Question<'_> {
    fn plan(&self, target: &Target) -> Result<Plan, SolveError> {
        let all = vec![true; self.pourable.stocks.len()];
        let mut rows = Vec::new();
        let mut planner = Planner::default();
        let (pourable, priorities) = (&self.pourable, &self.priorities);
        let with = |allowed: &[bool]| {
            plan::plan_with(&mut planner, &mut rows, target, pourable, priorities, allowed)
        };
        plan::as_preferred(self.preference, with, &all)
    }

    /// What the flight prefers to have little of; nothing where that is the stock taken.
    fn preferred(&self, plan: &Plan) -> Option<Preferred> {
        let stage = plan.stages.preference.first().copied().unwrap_or_default();
        match self.preference {
            Preference::LeastVolume => None,
            Preference::LeastCost => Some(Preferred::Cost(stage)),
            Preference::LeastSodium => Some(Preferred::Sodium(stage)),
            Preference::FewestStocks => {
                let used = u32::try_from(used(plan).len()).unwrap_or(u32::MAX);
                Some(Preferred::Stocks(f64::from(used)))
            }
        }
    }

    /// All other goals first, then this one as near as it gets.
    fn nearest(&self, goal: usize) -> Result<Nearest, SolveError> {
        let mut others = self.target.clone();
        if goal >= others.goals.len() {
            return Ok(Nearest { got: None, reached: false, others_kept: false });
        }
        let one = others.goals.remove(goal);
        let mut rows = program::edges(&others);
        let alone = Target { name: String::new(), goals: vec![one] };
        // A row without an outside counts in the second stage, behind the edges of the others.
        rows.extend(
            program::edges(&alone).into_iter().map(|row| Row { tolerance: f64::INFINITY, ..row }),
        );
        let largest_first = self.priorities.largest_first;
        let priorities = Priorities { largest_first, preference: Vec::new() };
        let mut planner = Planner::default();
        let solution = match plan::solved(&mut planner, &self.pourable, &rows, &priorities) {
            Err(SolveError::StocksAlone) => {
                return Ok(Nearest { got: None, reached: false, others_kept: false });
            }
            solution => solution?,
        };
        let water = plan::pour(&self.pourable, &solution);
        let others_kept = all_kept(&others.goals, &water);
        let evaluated = plan::evaluated(&self.pourable, &alone, solution, water);
        let result = evaluated.goals.first();
        Ok(Nearest {
            got: result.and_then(|r| r.got),
            reached: result.is_some_and(|r| r.reached),
            others_kept,
        })
    }

    /// The water again with one goal moved by one unit.
    fn shift(&self, goal: usize, plan: &Plan) -> Shift {
        let moved = |by: f64| {
            let mut target = self.target.clone();
            let wanted = target.goals.get_mut(goal)?;
            let by = by * wanted.native_per_unit;
            wanted.band = match wanted.band {
                Band::Near(v) => Band::Near(v + by),
                Band::AtMost(v) => Band::AtMost(v + by),
                Band::AtLeast(v) => Band::AtLeast(v + by),
                Band::Between(a, b) => Band::Between(a + by, b + by),
            };
            let (low, high) = (wanted.band.low(), wanted.band.high());
            if (if low.is_finite() { low } else { high }) < 0.0 {
                return None;
            }
            let other = self.plan(&target).ok()?;
            let misses = |p: &Plan, target: &Target| p.stages.beyond + p.misses_inside(target);
            let ml = |p: &Plan| p.stocks_ml_per_l(self.pourable.convention);
            let preferred = match (self.preferred(&other), self.preferred(plan)) {
                (Some(new), Some(old)) => Some(new.less(old)),
                _ => None,
            };
            Some(Moved {
                reached: other.reached(),
                misses: misses(&other, &target) - misses(plan, self.target),
                ml_per_l: ml(&other) - ml(plan),
                preferred,
            })
        };
        Shift { more: moved(1.0), less: moved(-1.0) }
    }
}
