//! `mix`: a flight planned.

use std::path::Path;

use crate::assessment::Lab;
use crate::bench::{Bench, FlightFile};
use crate::cli::arguments::SpreadOptions;
use crate::cli::bench;
use crate::cli::order::OrderOptions;
use crate::cli::outcome::{Outcome, internal, unplanned};
use crate::cli::progress;
use crate::cli::stocktake::{filled, of_records};
use crate::cli::why::{allowed, named};
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::flight::{Flight, Order};
use crate::mix::one_style::differences;
use crate::mix::reach_report::{ReachReport, unanswered};
use crate::mix::stocktake::{of_strengths, warnings, without_a_stock};
use crate::mix::why_report::conflict_words;
use crate::mix::{CostReport, Draws, MixReport, OrderReport, SpreadReport, tools_with};
use crate::planner::Plan;
use crate::planner::explain::{conflicting_goals, hints, plan_nearest_to};
use crate::planner::steps::deliver::TIME_LIMIT;
use crate::planner::whole_flight::{Unanswered, Watch, plan_order_watched};
use crate::quantities::Day;
use crate::stock::Note;
use crate::stock::{Stock, Tools};

pub(super) fn run(
    bench: Option<&Path>,
    flight: Option<&str>,
    options: SpreadOptions,
    order: &OrderOptions,
    json: bool,
    partly: &mut bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let file = bench.flight_file(flight)?;
    let Planned { flight, stocks, plans, report, tools, .. } = planned(&bench, file, order)?;
    let lab = Lab::new(bench.boilers).map_err(|error| internal(&error))?;
    let mut report = report.with_glances(&lab, &plans);
    let models = bench.strength_models(&stocks);
    let draws = options.monte_carlo.and_then(|trials| {
        Some(Draws { trials: usize::try_from(trials).ok()?, seed: options.seed })
    });
    report.spread = Some(SpreadReport::new(&flight, &stocks, &models, &tools, &plans, draws));
    report.cost = CostReport::new(&report, &stocks, &bench.water_prices);
    let warnings = warnings(&filled(&bench), &report.stocks_used, &bench.tools, Day::today());
    report.notes.extend(warnings.into_iter().chain(of_records(&bench)));
    let used: Vec<String> = report.stocks_used.iter().map(|s| s.stock.clone()).collect();
    let is_used = |name: &str| used.iter().any(|used| used == name);
    report.notes.extend(of_strengths(&filled(&bench), &bench.tools, is_used));
    let orphans = without_a_stock(&bench.records.batches, &bench.bottles);
    report.notes.extend(orphans.into_iter().filter(
        |note| matches!(note, Note::BatchOfNoStock { now: Some(now), .. } if is_used(now)),
    ));
    let changed = bench.changed_since_session(&file.stem, &report.waters)?;
    report.notes.extend(changed.iter().cloned().map(Note::Changed));
    report.changed_since_session = changed;
    report.show_budget = options.budget;
    *partly = !report.unanswered.is_empty();
    if json {
        crate::text::json::document(&report).map_err(|e| internal(&e))
    } else {
        Ok(crate::mix::mix_text::text(&report))
    }
}

/// A flight of a bench with its plan. Targets without an answer are only in the report.
pub(super) struct Planned {
    pub(super) flight: Flight,
    pub(super) stocks: Vec<Stock>,
    pub(super) plans: Vec<Plan>,
    pub(super) report: MixReport,
    /// What was asked of the bench.
    pub(super) order: Order,
    /// The tools of the bench, with the dispenser of the order in hand.
    pub(super) tools: Tools,
}

/// Plans a flight of a bench as its file and the options ask.
pub(super) fn planned(
    bench: &Bench,
    file: &FlightFile,
    options: &OrderOptions,
) -> Result<Planned, Mistakes> {
    let (mut flight, stocks, mut order) = bench.ordered_flight(file)?;
    options.limit(&mut flight)?;
    options.apply(bench, &flight, &stocks, &mut order)?;
    if options.nearest_to.is_some() {
        if order.dispenser.is_some() {
            return Err(Mistakes::from(
                Diagnostic::new(
                    Fault::Choice,
                    "`--nearest-to` gives doses without steps, and this flight names a dispenser",
                )
                .about(&file.path)
                .remedy("ask for one of the two"),
            ));
        }
        let Order { pinned, style, .. } = order;
        order = Order { pinned, style, ..Order::default() };
    }
    let line = progress::Line::new();
    let listener = |progress: crate::planner::whole_flight::Progress<'_>| line.show(progress);
    let watch = Watch { listener: Some(&listener), stop: None };
    let mut ordered = plan_order_watched(&flight, &stocks, &order, TIME_LIMIT, watch)
        .map_err(|error| unplanned(&error))?;
    drop(line);
    let places = ordered.answered(flight.targets.len());
    let without = unanswered(&flight, &ordered.unanswered);
    let mut likeness = None;
    if let Some(name) = &options.nearest_to {
        let target = named(&flight, name)?;
        let place = flight.targets.iter().position(|t| t == target);
        let like = places.iter().position(|n| Some(*n) == place);
        let like = like.and_then(|n| ordered.plans.get(n)).map(|p| p.water).unwrap_or_default();
        answered_only(&mut flight, &mut order, &ordered.unanswered);
        ordered.plans =
            plan_nearest_to(&flight, &stocks, &like).map_err(|error| unplanned(&error))?;
        likeness = Some(like);
    } else {
        answered_only(&mut flight, &mut order, &ordered.unanswered);
    }
    let mut report =
        MixReport::new(&flight, &stocks, &ordered.plans).map_err(|error| internal(&error))?;
    for (n, _) in ordered.plans.iter().enumerate().filter(|(_, plan)| !plan.reached()) {
        let (Some(water), Some(target)) = (report.waters.get_mut(n), flight.targets.get(n)) else {
            continue;
        };
        let stocks = allowed(&flight, target, &stocks, &order);
        let conflict = conflicting_goals(&flight, &stocks, target).map_err(|e| internal(&e))?;
        water.reached_without_limits = conflict.is_empty();
        water.conflict = conflict_words(target, &conflict);
        let hints = hints(&flight, &stocks, target).map_err(|e| internal(&e))?;
        water.reach = ReachReport::new(flight.limits, &hints);
    }
    if let Some(water) = likeness {
        report.note_likeness(&water);
    }
    report.order = OrderReport::new(&flight, &stocks, &order, &ordered, &bench.tools);
    report.number_waters(&places);
    report.unanswered = without;
    report.name_batches(&bench.bottles);
    report.name_pinned(&order);
    report.notes.extend(differences(&flight, &order, &ordered.plans));
    let tools = tools_with(&bench.tools, order.dispenser.as_ref());
    Ok(Planned { flight, stocks, plans: ordered.plans, report, order, tools })
}

/// Leaves in a flight, and in what it asks of the bench, the targets that have an answer.
fn answered_only(flight: &mut Flight, order: &mut Order, without: &[Unanswered]) {
    order.rules.resize_with(flight.targets.len(), Default::default);
    let has_answer = |n: usize| without.iter().all(|u| u.target != n);
    let mut n = 0..;
    flight.targets.retain(|_| n.next().is_none_or(has_answer));
    let mut n = 0..;
    order.rules.retain(|_| n.next().is_none_or(has_answer));
}
