//! A flight of a bench, planned.

use crate::app::flight_request::{FlightRequest, unknown_name};
use crate::app::mistakes::{internal, unplanned};
use crate::bench::session_folder::SessionFolder;
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
use crate::text::names;

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

/// A target by its name, or by its number in the flight.
///
/// # Errors
/// Lists the targets when there is none of that name.
fn named_target<'a>(flight: &'a Flight, name: &str) -> Result<&'a Target, Diagnostic> {
    let known: Vec<&str> = flight.targets.iter().map(|t| t.name.as_str()).collect();
    let found = place_of(&known, name).and_then(|n| flight.targets.get(n));
    found.ok_or_else(|| unknown_name("target", name, &known))
}

/// The place of a target by its name, or by its number.
fn place_of(known: &[&str], name: &str) -> Option<usize> {
    let meant = names::meant(name, known);
    let by_name = known.iter().position(|known| Some(*known) == meant);
    let number = || name.trim().parse::<usize>().ok().and_then(|n| n.checked_sub(1));
    by_name.or_else(|| number().filter(|n| *n < known.len()))
}

/// The flight that is named before a target, `FLIGHT/TARGET`, or that a session named there was planned of,
/// `SESSION/WATER`; beside it the name of the target alone.
fn named_before<'a, 't>(bench: &'a Bench, typed: &'t str) -> Option<(&'a FlightFile, &'t str)> {
    let (before, target) = typed.split_once('/')?;
    let file = bench.flight_file(Some(before)).or_else(|_| {
        let session = SessionFolder::open(&bench.root, before)?;
        bench.flight_file(Some(&session.waters()?.flight))
    });
    file.ok().map(|file| (file, target))
}

/// What was typed of a target of a flight, without the name of the flight or of a session before it.
#[must_use]
pub(super) fn without_flight<'t>(bench: &Bench, file: &FlightFile, typed: &'t str) -> &'t str {
    match named_before(bench, typed) {
        Some((named, target)) if named.stem == file.stem => target,
        _ => typed,
    }
}

/// Whether a target of a flight is meant, by its name alone or behind `FLIGHT/`.
#[must_use]
pub(super) fn is_target(typed: &str, stem: &str, target: &str) -> bool {
    let is_behind =
        |(flight, name): (&str, &str)| names::alike(flight, stem) && names::alike(name, target);
    names::alike(typed, target) || typed.split_once('/').is_some_and(is_behind)
}

/// A target as its flight calls it, by whatever spelling it was typed: its name in any case, its number,
/// or either behind `FLIGHT/` or `SESSION/`. What fits none is given back as it was typed.
#[must_use]
pub fn target_name(bench: &Bench, file: &FlightFile, known: &[&str], typed: &str) -> String {
    let name = without_flight(bench, file, typed);
    let found = place_of(known, name).and_then(|n| known.get(n));
    found.map_or_else(|| typed.to_owned(), |found| (*found).to_owned())
}

/// The flight that is meant, and the one water of it where `FLIGHT/TARGET`, `SESSION/WATER` or the
/// name of a target is typed.
///
/// # Errors
/// As [`Bench::flight_file`].
pub fn flight_or_water<'a, 't>(
    bench: &'a Bench,
    typed: Option<&'t str>,
) -> Result<(&'a FlightFile, Option<&'t str>), Diagnostic> {
    let flight = bench.flight_file(typed);
    let (Some(typed), Err(_)) = (typed, &flight) else { return flight.map(|file| (file, None)) };
    if let Some((file, target)) = named_before(bench, typed) {
        return Ok((file, Some(target)));
    }
    match having_target(bench, typed).as_slice() {
        [only] => Ok((only, Some(typed))),
        _ => flight.map(|file| (file, None)),
    }
}

/// The flights that have a target of that name.
fn having_target<'a>(bench: &'a Bench, target: &str) -> Vec<&'a FlightFile> {
    let has = |flight: &Flight| flight.targets.iter().any(|t| names::alike(target, &t.name));
    let having = bench.readable_flights().filter(|(_, (flight, ..))| has(flight));
    having.map(|(file, _)| file).collect()
}

/// The flight of a target: the one that an option names, that of `FLIGHT/TARGET` or `SESSION/WATER`, the only one that has
/// a target of that name, or the only one there is. Beside it the name of the target alone.
///
/// # Errors
/// Lists the flights when it is not clear which one is meant.
pub fn in_flight<'a, 't>(
    bench: &'a Bench,
    flight: Option<&str>,
    target: &'t str,
) -> Result<(&'a FlightFile, &'t str), Diagnostic> {
    if flight.is_some() {
        let file = bench.flight_file(flight)?;
        return Ok((file, without_flight(bench, file, target)));
    }
    if let Some(named) = named_before(bench, target) {
        return Ok(named);
    }
    if bench.flights.len() > 1
        && let [only] = having_target(bench, target).as_slice()
    {
        return Ok((only, target));
    }
    bench.flight_file(None).map(|file| (file, target))
}
