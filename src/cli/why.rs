//! `why`: what stands in the way of a water, or what it hangs on.

use std::path::Path;

use crate::cli::bench;
use crate::cli::order::unknown;
use crate::cli::outcome::{Outcome, internal};
use crate::files::Diagnostic;
use crate::flight::{Flight, Order, Target};
use crate::mix::WhyReport;
use crate::stock::{Salt, Stock};

pub(super) fn run(bench: Option<&Path>, target: &str, flight: Option<&str>, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let file = bench.flight_file(flight)?;
    let (flight, stocks, order) = bench.ordered_flight(file)?;
    let target = named(&flight, target)?;
    let stocks = allowed(&flight, target, &stocks, &order);
    // The bench does not know prices of salts that are not on it.
    let no_price = |_: &Salt| None;
    let why = crate::planner::explain::why(&flight, &stocks, target, &bench.salts, &no_price)
        .map_err(|error| internal(&error))?;
    let report = WhyReport::new(&flight, target, &why);
    if json {
        crate::text::json::document(&report).map_err(|e| internal(&e))
    } else {
        Ok(crate::mix::why_text::text(&report))
    }
}

/// The stocks that a target may have.
pub(super) fn allowed(
    flight: &Flight,
    target: &Target,
    stocks: &[Stock],
    order: &Order,
) -> Vec<Stock> {
    let place = flight.targets.iter().position(|t| t.name == target.name).unwrap_or_default();
    stocks.iter().filter(|s| order.allows(place, s.name())).cloned().collect()
}

/// A target by its name, or by its number in the flight.
pub(super) fn named<'a>(flight: &'a Flight, name: &str) -> Result<&'a Target, Diagnostic> {
    let by_name = flight.targets.iter().find(|t| t.name == name);
    let number = name.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
    by_name.or_else(|| number.and_then(|n| flight.targets.get(n))).ok_or_else(|| {
        let known: Vec<&str> = flight.targets.iter().map(|t| t.name.as_str()).collect();
        unknown("target", name, &known)
    })
}
