//! `stocktake`: what is left. `poured`: a flight that was poured, recorded.

use std::path::Path;

use serde::Serialize;

use crate::app::bottles::{filled, in_a_line, of_records};
use crate::app::mistakes::internal;
use crate::app::{
    FlightRequest, flight_or_water, in_flight, plan_flight_of, target_name, unknown_name,
};
use crate::bench::records;
use crate::bench::records::{NewPour, PouredVolume};
use crate::cli::amount::{bottle_size, day};
use crate::cli::bench;
use crate::cli::outcome::{Outcome, answer, numbered};
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
    waters: &'a [String],
    day: String,
    record: u64,
    taken: Vec<PouredVolume>,
    notes: Vec<Note>,
}

/// What was poured.
pub(super) struct PouredAsked<'a> {
    pub(super) flight: Option<&'a str>,
    pub(super) dispenser: Option<&'a str>,
    pub(super) bottle: Option<&'a str>,
    pub(super) bottles: u32,
    /// Only these waters; all when there is none.
    pub(super) waters: &'a [String],
    pub(super) date: Option<&'a str>,
    pub(super) instead_of: Option<u64>,
}

/// Records that a flight was poured, as it is planned now.
pub(super) fn record(bench: Option<&Path>, asked: &PouredAsked<'_>, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let date = day("--date", asked.date)?;
    // The flight of the first water, where none is named.
    let (file, only) = match (asked.flight, asked.waters.first()) {
        (None, Some(water)) => (in_flight(&bench, None, water)?.0, None),
        (flight, _) => flight_or_water(&bench, flight)?,
    };
    let request = FlightRequest {
        bottle: asked.bottle.map(bottle_size).transpose()?,
        ..FlightRequest::measured_with(asked.dispenser)
    };
    let report = watched(|watch| plan_flight_of(&bench, file, &request, watch))?.report;
    let mut waters: Vec<String> = Vec::new();
    for name in asked.waters.iter().map(String::as_str).chain(only) {
        let known: Vec<&str> = report.waters.iter().map(|w| w.target.as_str()).collect();
        let found = target_name(&bench, file, &known, name);
        if !known.contains(&found.as_str()) {
            return Err(unknown_name("water of this flight", name, &known).into());
        }
        waters.push(found);
    }
    let is_poured = |target: &String| waters.is_empty() || waters.contains(target);
    let taken: Vec<PouredVolume> = report
        .stocks_used
        .iter()
        .filter_map(|used| {
            let poured = report.waters.iter().filter(|w| is_poured(&w.target));
            let doses = poured.flat_map(|w| &w.doses).filter(|dose| dose.stock == used.stock);
            let ml: f64 = doses.map(|dose| dose.ml_per_bottle).sum();
            (ml > 0.0).then(|| PouredVolume {
                stock: used.stock.clone(),
                batch: used.batch.unwrap_or(0),
                ml: ml * f64::from(asked.bottles),
            })
        })
        .collect();
    let amounts: Vec<(String, f64)> = taken.iter().map(|t| (t.stock.clone(), t.ml)).collect();
    let mut notes = overdrawn(&filled(&bench), &amounts);
    let damaged = bench.records.damage();
    notes.extend(damaged.map(|d| Note::DamagedRecord { what: in_a_line(d) }));
    let pour = NewPour {
        day: date,
        flight: &file.stem,
        waters: waters.clone(),
        bottles: asked.bottles,
        bottle_ml: report.bottle_ml,
        taken: taken.clone(),
        instead_of: asked.instead_of,
    };
    let record = records::add_pour(&bench.root, pour)?;
    let day = date.to_string();
    let poured = Poured { flight: &file.stem, waters: &waters, day, record, taken, notes };
    if json {
        return crate::text::json::document(&poured).map_err(|e| internal(&e));
    }
    let what = if waters.is_empty() { "each water".to_owned() } else { waters.join(", ") };
    let mut text = format!("{}: {} × {what}, poured on {date}\n", report.flight, asked.bottles);
    for PouredVolume { stock, ml, .. } in &poured.taken {
        text.push_str(&format!("  {stock}: {ml:.2} mL\n"));
    }
    for note in &poured.notes {
        text.push_str(&format!("* {note}\n"));
    }
    text.push_str(&numbered(record));
    Ok(text)
}
