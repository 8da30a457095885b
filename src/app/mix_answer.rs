//! Everything that `mix` answers of a flight: its plan, how sure it is, what it costs, what is left.

use crate::app::bottles::{filled, of_records};
use crate::app::flight_request::FlightRequest;
use crate::app::mistakes::internal;
use crate::app::planned_flight::{Planned, plan_flight_of};
use crate::assessment::Lab;
use crate::bench::{Bench, FlightFile};
use crate::files::Mistakes;
use crate::mix::flight_map::FlightMap;
use crate::mix::stocktake::{of_strengths, warnings, without_a_stock};
use crate::mix::{Draws, MixReport, SpreadReport};
use crate::planner::whole_flight::Watch;
use crate::quantities::Day;
use crate::stock::Note;
use crate::water::Measure;

/// Plans a flight of a bench and says all there is to say of it. With `draws` the spread is also
/// simulated; with `map` the waters are placed by two measures.
///
/// # Errors
/// As [`plan_flight_of`]; also when a record of the bench cannot be read.
pub fn mix_answer(
    bench: &Bench,
    file: &FlightFile,
    request: &FlightRequest,
    (draws, map): (Option<Draws>, Option<[Measure; 2]>),
    watch: Watch<'_>,
) -> Result<MixReport, Mistakes> {
    let Planned { flight, stocks, plans, report, tools, .. } =
        plan_flight_of(bench, file, request, watch)?;
    let lab = Lab::new(bench.boilers).map_err(|error| internal(&error))?;
    let mut report = report.with_glances(&lab, &plans).for_bottles(request.bottles.unwrap_or(1));
    let models = bench.strength_models(&stocks);
    report.spread = Some(SpreadReport::new(&flight, &stocks, &models, &tools, &plans, draws));
    report.cost = report.priced(&stocks, &bench.water_prices);
    let bottles = filled(bench);
    let warnings = warnings(&bottles, &report.stocks_used, &bench.tools, Day::today());
    report.notes.extend(warnings.into_iter().chain(of_records(bench)));
    let used: Vec<String> = report.stocks_used.iter().map(|s| s.stock.clone()).collect();
    let is_used = |name: &str| used.iter().any(|used| used == name);
    report.notes.extend(of_strengths(&bottles, &bench.tools, is_used));
    let orphans = without_a_stock(&bench.records.batches, &bench.bottles);
    report.notes.extend(orphans.into_iter().filter(
        |note| matches!(note, Note::BatchOfNoStock { now: Some(now), .. } if is_used(now)),
    ));
    let changed = bench.changed_since_session(&file.stem, &report.waters)?;
    report.notes.extend(changed.iter().cloned().map(Note::Changed));
    report.changed_since_session = changed;
    report.count_bottles(&bottles);
    let numbers: Vec<usize> = report.waters.iter().map(|water| water.number).collect();
    report.map = map
        .and_then(|measures| FlightMap::new(&flight, &stocks, (&plans, &numbers), &lab, measures));
    Ok(report)
}
