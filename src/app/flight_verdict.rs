//! Whether a water of a flight can be made, as `mix` says it, for whoever else says so.

use crate::app::mistakes::unplanned;
use crate::files::Mistakes;
use crate::flight::{Flight, Order};
use crate::mix::kept_out::{Asked, KeptOut};
use crate::planner::steps::deliver::TIME_LIMIT;
use crate::planner::whole_flight::plan_order;
use crate::planner::{Plan, plan_flight};
use crate::stock::Stock;

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
    let is_reached = |plan: &Option<Plan>| plan.as_ref().is_some_and(Plan::reached);
    let (by, each_alone, plan) = if goals_kept {
        let asked = Asked::of(order, place);
        if asked.is_empty() {
            return Ok(None);
        }
        let plan = plan_at((flight, stocks), order, place)?;
        if is_reached(&plan) {
            return Ok(None);
        }
        let mut alone = Vec::new();
        for one in &asked {
            if is_reached(&plan_at((flight, stocks), &one.taken_from(order, place), place)?) {
                alone.push(*one);
            }
        }
        let each_alone = !alone.is_empty();
        (if each_alone { alone } else { asked }, each_alone, plan)
    } else {
        let alone = Flight { targets: vec![target.clone()], ..flight.clone() };
        let whole_shelf = plan_flight(&alone, stocks).map_err(|error| unplanned(&error))?;
        if !whole_shelf.iter().all(Plan::reached) {
            return Ok(None);
        }
        (vec![Asked::leaving_out(order)], true, plan_at((flight, stocks), order, place)?)
    };
    let kept = KeptOut::new((by, each_alone, goals_kept), (order, place), (target, plan.as_ref()));
    Ok(Some((kept, plan)))
}
