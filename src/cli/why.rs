//! `why`: why a water is out of reach, or which goals bind.

use std::path::Path;

use crate::app::mistakes::internal;
use crate::app::{allowed_stocks, in_flight, named_target};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome};
use crate::mix::WhyReport;
use crate::stock::Salt;

pub(super) fn run(bench: Option<&Path>, target: &str, flight: Option<&str>, how: How) -> Outcome {
    let bench = bench::open(bench)?;
    let (file, target) = in_flight(&bench, flight, target)?;
    let (flight, stocks, order) = bench.ordered_flight(file)?;
    let target = named_target(&flight, target)?;
    let stocks = allowed_stocks(&flight, target, &stocks, &order);
    // The bench does not know prices of salts that are not on it.
    let no_price = |_: &Salt| None;
    let why = crate::planner::explain::why(&flight, &stocks, target, &bench.salts, &no_price)
        .map_err(|error| internal(&error))?;
    let report = WhyReport::new(&flight, target, &why);
    if how.json {
        crate::text::json::document(&report).map_err(|e| internal(&e))
    } else {
        Ok(crate::mix::why_text::text(&report, how.extent))
    }
}
