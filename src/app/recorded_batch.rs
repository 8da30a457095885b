//! What to weigh for a stock, and what was weighed, recorded: every dose follows from the newest batch.

use serde::Serialize;

use crate::app::bottles::{lot_as_verified, set_aside};
use crate::bench::history::undo_hint;
use crate::bench::{Bench, records};
use crate::files::{Diagnostic, Mistakes};
use crate::mix::stocktake::Filled;
use crate::quantities::show::{plain, up_to_two_figures};
use crate::quantities::{Celsius, Day, show};
use crate::stock::weigh_report::{Amount, WeighError};
use crate::stock::weigh_text;
use crate::stock::{Batch, Making, WeighReport, WeighedReport, solubility};
use crate::text::table::wrapped;

/// What to weigh for an amount of a stock; for as much as its file makes when none is said.
///
/// # Errors
/// When it is less than the balance can show or more than it carries.
pub fn weigh_stock(
    bench: &Bench,
    filled: &Filled<'_>,
    amount: Option<Amount>,
) -> Result<WeighReport, Mistakes> {
    let amount = amount.unwrap_or_else(|| Amount::as_written(&filled.bottle.written));
    let mut report = WeighReport::new(filled.bottle, filled.stock, amount, &bench.tools)
        .map_err(|error| not_weighed(&error))?;
    report.notes.extend(set_aside(bench, |name| name == report.stock));
    Ok(report)
}

fn not_weighed(error: &WeighError) -> Diagnostic {
    let diagnostic = Diagnostic::choice(error.to_string());
    match error {
        WeighError::TooLittle { least_ml, .. } => {
            diagnostic.remedy(format!("make at least {} mL", plain(up_to_two_figures(*least_ml))))
        }
        WeighError::TooHeavy { .. } => diagnostic.remedy(
            "make it in parts, or describe a balance that carries more, as `large_balance` \
             in `bench.ron`",
        ),
        WeighError::Stock(_) => diagnostic,
    }
}

/// A batch as it was weighed.
#[derive(Debug, Clone, PartialEq)]
pub struct WeighedBatch {
    /// Salt, and what stands beside it.
    pub making: Making,
    /// Temperature of a volume; that of the stock's file when none is said.
    pub temperature: Option<Celsius>,
    /// The day it was made.
    pub day: Day,
    /// What the bag says, to find the lot again.
    pub lot_label: Option<String>,
    /// The record of a batch of the same stock that it takes the place of.
    pub instead_of: Option<u64>,
}

/// A batch that is recorded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RecordedBatch {
    /// What it is.
    #[serde(flatten)]
    pub report: WeighedReport,
    /// Number of the record.
    pub record: u64,
    /// A batch that was made later and recorded before, in words: it is the newest no longer.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub newest_before: Option<String>,
}

/// Records what was weighed for a stock.
///
/// # Errors
/// When it makes no stock, is more than the balance carries or would not stay dissolved; when the
/// disk does not take it.
pub fn record_batch(
    bench: &Bench,
    filled: &Filled<'_>,
    weighed: WeighedBatch,
) -> Result<RecordedBatch, Mistakes> {
    let bottle = filled.bottle;
    let recipe = bottle.written.recipe();
    let mut batch = Batch {
        stock: bottle.written.name().to_owned(),
        number: 0,
        day: weighed.day,
        salt: recipe.salt.formula.to_string(),
        making: weighed.making,
        temperature: weighed.temperature.unwrap_or(recipe.temperature),
        lot: recipe.lot.clone(),
        lot_label: weighed.lot_label,
        file_g_per_kg: Some(bottle.written.g_per_kg()),
        verified: None,
    };
    let made = batch.made(recipe).map_err(|error| {
        Diagnostic::choice(error.to_string())
            .remedy("check the amounts: `--total` is salt and water together")
    })?;
    let (mass, most) = (batch.mass(&made), bench.tools.large_balance.most);
    if mass > most {
        let what = format!(
            "the whole would weigh {} g, and the balance carries {} g",
            show::fixed(mass.value(), 0),
            show::fixed(most.value(), 0)
        );
        return Err(Diagnostic::choice(what)
            .remedy(
                "check the units, or describe a balance that carries more, as `large_balance` in \
                 `bench.ron`",
            )
            .into());
    }
    solubility::check(&made, bottle.storage).map_err(|error| {
        Diagnostic::choice(error.to_string())
            .expected(format!("at most {} g/kg", show::three_figures(error.strongest_g_per_kg)))
            .remedy("thin it with water until it is clear, then record all of the water")
    })?;
    let later = bottle.batch.as_ref();
    let later = later.filter(|now| weighed.instead_of.is_none() && now.day > batch.day);
    let newest_before = later.map(|now| format!("batch {} of {}", now.number, now.day));
    let (number, record) = records::add_batch(&bench.root, &batch, weighed.instead_of)?;
    batch.number = number;
    // Another weighing of the batch leaves what was read of it.
    let same = bottle.batch.as_ref().filter(|now| now.number == number);
    batch.verified = same.and_then(|now| now.verified);
    let mut report = WeighedReport::new(bottle, &batch, &made, &bench.tools);
    report.notes.extend(lot_as_verified(bench, bottle, &batch));
    Ok(RecordedBatch { report, record, newest_before })
}

impl RecordedBatch {
    /// What was recorded, and how it is taken back.
    #[must_use]
    pub fn text(&self) -> String {
        let mut text = weigh_text::recorded(&self.report);
        if let Some(before) = &self.newest_before {
            text.push_str(&wrapped(
                &format!(
                    "! {before} was made later, and this one takes its place all the same: the newest \
                     batch is the one recorded last, whatever its day."
                ),
                2,
            ));
        }
        text + &undo_hint(self.record, &self.report.day)
    }
}
