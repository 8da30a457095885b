//! `mix`: a flight planned.

use std::path::Path;

use crate::cli::arguments::SpreadOptions;
use crate::cli::bench;
use crate::cli::outcome::{Outcome, internal};
use crate::files::{Diagnostic, Fault};
use crate::planner::plan_flight;
use crate::render;
use crate::report::{Draws, MixReport, SpreadReport};

pub(super) fn run(
    bench: Option<&Path>,
    flight: Option<&str>,
    options: SpreadOptions,
    json: bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let one = |mistake| vec![mistake];
    let file = bench.flight_file(flight).map_err(one)?;
    let (flight, stocks) = bench.flight(file).map_err(one)?;
    let plans = plan_flight(&flight, &stocks).map_err(|error| internal(&error))?;
    let mut report = MixReport::new(&flight, &stocks, &plans).map_err(|error| {
        vec![
            Diagnostic::new(Fault::Content, error.to_string())
                .about(&file.path)
                .remedy("set `convention: MadeUpToALitre`, or leave room for base water"),
        ]
    })?;
    let models = bench.strength_models(&stocks);
    let draws = options.monte_carlo.and_then(|trials| {
        Some(Draws { trials: usize::try_from(trials).ok()?, seed: options.seed })
    });
    report.spread = Some(SpreadReport::new(&flight, &stocks, &models, &bench.tools, &plans, draws));
    report.show_budget = options.budget;
    if json {
        render::json::document(&report).map_err(|e| internal(&e))
    } else {
        Ok(render::mix::text(&report))
    }
}
