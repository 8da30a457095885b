//! `batch`: dry salts for so many litres.

use std::path::Path;

use clap::Args;

use crate::app::everyday_water::{BatchRequest, dry_batch};
use crate::cli::amount::above_zero;
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, rounded};
use crate::cli::print::PrintOptions;
use crate::cli::progress::watched;
use crate::cli::ready_product::{ReadyProductOptions, ready_product};
use crate::everyday::COARSEST_PERCENT;
use crate::files::{Diagnostic, Mistakes};
use crate::quantities::spelling::leading_number;
use crate::quantities::{Day, Dimension, Fraction, Litres};

/// What to make, and what it is compared with.
#[derive(Debug, Clone, Args)]
pub(super) struct BatchOptions {
    /// A target, FLIGHT/TARGET, SESSION/WATER as it was tasted, or any other named water.
    water: String,
    /// How much to make.
    #[arg(long, value_name = "VOLUME", default_value = "20 L")]
    make: String,
    /// Accuracy wanted of each weighing (k = 2); the bench's own when left out.
    #[arg(long, value_name = "PERCENT")]
    within: Option<String>,
    /// Leave out what the balance weighs worse than this (k = 2); nothing is left out otherwise.
    #[arg(long, value_name = "PERCENT")]
    at_worst: Option<String>,
    /// Measure the stocks with this dispenser of bench.ron; the flight's own when left out.
    #[arg(long, value_name = "NAME")]
    dispenser: Option<String>,
    #[command(flatten)]
    ready_product: ReadyProductOptions,
    #[command(flatten)]
    print: PrintOptions,
}

pub(super) fn run(bench: Option<&Path>, options: &BatchOptions, how: How) -> Outcome {
    let bench = bench::open(bench)?;
    let part = |option, text: &Option<String>| {
        text.as_deref().map(|text| percent(option, text)).transpose()
    };
    let asked = BatchRequest {
        water: &options.water,
        make: Litres::new(above_zero("--make", &options.make, &[Dimension::Volume])? / 1000.0),
        within: part("--within", &options.within)?,
        at_worst: part("--at-worst", &options.at_worst)?,
        dispenser: options.dispenser.as_deref(),
        ready_product: ready_product(&options.ready_product)?,
    };
    let report = watched(|watch| dry_batch(&bench, &asked, watch))?;
    let on = Day::today().to_string();
    let written = options.print.write(
        &bench,
        &format!("Labels of {}", report.name),
        || crate::page::everyday::batch(&report, &on),
        || crate::page::everyday::batch_labels(&report, &on),
    )?;
    rounded(&report, how.json, |report| {
        crate::everyday::batch_text::text(report, how.extent) + &written
    })
}

fn percent(option: &str, text: &str) -> Result<Fraction, Mistakes> {
    let found = leading_number(text.trim()).ok().filter(|(_, rest)| matches!(*rest, "%" | ""));
    match found {
        Some((value, _)) if value > 0.0 && value <= COARSEST_PERCENT => {
            Ok(Fraction::new(value / 100.0))
        }
        _ => Err(Diagnostic::choice(format!("{option}: `{text}` is no accuracy"))
            .expected(format!("per cent above zero and up to {COARSEST_PERCENT} %, as in \"1 %\""))
            .into()),
    }
}
