//! Whether a water of a flight can be made, as `mix` says it, for whoever else says so.

use std::time::{Duration, Instant};

use crate::app::mistakes::unplanned;
use crate::files::Mistakes;
use crate::flight::{BaseShare, DoseLimits, Flight, Order, StockSet};
use crate::mix::kept_out::{Asked, KeptOut};
use crate::mix::why_report::AsMade;
use crate::planner::explain::Why;
use crate::planner::explain::out_of_reach::{Unlimited, without_limit};
use crate::planner::steps::deliver::TIME_LIMIT;
use crate::planner::whole_flight::plan_order;
use crate::planner::{Plan, plan_flight};
use crate::quantities::Fraction;
use crate::stock::Stock;
use crate::water::BaseWater;

/// The plan of each target as `mix` makes it; nothing for one without an answer.
///
/// # Errors
/// When the flight has no plan.
pub(crate) fn plans_of(
    flight: &Flight,
    stocks: &[Stock],
    order: &Order,
) -> Result<Vec<Option<Plan>>, Mistakes> {
    let ordered =
        plan_order(flight, stocks, order, TIME_LIMIT).map_err(|error| unplanned(&error))?;
    let mut plans = vec![None; flight.targets.len()];
    for (place, plan) in ordered.answered(flight.targets.len()).into_iter().zip(ordered.plans) {
        if let Some(known) = plans.get_mut(place) {
            *known = Some(plan);
        }
    }
    Ok(plans)
}

/// The plan of one target as `mix` makes it.
fn plan_at(
    (flight, stocks): (&Flight, &[Stock]),
    order: &Order,
    place: usize,
) -> Result<Option<Plan>, Mistakes> {
    Ok(plans_of(flight, stocks, order)?.into_iter().nth(place).flatten())
}

/// The plan of the target at this place where `mix` has it in reach; nothing where not. Where no water
/// hangs together with another it is planned alone.
fn reached((flight, stocks): (&Flight, &[Stock]), order: &Order, place: usize) -> Option<Plan> {
    let reached = |flight: &Flight, order: &Order, place: usize| {
        plan_at((flight, stocks), order, place).ok().flatten().filter(Plan::reached)
    };
    let is_by_itself = order.left.is_empty() && order.stock_set == StockSet::Any;
    match flight.targets.get(place).filter(|_| is_by_itself) {
        Some(target) => {
            let alone = Flight { targets: vec![target.clone()], ..flight.clone() };
            let rules = vec![order.rule(place)];
            reached(&alone, &Order { rules, pinned: Vec::new(), ..order.clone() }, 0)
        }
        None => reached(flight, order, place),
    }
}

/// What keeps the target at this place out of reach, beside its goals and the stocks of the flight;
/// nothing for one that `mix` makes, or that no stocks of the flight reach. `goals_kept` says whether
/// they can be kept with the stocks that the water may have, in doses of any size; beside it the plan.
///
/// # Errors
/// When the flight has no plan.
pub(super) fn kept_out(
    (flight, stocks): (&Flight, &[Stock]),
    order: &Order,
    place: usize,
    goals_kept: bool,
) -> Result<Option<(KeptOut, Option<Plan>)>, Mistakes> {
    let Some(target) = flight.targets.get(place) else { return Ok(None) };
    let mut asked = Asked::of(order, place);
    if goals_kept && asked.is_empty() {
        return Ok(None);
    }
    let plan = plan_at((flight, stocks), order, place)?;
    if goals_kept && plan.as_ref().is_some_and(Plan::reached) {
        return Ok(None);
    }
    let mut may_be_alone = asked.clone();
    if !goals_kept {
        let alone = Flight { targets: vec![target.clone()], ..flight.clone() };
        let whole_shelf = plan_flight(&alone, stocks);
        if !whole_shelf.is_ok_and(|plans| plans.iter().all(Plan::reached)) {
            return Ok(None);
        }
        // Without what leaves stocks out no doses of any size do.
        let leaving_out = Asked::leaving_out(order);
        asked.retain(|one| *one != leaving_out);
        asked.insert(0, leaving_out);
        may_be_alone = vec![leaving_out];
    }
    let without = |some: &[Asked]| {
        let free = some.iter().fold(order.clone(), |order, one| one.taken_from(&order, place));
        reached((flight, stocks), &free, place).is_some()
    };
    may_be_alone.retain(|one| without(&[*one]));
    let each_alone = !may_be_alone.is_empty();
    let by = if each_alone { may_be_alone } else { together(asked, without) };
    let kept = KeptOut::new((by, each_alone, goals_kept), (order, place), (target, plan.as_ref()));
    Ok(Some((kept, plan)))
}

/// Of what keeps a water out together, so much that none of it could stay.
fn together(asked: Vec<Asked>, without: impl Fn(&[Asked]) -> bool) -> Vec<Asked> {
    let mut taken = asked.clone();
    for one in asked {
        let fewer: Vec<Asked> = taken.iter().copied().filter(|other| *other != one).collect();
        if !fewer.is_empty() && without(&fewer) {
            taken = fewer;
        }
    }
    taken
}

/// What of an answer in doses of any size holds as the flight is made: each reason and each remedy tried
/// again with all that the flight asks.
pub(super) fn as_made(
    found: &Why,
    (flight, stocks): (&Flight, &[Stock]),
    order: &Order,
    place: usize,
) -> AsMade {
    let is_reached = |flight: &Flight| reached((flight, stocks), order, place).is_some();
    let limited = |limits: DoseLimits| Flight { limits, ..flight.clone() };
    let mut hints = found.hints.clone();
    hints.lifted.retain(|kind| is_reached(&limited(without_limit(flight.limits, *kind))));
    hints.without_limits = hints
        .without_limits
        .and_then(|_| reached((&limited(DoseLimits::NONE), stocks), order, place))
        .map(|plan| Unlimited::of(&plan, flight.convention));
    hints.distilled = hints.distilled && {
        let mut thinned = flight.clone();
        let distilled = BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) };
        thinned.base.push(distilled);
        is_reached(&thinned)
    };
    let mut enough_to_leave_out = found.enough_to_leave_out.clone();
    enough_to_leave_out.retain(|goal| {
        let mut fewer = flight.clone();
        if let Some(target) = fewer.targets.get_mut(place) {
            target.goals.remove(*goal);
            // Nothing asked is always kept.
            if target.goals.is_empty() {
                return true;
            }
        }
        is_reached(&fewer)
    });
    let deadline = Instant::now() + REMEDIES_WITHIN;
    let remedies = found.remedies.iter().map(|remedy| {
        let stocked = [stocks, &remedy.stocks].concat();
        Instant::now() < deadline && reached((flight, &stocked), order, place).is_some()
    });
    AsMade { remedies: remedies.collect(), hints, enough_to_leave_out }
}

/// Our choice: nobody waits longer than this for remedies to be tried as the flight is made; those that
/// come behind are not said to help.
const REMEDIES_WITHIN: Duration = Duration::from_secs(5);
