//! `stocktake`: what is left. `poured`: a flight that was poured, recorded.

use std::path::Path;

use serde::Serialize;

use crate::bench::Bench;
use crate::bench::records;
use crate::bench::records::PouredVolume;
use crate::cli::amount::day;
use crate::cli::bench;
use crate::cli::history::numbered;
use crate::cli::mix::planned;
use crate::cli::order::{OrderOptions, unknown};
use crate::cli::outcome::{Outcome, internal};
use crate::mix::StocktakeReport;
use crate::mix::stocktake::{Filled, of_strengths, overdrawn, without_a_stock};
use crate::stock::Note;
use crate::stock::solubility;
use crate::text::names;

pub(super) fn run(bench: Option<&Path>, on: Option<&str>, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let mut notes = of_records(&bench);
    notes.extend(without_a_stock(&bench.records.batches, &bench.bottles));
    notes.extend(of_strengths(&filled(&bench), &bench.tools, |_| true));
    let report = StocktakeReport::new(&filled(&bench), day("--on", on)?, notes);
    if json {
        crate::text::json::document(&report).map_err(|e| internal(&e))
    } else {
        Ok(crate::mix::stocktake_text::text(&report))
    }
}

/// Every bottle with what was poured from it.
pub(super) fn filled(bench: &Bench) -> Vec<Filled<'_>> {
    bench
        .stocks
        .iter()
        .zip(&bench.bottles)
        .map(|(stock, bottle)| Filled {
            stock: &stock.value,
            bottle,
            poured_ml: bench.poured_ml(bottle),
        })
        .collect()
}

/// What is to be known of the records of a bench.
pub(super) fn of_records(bench: &Bench) -> Vec<Note> {
    let logs = bench.records.torn.iter();
    let torn = logs.map(|log| Note::TornRecord { log: log.display().to_string() });
    let others = set_aside(bench, |_| true);
    let crystals = bench.stocks.iter().zip(&bench.bottles).filter_map(|(stock, bottle)| {
        let refusal = solubility::check(&stock.value, bottle.storage).err()?;
        Some(Note::Crystals { why: refusal.to_string() })
    });
    torn.chain(others).chain(crystals).collect()
}

/// The newest batches of some stocks that are of another salt than the stock's file names now.
pub(super) fn set_aside(bench: &Bench, is_meant: impl Fn(&str) -> bool) -> Vec<Note> {
    let meant = bench.set_aside.iter().filter(|batch| is_meant(&batch.stock));
    meant
        .map(|batch| Note::BatchOfAnotherSalt {
            stock: batch.stock.clone(),
            batch: batch.number,
            salt: batch.salt.clone(),
        })
        .collect()
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
    pub(super) order: &'a OrderOptions,
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
    let file = bench.flight_file(asked.flight)?;
    let report = planned(&bench, file, asked.order)?.report;
    let mut waters: Vec<String> = Vec::new();
    for name in asked.waters {
        let known: Vec<&str> = report.waters.iter().map(|w| w.target.as_str()).collect();
        let found = names::meant(name, &known)
            .ok_or_else(|| unknown("water of this flight", name, &known))?;
        waters.push(found.to_owned());
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
    let notes = overdrawn(&filled(&bench), &amounts);
    let record = records::add_pour(&bench.root, date, &file.stem, taken.clone(), asked.instead_of)?;
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
