//! All waters of a flight in one style, and what is said where they differ in it.
//!
//! With ratios that are stated the style is two more goals in every target: rows of the same
//! linear program. Ratios that are not stated are chosen for the flight as a whole. A program in
//! doses and a shared ratio is not linear, so pairs of shares are tried, each by planning the
//! flight with it, first in tenths and then finer around the best: the best of those tried, and no
//! more is claimed. Where a target is pinned its own shares are the style.

use serde::Serialize;

use crate::chemistry::Composition;
use crate::flight::style::{PAIRS, StyleAsked, share_goal, speaks_of};
use crate::flight::{Flight, Goal, Order, StockRule, StockSet, Style, Target};
use crate::planner::lp::solution::SolveError;
use crate::planner::steps::deliver::TIME_LIMIT;
use crate::planner::whole_flight::plan_order;
use crate::planner::{Plan, PlanError, plan_flight};
use crate::quantities::Millilitres;
use crate::stock::{Note, Stock};
use crate::water::Measure;

/// The style of a flight, for reports.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct StyleReport {
    /// `same salts` or `same ratios`.
    pub asked: &'static str,
    /// The stocks that all waters are made of.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub stocks: Vec<String>,
    /// The ratios that all waters have: what they are of, and the goal.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ratios: Vec<(String, String)>,
    /// Where one of the stocks is not, or in less than its least dose, as `epsom in soft`.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub missing: Vec<String>,
    /// Sets of stocks or pairs of ratios that were tried; nothing where the file says them.
    pub tried: Option<usize>,
}

impl StyleReport {
    /// Whether the waters are not in one style.
    #[must_use]
    pub fn failed(&self) -> bool {
        (self.ratios.is_empty() && self.stocks.is_empty()) || !self.missing.is_empty()
    }

    /// As it was carried out.
    #[must_use]
    pub fn new(style: &Style) -> Self {
        match style {
            Style::SameSalts { stocks, tried, .. } => Self {
                asked: "same salts",
                stocks: stocks.clone(),
                tried: Some(*tried),
                ..Self::default()
            },
            Style::SameRatios { goals, tried } => {
                let words = |goal: &Goal| (goal.subject.label(), goal.words());
                Self {
                    asked: "same ratios",
                    ratios: goals.iter().map(words).collect(),
                    tried: *tried,
                    ..Self::default()
                }
            }
        }
    }
}

/// Settles the pinned waters of a flight, and carries out what it asks of the style of all; `least` is the least dose where it
/// names no dispenser.
///
/// # Errors
/// When the planner has no answer for a flight that was tried.
pub fn carry_out(
    flight: &mut Flight,
    stocks: &[Stock],
    order: &mut Order,
    asked: StyleAsked,
    least: Millilitres,
) -> Result<(), PlanError> {
    settle_pinned(flight, stocks, order)?;
    match asked {
        StyleAsked::Any => {}
        // With a dispenser the planner has a least dose of each and searches the set itself.
        StyleAsked::SameSalts if order.dispenser.is_some() => order.stock_set = StockSet::Same,
        StyleAsked::SameSalts => same_salts(flight, stocks, order, least)?,
        StyleAsked::Ratios(goals) => keep(flight, order, goals, None),
        StyleAsked::SameRatios => {
            let (goals, tried) = if let Some(shares) = pinned_shares(flight, stocks, order)? {
                (ratio_goals(shares), None)
            } else {
                let (goals, tried) = chosen_ratios(flight, stocks, order)?;
                (goals, Some(tried))
            };
            keep(flight, order, goals, tried);
        }
    }
    Ok(())
}

/// Leaves out of pinned waters what would only round their composition: a stock of which a trace
/// makes up for the last digit of an amount. One that goals are missed by more without stays.
fn settle_pinned(flight: &Flight, stocks: &[Stock], order: &mut Order) -> Result<(), PlanError> {
    /// Our choice: less of every ion is a trace, meq/L; about 0.05 mg/L.
    const TRACE: f64 = 0.002;
    /// Our choice: misses larger by a millionth of a unit of miss are as small.
    const AS_SMALL: f64 = 1e-6;
    order.rules.resize(flight.targets.len(), StockRule::default());
    for (n, target) in flight.targets.iter().enumerate() {
        if order.pinned(n).is_none() {
            continue;
        }
        let alone = Flight { targets: vec![target.clone()], ..flight.clone() };
        let allowed: Vec<Stock> =
            stocks.iter().filter(|s| order.allows(n, s.name())).cloned().collect();
        let plans = plan_flight(&alone, &allowed)?;
        let beyond = |plans: &[Plan]| plans.iter().map(|plan| plan.stages.beyond).sum::<f64>();
        let least = beyond(&plans);
        let doses = plans.iter().flat_map(|plan| allowed.iter().zip(&plan.ml_per_l));
        let traces = doses.filter(|(stock, ml)| **ml * stock.meq_per_ml().value() < TRACE);
        let Some(rule) = order.rules.get_mut(n) else { continue };
        let mut kept = allowed.clone();
        for name in traces.map(|(stock, _)| stock.name()) {
            if rule.with.iter().any(|with| with == name) {
                continue;
            }
            let fewer: Vec<Stock> = kept.iter().filter(|s| s.name() != name).cloned().collect();
            let without = plan_flight(&alone, &fewer);
            if without.is_ok_and(|plans| beyond(&plans) <= least + AS_SMALL * least.max(1.0)) {
                rule.without.push(name.to_owned());
                kept = fewer;
            }
        }
    }
    Ok(())
}

/// Puts the goals of a style into every target that is not pinned.
fn keep(flight: &mut Flight, order: &mut Order, goals: Vec<Goal>, tried: Option<usize>) {
    *flight = with(flight, order, &goals);
    order.style = Some(Style::SameRatios { goals, tried });
}

fn with(flight: &Flight, order: &Order, goals: &[Goal]) -> Flight {
    let mut flight = flight.clone();
    for (n, target) in flight.targets.iter_mut().enumerate() {
        if order.pinned(n).is_none() {
            target.goals.extend(goals.iter().cloned());
        }
    }
    flight
}

/// Share of the first ion of each pair among both; nothing for a pair that a water has not.
type Shares = [Option<f64>; PAIRS.len()];

fn ratio_goals(shares: Shares) -> Vec<Goal> {
    let both = PAIRS.into_iter().zip(shares);
    both.filter_map(|(pair, share)| share_goal(pair, share?)).collect()
}

/// Share of the first of two ions among both, in moles; `None` for next to nothing of either.
#[must_use]
pub fn share(water: &Composition, (first, second): (Measure, Measure)) -> Option<f64> {
    /// Our choice: less is no part of a water, meq/L.
    const NEGLIGIBLE: f64 = 0.02;
    let moles = |measure: Measure| {
        let per_mole = if measure == Measure::Chloride { 1.0 } else { 2.0 };
        measure.of(water).max(0.0) / per_mole
    };
    let (one, other) = (moles(first), moles(second));
    (one + other > NEGLIGIBLE).then(|| one / (one + other))
}

/// The shares of the first pinned water of a flight.
fn pinned_shares(
    flight: &Flight,
    stocks: &[Stock],
    order: &Order,
) -> Result<Option<Shares>, PlanError> {
    let Some(place) = order.pinned.iter().position(Option::is_some) else { return Ok(None) };
    let alone = Flight {
        targets: flight.targets.get(place).into_iter().cloned().collect(),
        ..flight.clone()
    };
    let plans = plan_flight(&alone, stocks)?;
    Ok(plans.first().map(|plan| PAIRS.map(|pair| share(&plan.water, pair))))
}

/// How good a flight is: misses beyond tolerance, inside, volume of stocks; less is better.
fn worth(flight: &Flight, stocks: &[Stock], order: &Order) -> Result<[f64; 3], PlanError> {
    let order = Order { rules: order.rules.clone(), ..Order::default() };
    let plans = plan_order(flight, stocks, &order, TIME_LIMIT)?.plans;
    let sum = |of: fn(&Plan) -> f64| plans.iter().map(of).sum();
    Ok([
        sum(|plan| plan.stages.beyond),
        sum(|plan| plan.stages.inside),
        sum(|plan| plan.ml_per_l.iter().sum()),
    ])
}

/// Whether one flight is better than another: the first number that differs decides.
fn better(one: [f64; 3], other: [f64; 3]) -> bool {
    /// Our choice: a millionth of a unit of miss is rounding of the solver.
    const SAME: f64 = 1e-6;
    for (a, b) in one.into_iter().zip(other) {
        if (a - b).abs() > SAME * b.abs().max(1.0) {
            return a < b;
        }
    }
    false
}

/// The pair of shares that suits all targets best, of those tried.
fn chosen_ratios(
    flight: &Flight,
    stocks: &[Stock],
    order: &Order,
) -> Result<(Vec<Goal>, usize), PlanError> {
    let is_there = |(first, second): (Measure, Measure)| {
        let holds = |water: &Composition| first.of(water) > 0.0 || second.of(water) > 0.0;
        stocks.iter().any(|s| holds(&s.recipe().salt.composition_per_meq()))
            || flight.base.iter().any(|b| holds(&b.water.composition))
    };
    let places = |pair: (Measure, Measure), around: Option<Option<f64>>| -> Vec<Option<f64>> {
        if is_there(pair) { tried_around(around.flatten()) } else { vec![None] }
    };
    let [first_pair, second_pair] = PAIRS;
    let mut tried = 0;
    let mut best: Option<([f64; 3], Shares)> = None;
    // The whole range, then around the best of it.
    for _ in 0..2 {
        let centre = best.as_ref().map(|(_, shares)| *shares);
        for first in places(first_pair, centre.map(|[first, _]| first)) {
            for second in places(second_pair, centre.map(|[_, second]| second)) {
                let shares = [first, second];
                let found = worth(&with(flight, order, &ratio_goals(shares)), stocks, order)?;
                tried += 1;
                if best.as_ref().is_none_or(|(known, _)| better(found, *known)) {
                    best = Some((found, shares));
                }
            }
        }
    }
    Ok((best.map_or(Vec::new(), |(_, shares)| ratio_goals(shares)), tried))
}

/// Shares that are tried: tenths, or steps of 2 % around one. Our choice: a ratio is wanted within
/// 5 %, so finer steps would be lost in it.
fn tried_around(centre: Option<f64>) -> Vec<Option<f64>> {
    const TENTH: f64 = 0.1;
    const FIVE_EITHER_WAY: i32 = 5;
    let step = match centre {
        None => TENTH,
        Some(_) => TENTH / f64::from(FIVE_EITHER_WAY),
    };
    let middle = centre.unwrap_or(TENTH * f64::from(FIVE_EITHER_WAY));
    let places = -FIVE_EITHER_WAY..=FIVE_EITHER_WAY;
    let places = places.map(|n| step.mul_add(f64::from(n), middle));
    places
        .filter(|share| (-1e-9..=1.0 + 1e-9).contains(share))
        .map(|s| Some(s.clamp(0.0, 1.0)))
        .collect()
}

/// The set of stocks that miss the least when all of them are in every water, each with its least dose.
fn same_salts(
    flight: &Flight,
    stocks: &[Stock],
    order: &mut Order,
    least: Millilitres,
) -> Result<(), PlanError> {
    /// Our choice: all sets of so many stocks are tried in a second or two; of more stocks those that
    /// some water takes by itself.
    const MOST_STOCKS: usize = 10;
    /// Our choice: misses inside tolerance that grow by a tenth of one for each water are as small.
    const AS_SMALL: f64 = 0.1;
    let pool = pool(flight, stocks, MOST_STOCKS)?;
    let waters = flight.targets.iter().map(|_| 1.0).sum::<f64>();
    let styled = flight.with_least_of_each(least);
    let mut tried = 0;
    let mut best: Option<([f64; 3], Vec<String>)> = None;
    for bits in 1_u32..1 << pool.len() {
        let members: Vec<Stock> = pool
            .iter()
            .enumerate()
            .filter(|(n, _)| bits >> n & 1 == 1)
            .map(|(_, stock)| (*stock).clone())
            .collect();
        let allowed = |stock: &Stock| {
            (0..flight.targets.len()).all(|target| order.allows(target, stock.name()))
        };
        if !members.iter().all(allowed) {
            continue;
        }
        tried += 1;
        let plans = match plan_flight(&styled, &members) {
            // The least doses of so many stocks do not fit into some water.
            Err(PlanError { source: SolveError::LeastDosesTooMany, .. }) => continue,
            plans => plans?,
        };
        let sum = |of: fn(&Plan) -> f64| plans.iter().map(of).sum::<f64>();
        let inside = (sum(|plan| plan.stages.inside) / (AS_SMALL * waters)).floor();
        let count = members.iter().map(|_| 1.0).sum();
        let found = [sum(|plan| plan.stages.beyond), inside, count];
        if best.as_ref().is_none_or(|(known, _)| better(found, *known)) {
            best = Some((found, members.iter().map(|s| s.name().to_owned()).collect()));
        }
    }
    let names = best.map_or(Vec::new(), |(_, names)| names);
    if !names.is_empty() {
        let others = stocks.iter().map(Stock::name).filter(|s| !names.iter().any(|n| n == s));
        let others: Vec<String> = others.map(str::to_owned).collect();
        order.rules.resize(flight.targets.len(), StockRule::default());
        for rule in &mut order.rules {
            rule.without.extend(others.iter().cloned());
        }
    }
    order.style = Some(Style::SameSalts { stocks: names, tried, least });
    Ok(())
}

/// The stocks that sets are made of.
fn pool<'a>(
    flight: &Flight,
    stocks: &'a [Stock],
    most: usize,
) -> Result<Vec<&'a Stock>, PlanError> {
    if stocks.len() <= most {
        return Ok(stocks.iter().collect());
    }
    let plans = plan_flight(flight, stocks)?;
    let taken = |n: usize| -> f64 { plans.iter().filter_map(|plan| plan.ml_per_l.get(n)).sum() };
    let mut ranked: Vec<(f64, &Stock)> =
        stocks.iter().enumerate().map(|(n, stock)| (taken(n), stock)).collect();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    Ok(ranked.into_iter().take(most).map(|(_, stock)| stock).collect())
}

/// What is said of a flight that asks for no style and whose waters differ in it where their goals
/// leave it open.
#[must_use]
pub fn differences(flight: &Flight, order: &Order, plans: &[Plan]) -> Vec<Note> {
    /// Our choice: shares that differ by more than a quarter may be tasted by themselves.
    const MAY_BE_TASTED: f64 = 0.25;
    if order.style.is_some() || order.stock_set == StockSet::Same {
        return Vec::new();
    }
    // The style is one of both pairs.
    let in_all = flight.targets.iter().enumerate().all(|(n, target)| {
        let speaks = |goal: &Goal| PAIRS.into_iter().any(|pair| speaks_of(goal, pair));
        order.pinned(n).is_some() || !target.goals.iter().any(speaks)
    });
    let one = |pair: (Measure, Measure)| {
        let is_open = |(n, target): &(usize, &Target)| {
            order.pinned(*n).is_none() && !target.goals.iter().any(|goal| speaks_of(goal, pair))
        };
        let open = flight.targets.iter().enumerate().filter(is_open);
        let shares: Vec<(&str, f64)> = open
            .filter_map(|(n, target)| {
                Some((target.name.as_str(), share(&plans.get(n)?.water, pair)?))
            })
            .collect();
        let least = shares.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
        let most = shares.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        (most.1 - least.1 > MAY_BE_TASTED).then(|| Note::StyleDiffers {
            of: (pair.0.label(), pair.1.label()),
            least: (least.0.to_owned(), 100.0 * least.1),
            most: (most.0.to_owned(), 100.0 * most.1),
            in_all,
        })
    };
    PAIRS.into_iter().filter_map(one).collect()
}
