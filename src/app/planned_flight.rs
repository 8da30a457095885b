//! A flight of a bench, planned.

use crate::app::flight_request::FlightRequest;
use crate::app::mistakes::{internal, unplanned};
use crate::app::named_flight::{in_flight, named_target, without_flight};
use crate::bench::{Bench, FlightFile};
use crate::files::{Diagnostic, Mistakes};
use crate::flight::{Flight, Order, StockSet, Target};
use crate::mix::kept_out::Asked;
use crate::mix::one_style::differences;
use crate::mix::reach_report::{ReachReport, unanswered};
use crate::mix::why_report::conflict_words;
use crate::mix::{MixReport, OrderReport, tools_with};
use crate::planner::Plan;
use crate::planner::explain::{Explainer, plan_nearest_to};
use crate::planner::steps::deliver::TIME_LIMIT;
use crate::planner::whole_flight::{Watch, plan_order_watched};
use crate::stock::{Stock, Tools};

/// A flight of a bench with its plan. Targets without an answer are only in the report.
#[derive(Debug, Clone)]
pub struct Planned {
    /// The flight, with the targets that have an answer.
    pub flight: Flight,
    /// The stocks it may use.
    pub stocks: Vec<Stock>,
    /// A plan for each target.
    pub plans: Vec<Plan>,
    /// What the plan says.
    pub report: MixReport,
    /// What was asked of the bench.
    pub order: Order,
    /// The tools of the bench, with the dispenser of the order in hand.
    pub tools: Tools,
}

/// Plans a flight of a bench as its file and the request ask.
///
/// # Errors
/// The mistake in its file or in the request; that something was not measured; that no plan was found.
pub fn plan_flight_of(
    bench: &Bench,
    file: &FlightFile,
    request: &FlightRequest,
    watch: Watch<'_>,
) -> Result<Planned, Mistakes> {
    let (mut flight, stocks, mut order) = bench.ordered_flight(file)?;
    request.limit(&mut flight);
    request.apply(bench, (file, &flight), &stocks, &mut order)?;
    if request.nearest_to.is_some() {
        free_of_others(file, &order)?;
    }
    let mut ordered = plan_order_watched(&flight, &stocks, &order, TIME_LIMIT, watch)
        .map_err(|error| unplanned(&error))?;
    let mut places = ordered.answered(flight.targets.len());
    let mut without = unanswered(&flight, &ordered.unanswered);
    let only = match &request.only {
        Some(name) => Some(named_target(&flight, without_flight(bench, file, name))?.name.clone()),
        None => None,
    };
    let mut likeness = None;
    if let Some(name) = &request.nearest_to {
        let target = named_target(&flight, without_flight(bench, file, name))?;
        let place = flight.targets.iter().position(|t| t == target);
        let like = places.iter().position(|n| Some(*n) == place);
        let like = like.and_then(|n| ordered.plans.get(n)).map(|p| *p.water).unwrap_or_default();
        retain_targets(&mut flight, &mut order, |n| is_answered(&places, n));
        ordered.plans =
            plan_nearest_to(&flight, &stocks, &order, &like).map_err(|error| unplanned(&error))?;
        likeness = Some(like);
    } else {
        retain_targets(&mut flight, &mut order, |n| is_answered(&places, n));
    }
    // The flight was planned as a whole: one water of it is the same alone.
    if let Some(only) = only {
        let is_asked: Vec<bool> = flight.targets.iter().map(|t| t.name == only).collect();
        let keep = |n: usize| is_asked.get(n).is_some_and(|is| *is);
        retain_targets(&mut flight, &mut order, keep);
        retain_places(&mut ordered.plans, keep);
        retain_places(&mut ordered.delivered, keep);
        retain_places(&mut places, keep);
        without.retain(|line| line.target == only);
    }
    let mut report =
        MixReport::new(&flight, &stocks, &ordered.plans).map_err(|error| internal(&error))?;
    // What is stated for one target serves the next with the same stocks.
    let mut explainer: Option<(Vec<bool>, Explainer)> = None;
    for (n, _) in ordered.plans.iter().enumerate().filter(|(_, plan)| !plan.reached()) {
        let (Some(water), Some(target)) = (report.waters.get_mut(n), flight.targets.get(n)) else {
            continue;
        };
        let members: Vec<bool> = stocks.iter().map(|s| order.allows(n, s.name())).collect();
        let explainer = match &mut explainer {
            Some((of, known)) if *of == members => known,
            none_or_other => {
                let stocks = allowed_stocks(&order, n, &stocks);
                &mut none_or_other.insert((members, Explainer::new(&flight, &stocks))).1
            }
        };
        let conflict = explainer.conflicting_goals(target).map_err(|e| internal(&e))?;
        water.reached_without_limits = conflict.is_empty();
        water.conflict = conflict_words(target, &conflict);
        let hints = explainer.hints(target).map_err(|e| internal(&e))?;
        let is_more_asked = !Asked::of(&order, n).is_empty();
        let reach = ReachReport::new(flight.limits, &hints);
        water.reach = reach.map(|reach| reach.any_size(is_more_asked));
    }
    if let Some(water) = likeness {
        report.note_likeness(&water);
    }
    report.order = OrderReport::new(&flight, &stocks, &order, &ordered, &bench.tools);
    report.number_waters(&places);
    report.unanswered = without;
    report.name_batches(&bench.bottles);
    report.name_pinned(&order);
    report.named_before_waters = (bench.flights.len() > 1).then(|| file.stem.clone());
    report.notes.extend(differences(&flight, &order, &ordered.plans));
    let tools = tools_with(&bench.tools, order.dispenser.as_ref());
    Ok(Planned { flight, stocks, plans: ordered.plans, report, order, tools })
}

/// Likeness is sought for each water by itself and in doses without steps: a mistake where a flight asks
/// for what it would not keep.
fn free_of_others(file: &FlightFile, order: &Order) -> Result<(), Diagnostic> {
    let (asked, way_out) = if order.dispenser.is_some() {
        ("names a dispenser", "add `--dispenser none`: doses without its steps")
    } else if order.stock_set != StockSet::Any {
        (
            "limits the set of its stocks",
            "ask for one of the two: take `stock_set` out of the flight",
        )
    } else if !order.left.is_empty() {
        ("says what is left of its stocks", "ask for one of the two: take `left` out of the flight")
    } else {
        return Ok(());
    };
    let what = format!(
        "`--nearest-to` gives doses without steps, each water by itself, and this flight {asked}"
    );
    Err(Diagnostic::choice(what).about(&file.path).remedy(way_out))
}

/// Leaves in a flight, and in what it asks of the bench, the targets at some places.
fn retain_targets(flight: &mut Flight, order: &mut Order, keep: impl Fn(usize) -> bool + Copy) {
    order.rules.resize_with(flight.targets.len(), Default::default);
    order.pinned.resize_with(flight.targets.len(), Default::default);
    retain_places(&mut flight.targets, keep);
    retain_places(&mut order.rules, keep);
    retain_places(&mut order.pinned, keep);
}

/// Whether a place is among those of the targets that have an answer, which are in order.
fn is_answered(places: &[usize], n: usize) -> bool {
    places.binary_search(&n).is_ok()
}

/// Leaves in a list what stands at some places.
fn retain_places<T>(list: &mut Vec<T>, keep: impl Fn(usize) -> bool) {
    let mut n = 0..;
    list.retain(|_| n.next().is_some_and(&keep));
}

/// The stocks that the target at a place may have.
#[must_use]
pub(super) fn allowed_stocks(order: &Order, place: usize, stocks: &[Stock]) -> Vec<Stock> {
    stocks.iter().filter(|s| order.allows(place, s.name())).cloned().collect()
}

/// A target that is named, with its flight and all that is asked of it.
pub(super) struct Stated {
    pub(super) flight: Flight,
    pub(super) stocks: Vec<Stock>,
    pub(super) order: Order,
    pub(super) place: usize,
    pub(super) target: Target,
}

impl Stated {
    /// The target is named as in [`in_flight`].
    pub(super) fn of(
        bench: &Bench,
        flight: Option<&str>,
        target: &str,
    ) -> Result<Self, Diagnostic> {
        let (file, target) = in_flight(bench, flight, target)?;
        let (flight, stocks, order) = bench.ordered_flight(file)?;
        let target = named_target(&flight, target)?.clone();
        let place = flight.targets.iter().position(|t| t.name == target.name).unwrap_or_default();
        Ok(Self { flight, stocks, order, place, target })
    }
}
