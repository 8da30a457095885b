//! What is left in each bottle, and whether it will do.

use serde::Serialize;

use crate::mix::flight_use::StockUse;
use crate::quantities::Day;
use crate::stock::stock_report::bottle_notes;
use crate::stock::strength_line::StrengthLine;
use crate::stock::{Batch, Bottle, Note, Stock, Tools};

/// The bottles of a bench on a day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StocktakeReport {
    /// The day.
    pub day: String,
    /// The bottles, in the order of the shelf.
    pub bottles: Vec<BottleLine>,
    /// What else to know.
    pub notes: Vec<Note>,
}

/// A bottle of stock: made, poured, left, how long it keeps.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BottleLine {
    /// Name of the stock.
    pub stock: String,
    /// Number of its newest batch; nothing when none was recorded.
    pub batch: Option<u32>,
    /// The day it was made.
    pub made: Option<String>,
    /// What was made, mL.
    pub made_ml: Option<f64>,
    /// What was poured from it, mL.
    pub taken_ml: Option<f64>,
    /// What is left, mL.
    pub left_ml: Option<f64>,
    /// Its age, days.
    pub age_days: Option<i64>,
    /// The last day of its keeping time.
    pub keeps_until: Option<String>,
    /// Whether it is to be used.
    pub state: State,
}

/// What a bottle is good for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// No batch was recorded.
    NotRecorded,
    /// It can be used.
    Good,
    /// Its keeping time is over.
    TooOld,
    /// Nothing is left.
    Empty,
    /// Its newest batch was made after that day.
    NotYetMade,
}

/// A bottle with what was taken from it.
#[derive(Debug, Clone, Copy)]
pub struct Filled<'a> {
    /// What is in it.
    pub stock: &'a Stock,
    /// The bottle.
    pub bottle: &'a Bottle,
    /// Taken from its batch, mL: poured, spilled, found missing, thrown away.
    pub taken_ml: f64,
}

impl Filled<'_> {
    /// What was made, mL; nothing known without a batch.
    #[must_use]
    pub fn made_ml(&self) -> Option<f64> {
        Some(self.bottle.batch.as_ref()?.volume(self.stock).value())
    }

    /// What is left, mL; nothing known without a batch.
    #[must_use]
    pub fn left_ml(&self) -> Option<f64> {
        Some((self.made_ml()? - self.taken_ml).max(0.0))
    }
}

impl StocktakeReport {
    /// Takes stock on a day.
    #[must_use]
    pub fn new(filled: &[Filled<'_>], day: Day, notes: Vec<Note>) -> Self {
        Self {
            day: day.to_string(),
            bottles: filled.iter().map(|one| line(one, day)).collect(),
            notes,
        }
    }
}

fn line(filled: &Filled<'_>, day: Day) -> BottleLine {
    let bottle = filled.bottle;
    let batch = bottle.batch.as_ref();
    let until = bottle.keeps_until();
    let left_ml = filled.left_ml();
    let is_later = batch.is_some_and(|b| b.day > day);
    let state = match (batch, left_ml) {
        (None, _) => State::NotRecorded,
        _ if is_later => State::NotYetMade,
        (Some(_), Some(left)) if left <= 0.0 => State::Empty,
        _ if until.is_some_and(|until| day > until) => State::TooOld,
        _ => State::Good,
    };
    BottleLine {
        stock: filled.stock.name().to_owned(),
        batch: batch.map(|b| b.number),
        made: batch.map(|b| b.day.to_string()),
        made_ml: filled.made_ml(),
        taken_ml: batch.map(|_| filled.taken_ml),
        left_ml,
        age_days: batch.filter(|_| !is_later).map(|b| day.days_since(b.day)),
        keeps_until: until.map(|d| d.to_string()),
        state,
    }
}

/// What to know of pours that were recorded: bottles that held less, and those without a batch, of
/// which nothing was taken. `taken` is stock and mL, `filled` the bottles before.
#[must_use]
pub fn overdrawn(filled: &[Filled<'_>], taken: &[(String, f64)]) -> Vec<Note> {
    let mut notes = Vec::new();
    for (stock, ml) in taken {
        let Some(one) = filled.iter().find(|f| f.stock.name() == stock) else { continue };
        match one.left_ml() {
            Some(left_ml) if *ml > left_ml => {
                notes.push(Note::Overdrawn { stock: stock.clone(), taken_ml: *ml, left_ml });
            }
            Some(_) => {}
            None => notes.push(Note::NotCounted { stock: stock.clone() }),
        }
    }
    notes
}

/// Warnings before a flight: bottles that hold too little for it, and those too old. Bottles
/// without a recorded batch are not judged.
#[must_use]
pub fn warnings(filled: &[Filled<'_>], uses: &[StockUse], tools: &Tools, day: Day) -> Vec<Note> {
    let mut notes = Vec::new();
    for one in filled {
        let Some(used) = uses.iter().find(|u| u.stock == one.stock.name()) else { continue };
        if let Some(left_ml) = one.left_ml()
            && left_ml < used.ml
        {
            notes.push(Note::BottleTooEmpty {
                stock: used.stock.clone(),
                needed_ml: used.ml,
                left_ml,
                make_ml: (used.ml - left_ml).max(least_ml(one.bottle, tools)).ceil(),
            });
        }
        if let Some(until) = one.bottle.keeps_until().filter(|until| day > *until) {
            notes.push(Note::KeptTooLong { stock: used.stock.clone(), until });
        }
    }
    notes
}

/// The least amount that the balance weighs the salt of well enough for.
fn least_ml(bottle: &Bottle, tools: &Tools) -> f64 {
    let written = &bottle.written;
    let least = tools.balance.least_for(tools.weighing).value();
    let salt_per_g = written.strength().value() / written.recipe().lot.compound_share();
    least / (salt_per_g * written.density().value.value())
}

/// What is to be known of the strengths in some bottles: which are not what their files mean, and which
/// are hardly known.
#[must_use]
pub fn of_strengths(
    bottles: &[Filled<'_>],
    tools: &Tools,
    is_meant: impl Fn(&str) -> bool,
) -> Vec<Note> {
    let meant = bottles.iter().filter(|filled| is_meant(filled.stock.name()));
    meant
        .flat_map(|Filled { stock, bottle, .. }| {
            bottle_notes(stock, bottle, &StrengthLine::new(stock, bottle.verified(), tools))
        })
        .collect()
}

/// Newest batches of stocks that no file describes: a stock that was renamed has lost its batch.
#[must_use]
pub fn without_a_stock(batches: &[Batch], bottles: &[Bottle]) -> Vec<Note> {
    let mut notes: Vec<Note> = Vec::new();
    let mut seen: Vec<&str> = bottles.iter().map(|b| b.written.name()).collect();
    for batch in batches.iter().rev() {
        if seen.contains(&batch.stock.as_str()) {
            continue;
        }
        seen.push(&batch.stock);
        let now = bottles
            .iter()
            .find(|b| b.batch.is_none() && batch.is_of(&b.written.recipe().salt.formula));
        notes.push(Note::BatchOfNoStock {
            stock: batch.stock.clone(),
            batch: batch.number,
            now: now.map(|bottle| bottle.written.name().to_owned()),
        });
    }
    notes
}
