//! `why`: why a water is out of reach, or which goals bind.

use std::path::Path;

use crate::bench::{Bench, FlightFile};
use crate::cli::bench;
use crate::cli::order::unknown;
use crate::cli::outcome::{Outcome, internal};
use crate::files::Diagnostic;
use crate::flight::{Flight, Order, Target};
use crate::mix::WhyReport;
use crate::stock::{Salt, Stock};
use crate::text::names;

pub(super) fn run(bench: Option<&Path>, target: &str, flight: Option<&str>, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let (file, target) = in_flight(&bench, flight, target)?;
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
    let known: Vec<&str> = flight.targets.iter().map(|t| t.name.as_str()).collect();
    let meant = names::meant(name, &known);
    let by_name = flight.targets.iter().find(|t| Some(t.name.as_str()) == meant);
    let number = name.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
    by_name
        .or_else(|| number.and_then(|n| flight.targets.get(n)))
        .ok_or_else(|| unknown("target", name, &known))
}

/// The flight of a target: the one that an option names, that of `FLIGHT/TARGET`, the only one that has
/// a target of that name, or the only one there is.
pub(super) fn in_flight<'a, 't>(
    bench: &'a Bench,
    flight: Option<&str>,
    target: &'t str,
) -> Result<(&'a FlightFile, &'t str), Diagnostic> {
    if flight.is_some() {
        return bench.flight_file(flight).map(|file| (file, target));
    }
    if let Some((before, rest)) = target.split_once('/')
        && let Ok(file) = bench.flight_file(Some(before))
    {
        return Ok((file, rest));
    }
    if bench.flights.len() > 1 {
        // A flight that cannot be read has no target here; planning it says what is wrong.
        let has = |file: &&FlightFile| {
            let read = bench.flight(file);
            read.is_ok_and(|(flight, _)| {
                flight.targets.iter().any(|t| names::alike(target, &t.name))
            })
        };
        let having: Vec<&FlightFile> = bench.flights.iter().filter(has).collect();
        if let [only] = having.as_slice() {
            return Ok((only, target));
        }
    }
    bench.flight_file(None).map(|file| (file, target))
}
