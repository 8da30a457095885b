//! `mix`: a flight planned.

use std::path::Path;

use crate::bench::{Bench, FlightFile};
use crate::cli::arguments::SpreadOptions;
use crate::cli::bench;
use crate::cli::outcome::{Mistakes, Outcome, internal};
use crate::cli::stocktake::{filled, of_records};
use crate::files::{Diagnostic, Fault};
use crate::planner::{Plan, plan_flight};
use crate::quantities::Day;
use crate::render;
use crate::report::stocktake::warnings;
use crate::report::{CostReport, Draws, Lab, MixReport, SpreadReport};
use crate::shelf::Stock;
use crate::waters::Flight;

pub(super) fn run(
    bench: Option<&Path>,
    flight: Option<&str>,
    options: SpreadOptions,
    json: bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let file = bench.flight_file(flight).map_err(|mistake| vec![mistake])?;
    let Planned { flight, stocks, plans, report } = planned(&bench, file)?;
    let lab = Lab::new(bench.boilers).map_err(|error| internal(&error))?;
    let mut report = report.with_glances(&lab, &plans);
    let models = bench.strength_models(&stocks);
    let draws = options.monte_carlo.and_then(|trials| {
        Some(Draws { trials: usize::try_from(trials).ok()?, seed: options.seed })
    });
    report.spread = Some(SpreadReport::new(&flight, &stocks, &models, &bench.tools, &plans, draws));
    report.cost = CostReport::new(&report, &stocks, &bench.water_prices);
    let warnings = warnings(&filled(&bench), &report.stocks_used, &bench.tools, Day::today());
    report.notes.extend(warnings.into_iter().chain(of_records(&bench)));
    report.show_budget = options.budget;
    if json {
        render::json::document(&report).map_err(|e| internal(&e))
    } else {
        Ok(render::mix::text(&report))
    }
}

/// A flight of a bench with its plan.
pub(super) struct Planned {
    pub(super) flight: Flight,
    pub(super) stocks: Vec<Stock>,
    pub(super) plans: Vec<Plan>,
    pub(super) report: MixReport,
}

/// Plans a flight of a bench.
pub(super) fn planned(bench: &Bench, file: &FlightFile) -> Result<Planned, Mistakes> {
    let (flight, stocks) = bench.flight(file).map_err(|mistake| vec![mistake])?;
    let plans = plan_flight(&flight, &stocks).map_err(|error| internal(&error))?;
    let mut report = MixReport::new(&flight, &stocks, &plans).map_err(|error| {
        vec![
            Diagnostic::new(Fault::Content, error.to_string())
                .about(&file.path)
                .remedy("set `convention: MadeUpToALitre`, or leave room for base water"),
        ]
    })?;
    report.name_batches(&bench.bottles);
    Ok(Planned { flight, stocks, plans, report })
}
