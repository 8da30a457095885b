//! Why a water cannot be made, or which goals bind when it can.
//!
//! Nothing here is argued from signs of multipliers: every statement is another solve. A set of
//! goals conflicts when no doses keep all of them within tolerance; the smallest such set is
//! found by trying sets in the order of their size. A salt that would help is put on the shelf
//! and the water planned again.

use crate::chemistry::{Composition, Conserved};
use crate::flight::{Band, Convention, DoseLimits, Flight, Goal, Subject, Target};
use crate::planner::lp::program;
use crate::planner::lp::program::{LimitKind, PourableColumns, Row};
use crate::planner::lp::stages::{Planner, Priorities, SolveError};
use crate::planner::{Plan, plan};
use crate::stock::{Catalogue, Salt, Stock};
use crate::water::Measure;

/// What is known about a target.
#[derive(Debug, Clone, PartialEq)]
pub struct Why {
    /// The plan that the answer is about.
    pub plan: Plan,
    /// Places of the goals that cannot all be kept, every smaller part of which can; empty when
    /// the target is in reach.
    pub conflict: Vec<usize>,
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
}

/// What would bring a water into reach beside other salts; each tried.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Hints {
    /// The limits of the flight that the nearest water stands at.
    pub at_limit: Vec<LimitKind>,
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

/// Charges that goals ask for and leave room for, meq/L.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charges {
    /// Cations, at least.
    pub cations_least: f64,
    /// Cations, at most; +∞ when nothing limits them.
    pub cations_most: f64,
    /// Anions, at least.
    pub anions_least: f64,
    /// Anions, at most.
    pub anions_most: f64,
}

impl Charges {
    /// Whether there is a sum that both can have.
    #[must_use]
    pub fn can_cancel(&self) -> bool {
        /// Our choice: a thousandth of a meq/L is rounding of wishes.
        const ROUNDING: f64 = 1e-3;
        self.cations_least <= self.anions_most + ROUNDING
            && self.anions_least <= self.cations_most + ROUNDING
    }
}

/// Salts that reach the target together with the shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// The salts with the grams of each in a litre.
    pub salts: Vec<(Salt, f64)>,
    /// What they cost per litre, where all prices are known.
    pub price_per_l: Option<f64>,
}

impl Remedy {
    /// Grams of salt in a litre.
    #[must_use]
    pub fn grams(&self) -> f64 {
        self.salts.iter().map(|(_, g)| g).sum()
    }
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
    /// Change of the stock taken, mL/L.
    pub ml_per_l: f64,
}

/// Goals are tried in sets up to this many; beyond it goals are dropped one by one, which still
/// gives a set that cannot be made smaller. Our choice: 2^12 sets take some tens of milliseconds.
const TRIED_BY_SIZE: usize = 12;

/// Strength of the stock that a salt is tried as, meq/mL. Our choice: that of common stocks; it
/// decides nothing but the little volume that the salt takes.
const TRIAL_MEQ_PER_ML: f64 = 0.4;

/// One target with what surrounds it.
struct Question<'a> {
    target: &'a Target,
    pourable: PourableColumns,
    priorities: Priorities,
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
    let question = Question { target, pourable, priorities };
    let plan = question.plan(target)?;
    let out_of_reach = !plan.reached();
    let conflict = if out_of_reach { question.conflict()? } else { Vec::new() };
    let nearest = (0..target.goals.len())
        .map(|goal| question.nearest(goal))
        .collect::<Result<Vec<_>, _>>()?;
    let charges = question.charges();
    let remedies =
        if out_of_reach { question.remedies(stocks, catalogue, price_per_g)? } else { Vec::new() };
    let shifts = if out_of_reach {
        Vec::new()
    } else {
        target.goals.iter().enumerate().map(|(n, _)| question.shift(n, &plan)).collect()
    };
    let hints = if out_of_reach { question.hints(&plan)? } else { Hints::default() };
    Ok(Why { plan, conflict, nearest, charges, remedies, shifts, hints })
}

/// What would bring a target that is out of reach into it, beside other salts.
///
/// # Errors
/// When a water has no confirmed answer.
pub fn hints(flight: &Flight, stocks: &[Stock], target: &Target) -> Result<Hints, SolveError> {
    let pourable = PourableColumns::of(flight, stocks);
    let priorities = plan::priorities_of(flight, &pourable);
    let question = Question { target, pourable, priorities };
    let plan = question.plan(target)?;
    if plan.reached() { Ok(Hints::default()) } else { question.hints(&plan) }
}

/// The smallest set of goals of a target that no doses keep; empty when all can be kept.
///
/// # Errors
/// When a water has no confirmed answer.
pub fn conflicting_goals(
    flight: &Flight,
    stocks: &[Stock],
    target: &Target,
) -> Result<Vec<usize>, SolveError> {
    let pourable = PourableColumns::of(flight, stocks);
    let priorities = plan::priorities_of(flight, &pourable);
    Question { target, pourable, priorities }.conflict()
}

impl Question<'_> {
    fn hints(&self, plan: &Plan) -> Result<Hints, SolveError> {
        let with = |pourable: PourableColumns| -> Result<Option<Plan>, SolveError> {
            let other = Question { target: self.target, pourable, priorities: self.wish_for() };
            match other.plan(self.target) {
                Ok(plan) => Ok(Some(plan).filter(Plan::reached)),
                // Without limits the best may have no base water at all.
                Err(SolveError::StocksAlone) => Ok(None),
                Err(error) => Err(error),
            }
        };
        let mut hints = Hints { at_limit: plan.at_limit.clone(), ..Hints::default() };
        if !hints.at_limit.is_empty() {
            let free = PourableColumns { limits: DoseLimits::NONE, ..self.pourable.clone() };
            hints.without_limits = with(free)?.map(|plan| Unlimited {
                stocks_ml_per_l: plan.ml_per_l.iter().sum::<f64>()
                    / match self.pourable.convention {
                        Convention::MadeUpToALitre => 1.0,
                        Convention::AddedToALitre => plan.shares.iter().sum(),
                    },
                dissolved_solids_mg_per_l: Measure::DissolvedSolids.of(&plan.water),
            });
        }
        let pure = |(water, at_most): &(Composition, f64)| {
            *water == Composition::PURE_WATER && *at_most >= 1.0
        };
        if !self.pourable.base.iter().any(pure) {
            let mut thinned = self.pourable.clone();
            thinned.base.push((Composition::PURE_WATER, 1.0));
            thinned.base_price_per_l.push(0.0);
            hints.distilled = with(thinned)?.is_some();
        }
        Ok(hints)
    }

    /// The stages of misses, which are all that decides on reach.
    fn wish_for(&self) -> Priorities {
        let volume = self.pourable.stocks.iter().map(|(_, ml)| *ml).collect();
        Priorities {
            largest_first: self.priorities.largest_first,
            preference: vec![(volume, Vec::new())],
        }
    }

    fn plan(&self, target: &Target) -> Result<Plan, SolveError> {
        let all = vec![true; self.pourable.stocks.len()];
        let mut rows = Vec::new();
        let mut planner = Planner::default();
        plan::plan_with(&mut planner, &mut rows, target, &self.pourable, &self.priorities, &all)
    }

    /// Whether some doses keep all of these goals within tolerance.
    fn keeps(&self, goals: &[usize]) -> Result<bool, SolveError> {
        let some: Vec<Goal> =
            goals.iter().filter_map(|n| self.target.goals.get(*n)).cloned().collect();
        let rows = program::edges(&Target { name: String::new(), goals: some.clone() });
        let plain = Priorities::default();
        let solution = Planner::default().solve(&self.pourable, &rows, &plain)?;
        Ok(all_kept(&some, &plan::pour(&self.pourable, &solution)))
    }

    fn conflict(&self) -> Result<Vec<usize>, SolveError> {
        let count = self.target.goals.len();
        let all: Vec<usize> = (0..count).collect();
        if self.keeps(&all)? {
            return Ok(Vec::new());
        }
        if count > TRIED_BY_SIZE {
            return self.without_needless(all);
        }
        let mut sets: Vec<u32> = (1..1_u32 << count).collect();
        sets.sort_by_key(|bits| bits.count_ones());
        for bits in sets {
            let set: Vec<usize> = (0..count).filter(|n| bits >> n & 1 == 1).collect();
            if !self.keeps(&set)? {
                return Ok(set);
            }
        }
        Ok(all)
    }

    /// Drops one goal after the other as long as the rest still conflicts.
    fn without_needless(&self, mut set: Vec<usize>) -> Result<Vec<usize>, SolveError> {
        for goal in set.clone() {
            let rest: Vec<usize> = set.iter().copied().filter(|n| *n != goal).collect();
            if !self.keeps(&rest)? {
                set = rest;
            }
        }
        Ok(set)
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
        let solution = Planner::default().solve(&self.pourable, &rows, &Priorities::default())?;
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

    /// What all goals together ask for and leave room for, by charge.
    fn charges(&self) -> Charges {
        let goals = &self.target.goals;
        let limits = |measures: &[Measure]| -> (f64, f64) {
            let of = goals.iter().filter(|g| match g.subject {
                Subject::Measure(m) => measures.contains(&m),
                Subject::Ratio { .. } => false,
            });
            of.fold((0.0, f64::INFINITY), |(low, high), goal| {
                let (least, most) = reach(goal);
                (low.max(least), high.min(most))
            })
        };
        let supplied = |c: Conserved| {
            let stocks = self.pourable.stocks.iter().map(|(per_meq, _)| per_meq);
            let base = self.pourable.base.iter().map(|(water, _)| water);
            // What nobody measured of a base water may be in it.
            let there = |water: &Composition| water.mmol_per_l(c) > 0.0 || !water.is_measured(c);
            stocks.chain(base).any(there)
        };
        let one = |c: Conserved, measures: &[Measure]| {
            let (low, high) = limits(measures);
            (low, if supplied(c) { high } else { 0.0 })
        };
        let add = |a: (f64, f64), b: (f64, f64)| (a.0 + b.0, a.1 + b.1);
        let calcium = one(Conserved::Ca, &[Measure::Calcium, Measure::CalciumHardness]);
        let magnesium = one(Conserved::Mg, &[Measure::Magnesium, Measure::MagnesiumHardness]);
        let parts = add(calcium, magnesium);
        let whole = limits(&[Measure::Hardness]);
        let hardness = (parts.0.max(whole.0), parts.1.min(whole.1));
        let cations = add(
            hardness,
            add(one(Conserved::Na, &[Measure::Sodium]), one(Conserved::K, &[Measure::Potassium])),
        );
        let anions = [
            one(Conserved::Cl, &[Measure::Chloride]),
            one(Conserved::SO4, &[Measure::Sulfate]),
            one(Conserved::NO3, &[Measure::Nitrate]),
            one(Conserved::Alkalinity, &[Measure::Alkalinity, Measure::Bicarbonate]),
            one(Conserved::Lactate, &[]),
            one(Conserved::Citrate, &[]),
        ]
        .into_iter()
        .fold((0.0, 0.0), add);
        Charges {
            cations_least: cations.0,
            cations_most: cations.1,
            anions_least: anions.0,
            anions_most: anions.1,
        }
    }

    /// Salts of the catalogue that reach the target, each tried; pairs when none does alone.
    fn remedies(
        &self,
        stocks: &[Stock],
        catalogue: &Catalogue,
        price_per_g: &dyn Fn(&Salt) -> Option<f64>,
    ) -> Result<Vec<Remedy>, SolveError> {
        let missing: Vec<&Salt> = catalogue
            .iter()
            .filter(|salt| {
                !stocks.iter().any(|s| s.recipe().salt.formula.same_but_for_water(&salt.formula))
            })
            .collect();
        let mut found = Vec::new();
        for salt in &missing {
            found.extend(self.tried(&[salt], price_per_g)?);
        }
        if found.is_empty() {
            for (n, first) in missing.iter().enumerate() {
                for second in missing.iter().skip(n + 1) {
                    found.extend(self.tried(&[first, second], price_per_g)?);
                }
            }
        }
        // Known prices first, the cheapest of them; then the fewest grams.
        found.sort_by(|a, b| match (a.price_per_l, b.price_per_l) {
            (Some(x), Some(y)) => x.total_cmp(&y),
            (Some(_), None) => std::cmp::Ordering::Less,
            (None, Some(_)) => std::cmp::Ordering::Greater,
            (None, None) => a.grams().total_cmp(&b.grams()),
        });
        Ok(found)
    }

    /// The shelf with these salts on it; `None` when the target stays out of reach.
    fn tried(
        &self,
        salts: &[&Salt],
        price_per_g: &dyn Fn(&Salt) -> Option<f64>,
    ) -> Result<Option<Remedy>, SolveError> {
        let mut pourable = self.pourable.clone();
        let own = pourable.stocks.len();
        for salt in salts {
            pourable.stocks.push((salt.composition_per_meq(), 1.0 / TRIAL_MEQ_PER_ML));
        }
        // As little of the new salts as will do.
        let grams_per_meq =
            |salt: &Salt| salt.formula.molar_mass().value() / salt.equivalents_per_mole() / 1000.0;
        let mut cost = vec![0.0; own];
        cost.extend(salts.iter().map(|s| grams_per_meq(s)));
        let preference = vec![(cost, vec![0.0; pourable.base.len()])];
        let priorities = Priorities { largest_first: false, preference };
        let rows = program::edges(self.target);
        let solution = Planner::default().solve(&pourable, &rows, &priorities)?;
        if !all_kept(&self.target.goals, &plan::pour(&pourable, &solution)) {
            return Ok(None);
        }
        let grams: Vec<(Salt, f64)> = salts
            .iter()
            .zip(solution.meq_per_l.iter().skip(own))
            .map(|(salt, meq)| ((*salt).clone(), meq * grams_per_meq(salt)))
            .collect();
        let price_per_l =
            grams.iter().map(|(salt, g)| price_per_g(salt).map(|price| price * g)).sum();
        Ok(Some(Remedy { salts: grams, price_per_l }))
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
            let misses = |p: &Plan| p.stages.beyond + p.stages.inside;
            let ml = |p: &Plan| p.ml_per_l.iter().sum::<f64>();
            Some(Moved {
                reached: other.reached(),
                misses: misses(&other) - misses(plan),
                ml_per_l: ml(&other) - ml(plan),
            })
        };
        Shift { more: moved(1.0), less: moved(-1.0) }
    }
}

/// Whether a water keeps all of these goals, as the goals of a plan are judged.
fn all_kept(goals: &[Goal], water: &Composition) -> bool {
    goals.iter().all(|goal| plan::judge(goal, water).reached)
}

/// The least and the most that a goal allows, tolerance included, native.
fn reach(goal: &Goal) -> (f64, f64) {
    let low = (goal.band.low() - goal.tolerance).max(0.0);
    (low, goal.band.high() + goal.tolerance)
}
