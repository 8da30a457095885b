//! `stocktake`: what is left. `poured`: a flight that was poured, recorded.

use std::path::Path;

use serde::Serialize;

use crate::bench::Bench;
use crate::bench::records;
use crate::bench::records::PouredVolume;
use crate::cli::amount::day;
use crate::cli::bench;
use crate::cli::mix::planned;
use crate::cli::order::OrderOptions;
use crate::cli::outcome::{Outcome, internal};
use crate::files::Diagnostic;
use crate::mix::StocktakeReport;
use crate::mix::stocktake::{Filled, of_strengths, overdrawn, without_a_stock};
use crate::stock::Note;
use crate::stock::solubility;

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
    let damaged = bench.records.damage().map(|d| Note::DamagedRecord { what: in_a_line(d) });
    torn.chain(damaged).chain(others).chain(crystals).collect()
}

/// A damage of the records in one line, beside an answer that it may touch.
pub(super) fn in_a_line(damage: &Diagnostic) -> String {
    let details = damage.details();
    let file = details.path.as_ref().and_then(|p| p.file_name()).unwrap_or_default();
    format!(
        "records/{}: {}; what is said of the bottles may be wrong (`waterflight check`)",
        file.to_string_lossy(),
        details.title
    )
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
    day: String,
    taken: Vec<PouredVolume>,
    notes: Vec<Note>,
}

/// Records that a flight was poured, as it is planned now.
pub(super) fn record(
    bench: Option<&Path>,
    (flight, order): (Option<&str>, &OrderOptions),
    bottles: u32,
    date: Option<&str>,
    json: bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let date = day("--date", date)?;
    let file = bench.flight_file(flight)?;
    let report = planned(&bench, file, order)?.report;
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
