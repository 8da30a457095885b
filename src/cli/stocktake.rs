//! `stocktake`: what is left. `poured`: a flight that was poured, recorded.

use std::path::Path;

use clap::Args;

use crate::app::bottles::take_stock;
use crate::app::poured_flight::{PourRequest, PouredFlight, record_pour};
use crate::cli::amount::{bottle_size, day};
use crate::cli::bench;
use crate::cli::outcome::{Outcome, answer};
use crate::cli::progress::watched;

/// What was poured.
#[derive(Debug, Args)]
pub(super) struct PouredOptions {
    /// File name of the flight without its ending; may be left out when there is only one.
    flight: Option<String>,
    /// What the doses were measured with; the flight's own dispenser when left out.
    #[arg(long, value_name = "NAME")]
    dispenser: Option<String>,
    /// Bottles of each water.
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=1000))]
    bottles: u32,
    /// Only this water of the flight; may be given several times.
    #[arg(long, value_name = "NAME")]
    water: Vec<String>,
    /// Size of the bottles, where it is not that of the flight.
    #[arg(long, value_name = "VOLUME")]
    bottle: Option<String>,
    /// The day, whose bottles it was poured from; today when left out.
    #[arg(long, value_name = "DATE")]
    date: Option<String>,
    /// Takes the place of this record of a pour.
    #[arg(long, value_name = "RECORD")]
    instead_of: Option<u64>,
}

pub(super) fn run(bench: Option<&Path>, on: Option<&str>, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let report = take_stock(&bench, day("--on", on)?)?;
    answer(&report, json, crate::mix::stocktake_text::text)
}

/// Records that a flight was poured.
pub(super) fn record(bench: Option<&Path>, options: &PouredOptions, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let asked = PourRequest {
        flight: options.flight.as_deref(),
        waters: &options.water,
        dispenser: options.dispenser.as_deref(),
        day: day("--date", options.date.as_deref())?,
        bottle: options.bottle.as_deref().map(bottle_size).transpose()?,
        bottles: options.bottles,
        instead_of: options.instead_of,
    };
    let poured = watched(|watch| record_pour(&bench, &asked, watch))?;
    answer(&poured, json, PouredFlight::text)
}
