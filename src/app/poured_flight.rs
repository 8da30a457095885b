//! A flight that was poured, taken from the bottles as it is planned now.

use serde::Serialize;

use crate::app::bottles::{damaged, filled};
use crate::app::flight_request::{FlightRequest, twice};
use crate::app::named_flight::{flight_or_water, in_flight, target_name, unknown_name};
use crate::app::planned_flight::plan_flight_of;
use crate::bench::history::undo_hint;
use crate::bench::records::{NewPour, PouredVolume, add_pour};
use crate::bench::{Bench, FlightFile};
use crate::files::{Diagnostic, Mistakes};
use crate::mix::MixReport;
use crate::mix::stocktake::overdrawn;
use crate::planner::whole_flight::Watch;
use crate::quantities::{Day, Litres};
use crate::stock::Note;

/// What was poured.
#[derive(Debug, Clone)]
pub struct PourRequest<'a> {
    /// The flight, or one water of it; that of the first water, or the only one, when none is named.
    pub flight: Option<&'a str>,
    /// Only these waters; all when there is none.
    pub waters: &'a [String],
    /// What the doses were measured with; the flight's own dispenser when none is named.
    pub dispenser: Option<&'a str>,
    /// Size of a bottle, where it is not that of the flight.
    pub bottle: Option<Litres>,
    /// Bottles of each water.
    pub bottles: u32,
    /// The day.
    pub day: Day,
    /// The record of a pour that it takes the place of.
    pub instead_of: Option<u64>,
}

/// A pour that is recorded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PouredFlight {
    /// File name of the flight.
    pub flight: String,
    /// Title of the flight.
    #[serde(skip)]
    pub title: String,
    /// The waters that were poured; all of the flight when none is named.
    pub waters: Vec<String>,
    /// Bottles of each water.
    #[serde(skip)]
    pub bottles: u32,
    /// The day.
    pub day: String,
    /// Number of the record.
    pub record: u64,
    /// What was taken from the bottles.
    pub taken: Vec<PouredVolume>,
    /// What is to be known of the bottles.
    pub notes: Vec<Note>,
}

/// Records that a flight was poured, as it is planned now.
///
/// # Errors
/// When the flight cannot be planned, has no such water, or the disk does not take the record.
pub fn record_pour(
    bench: &Bench,
    asked: &PourRequest<'_>,
    watch: Watch<'_>,
) -> Result<PouredFlight, Mistakes> {
    // The flight of the first water, where none is named.
    let (file, only) = match (asked.flight, asked.waters.first()) {
        (None, Some(water)) => (in_flight(bench, None, water)?.0, None),
        (flight, _) => flight_or_water(bench, flight)?,
    };
    let request = FlightRequest {
        bottle: asked.bottle,
        bottles: Some(asked.bottles),
        ..FlightRequest::measured_with(asked.dispenser)
    };
    // It was poured from the bottles of its day, with the doses that those gave.
    let then = (asked.day < Day::today()).then(|| bench.as_of(asked.day)).transpose()?;
    let then = then.as_ref().unwrap_or(bench);
    let report = plan_flight_of(then, file, &request, watch)?.report;
    let named = asked.waters.iter().map(String::as_str).chain(only);
    let waters: Vec<String> =
        named.map(|name| water_of(bench, file, &report, name)).collect::<Result<_, _>>()?;
    let again =
        waters.iter().enumerate().find(|(n, water)| waters.iter().take(*n).any(|w| w == *water));
    if let Some((_, water)) = again {
        return Err(twice("the water", water)
            .remedy("name it once, and say with `--bottles` how many bottles of it were poured")
            .into());
    }
    let taken = taken(&report, &waters, asked.bottles);
    let mut notes = later_batches(bench, then, &taken);
    let is_said = |poured: &&PouredVolume| {
        notes.iter().any(|note| {
            matches!(note, Note::BatchOfLaterDay { stock, poured_from: None, .. } if *stock == poured.stock)
        })
    };
    let counted = taken.iter().filter(|poured| !is_said(poured));
    let amounts: Vec<(String, f64)> = counted.map(|t| (t.stock.clone(), t.ml)).collect();
    notes.extend(overdrawn(&filled(then), &amounts));
    notes.extend(damaged(bench));
    let pour = NewPour {
        day: asked.day,
        flight: &file.stem,
        waters: waters.clone(),
        bottles: asked.bottles,
        bottle_ml: report.bottle_ml,
        taken: taken.clone(),
        instead_of: asked.instead_of,
    };
    let record = add_pour(&bench.root, pour)?;
    Ok(PouredFlight {
        flight: file.stem.clone(),
        title: report.flight,
        waters,
        bottles: asked.bottles,
        day: asked.day.to_string(),
        record,
        taken,
        notes,
    })
}

/// The stocks of a pour whose newest batch was made after it.
fn later_batches(now: &Bench, then: &Bench, taken: &[PouredVolume]) -> Vec<Note> {
    let later = taken.iter().filter_map(|PouredVolume { stock, .. }| {
        let newest = now.batch_in_bottle(stock)?;
        let poured_from = then.batch_in_bottle(stock).map(|batch| batch.number);
        (poured_from != Some(newest.number)).then(|| Note::BatchOfLaterDay {
            stock: stock.clone(),
            batch: newest.number,
            day: newest.day,
            poured_from,
        })
    });
    later.collect()
}

fn water_of(
    bench: &Bench,
    file: &FlightFile,
    report: &MixReport,
    name: &str,
) -> Result<String, Diagnostic> {
    let known: Vec<&str> = report.waters.iter().map(|w| w.target.as_str()).collect();
    let found = target_name(bench, file, &known, name);
    if known.contains(&found.as_str()) {
        Ok(found)
    } else {
        Err(unknown_name("water of this flight", name, &known))
    }
}

/// What so many bottles of some waters take of each stock; of all waters when none is named.
fn taken(report: &MixReport, waters: &[String], bottles: u32) -> Vec<PouredVolume> {
    let is_poured = |target: &String| waters.is_empty() || waters.contains(target);
    let used = report.stocks_used.iter().filter_map(|used| {
        let poured = report.waters.iter().filter(|w| is_poured(&w.target));
        let doses = poured.flat_map(|w| &w.doses).filter(|dose| dose.stock == used.stock);
        let ml: f64 = doses.map(|dose| dose.ml_per_bottle).sum();
        (ml > 0.0).then(|| PouredVolume {
            stock: used.stock.clone(),
            batch: used.batch.unwrap_or(0),
            ml: ml * f64::from(bottles),
        })
    });
    used.collect()
}

impl PouredFlight {
    /// What was taken, what is to be known, and how it is taken back.
    #[must_use]
    pub fn text(&self) -> String {
        let Self { title, bottles, day, .. } = self;
        let what =
            if self.waters.is_empty() { "each water".to_owned() } else { self.waters.join(", ") };
        let mut text = format!("{title}: {bottles} × {what}, poured on {day}\n");
        for PouredVolume { stock, ml, .. } in &self.taken {
            text.push_str(&format!("  {stock}: {ml:.2} mL\n"));
        }
        for note in &self.notes {
            text.push_str(&format!("* {note}\n"));
        }
        text + &undo_hint(self.record, day)
    }
}
