//! `stocktake`: what is left. `poured`: a flight that was poured, recorded.

use std::path::Path;

use serde::Serialize;

use crate::app::bottles::{filled, in_a_line, of_records};
use crate::app::mistakes::internal;
use crate::app::{FlightRequest, plan_flight_of};
use crate::bench::records;
use crate::bench::records::PouredVolume;
use crate::cli::amount::day;
use crate::cli::bench;
use crate::cli::outcome::{Outcome, answer};
use crate::cli::progress::watched;
use crate::mix::StocktakeReport;
use crate::mix::stocktake::{of_strengths, overdrawn, without_a_stock};
use crate::stock::Note;

pub(super) fn run(bench: Option<&Path>, on: Option<&str>, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    // What is left follows from every pour.
    if let Some(unread) = bench.records.unread_pours.first() {
        return Err(unread.clone().into());
    }
    let mut notes = of_records(&bench);
    notes.extend(without_a_stock(&bench.records.batches, &bench.bottles));
    notes.extend(of_strengths(&filled(&bench), &bench.tools, |_| true));
    let report = StocktakeReport::new(&filled(&bench), day("--on", on)?, notes);
    answer(&report, json, crate::mix::stocktake_text::text)
}

#[derive(Serialize)]
struct Poured<'a> {
    flight: &'a str,
    day: String,
    taken: Vec<PouredVolume>,
    notes: Vec<Note>,
}

/// Records that a flight was poured, as it is planned now.
pub(super) fn record(
    bench: Option<&Path>,
    (flight, asked): (Option<&str>, &FlightRequest),
    bottles: u32,
    date: Option<&str>,
    json: bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let date = day("--date", date)?;
    let file = bench.flight_file(flight)?;
    let report = watched(|watch| plan_flight_of(&bench, file, asked, watch))?.report;
    let taken: Vec<PouredVolume> = report
        .stocks_used
        .iter()
        .map(|used| PouredVolume {
            stock: used.stock.clone(),
            batch: used.batch.unwrap_or(0),
            ml: used.ml * f64::from(bottles),
        })
        .collect();
    let amounts: Vec<(String, f64)> = taken.iter().map(|t| (t.stock.clone(), t.ml)).collect();
    let mut notes = overdrawn(&filled(&bench), &amounts);
    let damaged = bench.records.damage();
    notes.extend(damaged.map(|d| Note::DamagedRecord { what: in_a_line(d) }));
    records::add_pour(&bench.root, date, &file.stem, taken.clone())?;
    let poured = Poured { flight: &file.stem, day: date.to_string(), taken, notes };
    if json {
        return crate::text::json::document(&poured).map_err(|e| internal(&e));
    }
    let mut text = format!("{}: {bottles} × each water, poured on {date}\n", report.flight);
    for PouredVolume { stock, ml, .. } in &poured.taken {
        text.push_str(&format!("  {stock}: {ml:.2} mL\n"));
    }
    for note in &poured.notes {
        text.push_str(&format!("* {note}\n"));
    }
    Ok(text)
}
