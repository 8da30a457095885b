//! Targets, analyses and planned waters of a bench as tables that can be read back.

use crate::app::flight_request::FlightRequest;
use crate::app::named_flight::flight_or_water;
use crate::app::planned_flight::plan_flight_of;
use crate::bench::Bench;
use crate::files::{Diagnostic, Mistakes};
use crate::mix::table_report::{self, Table};
use crate::planner::whole_flight::Watch;
use crate::water::BaseWater;

/// The base waters of a bench.
#[must_use]
pub fn analyses_table(bench: &Bench) -> Table {
    let waters: Vec<BaseWater> = bench.waters.iter().map(|w| w.value.clone()).collect();
    table_report::analyses(&waters, &bench.water_prices)
}

/// The targets of a flight with their goals; of the only one when none is named.
///
/// # Errors
/// When it is not clear which flight is meant, or its file cannot be read.
pub fn targets_table(bench: &Bench, flight: Option<&str>) -> Result<Table, Diagnostic> {
    let (flight, _, order) = bench.ordered_flight(bench.flight_file(flight)?)?;
    Ok(table_report::targets(&flight, &order))
}

/// The waters that a planned flight gives, or one of them. The doses are those of `mix`: in whole steps
/// where the flight names a dispenser.
///
/// # Errors
/// As [`plan_flight_of`]; also when a batch cannot be read, which may be in any bottle.
pub fn planned_table(
    bench: &Bench,
    flight: Option<&str>,
    watch: Watch<'_>,
) -> Result<Table, Mistakes> {
    bench.strengths_known()?;
    let (file, only) = flight_or_water(bench, flight)?;
    let request = FlightRequest { only: only.map(str::to_owned), ..FlightRequest::default() };
    let planned = plan_flight_of(bench, file, &request, watch)?;
    Ok(table_report::planned(&planned.flight, &planned.stocks, &planned.plans))
}
