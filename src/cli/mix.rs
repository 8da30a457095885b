//! `mix`: a flight planned.

use std::path::Path;

use crate::cli::bench;
use crate::cli::order::OrderOptions;
use crate::cli::outcome::{Outcome, internal};
use crate::cli::why::{allowed, named};
use crate::files::{Diagnostic, Fault};
use crate::planner::deliver::PATIENCE;
use crate::planner::{Choice, conflicting_goals, plan_choosing, plan_order};
use crate::render;
use crate::report::order_report::nothing_fits;
use crate::report::why_report::conflict_words;
use crate::report::{MixReport, OrderReport};
use crate::waters::Order;

pub(super) fn run(
    bench: Option<&Path>,
    flight: Option<&str>,
    options: &OrderOptions,
    json: bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let one = |mistake| vec![mistake];
    let file = bench.flight_file(flight).map_err(one)?;
    let (flight, stocks, mut order) = bench.ordered_flight(file).map_err(one)?;
    options.apply(&bench, &flight, &stocks, &mut order).map_err(one)?;
    if options.nearest_to.is_some() {
        order = Order::default();
    }
    let mut ordered = plan_order(&flight, &stocks, &order, PATIENCE).map_err(|error| {
        if nothing_fits(&error.source) {
            return vec![
                Diagnostic::new(Fault::Content, error.to_string())
                    .about(&file.path)
                    .remedy("ask for fewer stocks in it, or take a finer dispenser"),
            ];
        }
        internal(&error)
    })?;
    if let Some(name) = &options.nearest_to {
        let target = named(&flight, name).map_err(one)?;
        let place = flight.targets.iter().position(|t| t == target).unwrap_or_default();
        let like = ordered.plans.get(place).map(|p| p.water).unwrap_or_default();
        ordered.plans = plan_choosing(&flight, &stocks, &Choice::NearestTo(like))
            .map_err(|error| internal(&error))?;
    }
    let mut report = MixReport::new(&flight, &stocks, &ordered.plans).map_err(|error| {
        vec![
            Diagnostic::new(Fault::Content, error.to_string())
                .about(&file.path)
                .remedy("set `convention: MadeUpToALitre`, or leave room for base water"),
        ]
    })?;
    for ((water, target), plan) in report.waters.iter_mut().zip(&flight.targets).zip(&ordered.plans)
    {
        if !plan.reached() {
            let stocks = allowed(&flight, target, &stocks, &order);
            let conflict = conflicting_goals(&flight, &stocks, target).map_err(|e| internal(&e))?;
            water.reached_without_limits = conflict.is_empty();
            water.conflict = conflict_words(target, &conflict);
        }
    }
    report.order = OrderReport::new(&flight, &stocks, &order, &ordered);
    if json {
        render::json::document(&report).map_err(|e| internal(&e))
    } else {
        Ok(render::mix::text(&report))
    }
}
