//! `alternatives`: other recipes for the same water.

use std::path::Path;

use crate::app::mistakes::internal;
use crate::app::{allowed_stocks, in_flight, named_target};
use crate::cli::bench;
use crate::cli::outcome::Outcome;
use crate::mix::AlternativesReport;

pub(super) fn run(
    bench: Option<&Path>,
    target: &str,
    flight: Option<&str>,
    most: usize,
    json: bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let (file, target) = in_flight(&bench, flight, target)?;
    let (flight, stocks, order) = bench.ordered_flight(file)?;
    let target = named_target(&flight, target)?;
    let stocks = allowed_stocks(&flight, target, &stocks, &order);
    let plans = crate::planner::explain::alternatives(&flight, &stocks, target, most)
        .map_err(|e| internal(&e))?;
    let report = AlternativesReport::new(&flight, target, &stocks, &plans);
    if json {
        crate::text::json::document(&report).map_err(|e| internal(&e))
    } else {
        Ok(crate::mix::alternatives_text::text(&report))
    }
}
