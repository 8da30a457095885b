//! `batch`: dry salts for so many litres.

use std::path::Path;

use clap::Args;

use crate::app::mistakes::internal;
use crate::app::{dispenser, wanted_water};
use crate::assessment::Lab;
use crate::cli::amount::above_zero;
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome};
use crate::cli::print::PrintOptions;
use crate::cli::progress::watched;
use crate::cli::ready_product::{ReadyProductOptions, ready_product};
use crate::everyday::dry_batch::BatchError;
use crate::everyday::{Accuracy, BatchReport};
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::quantities::spelling::leading_number;
use crate::quantities::{Day, Dimension, Fraction};

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
    let litres = above_zero("--make", &options.make, &[Dimension::Volume])? / 1000.0;
    let within = |text| percent("--within", text);
    let accuracy = Accuracy {
        wanted: options.within.as_deref().map_or(Ok(bench.tools.weighing), within)?,
        at_worst: options
            .at_worst
            .as_deref()
            .map(|text| percent("--at-worst", text))
            .transpose()?,
    };
    let ready_product = ready_product(&options.ready_product)?;
    let (wanted, own_dispenser) = watched(|watch| wanted_water(&bench, &options.water, watch))?;
    let lab = Lab::new(bench.boilers).map_err(|error| internal(&error))?;
    let prices = (bench.water_prices.as_slice(), &ready_product);
    let none = |error: BatchError| {
        Diagnostic::new(Fault::Content, format!("`{}`: {error}", options.water))
            .remedy("look at it with `waterflight why`")
    };
    let mut report =
        BatchReport::new(&wanted, litres, accuracy, &bench.tools, &lab, prices).map_err(none)?;
    let named = options.dispenser.as_deref().map(|name| dispenser(&bench, name)).transpose();
    let named = named?.or(own_dispenser);
    if let Some(dispenser) = &named {
        report.measure_with(&wanted, dispenser).map_err(|error| none(error.into()))?;
    }
    let on = Day::today().to_string();
    let written = options.print.write(
        &bench,
        &format!("Labels of {}", report.name),
        || crate::page::everyday::batch(&report, &on),
        || crate::page::everyday::batch_labels(&report, &on),
    )?;
    if how.json {
        crate::text::json::rounded(&report).map_err(|e| internal(&e))
    } else {
        Ok(crate::everyday::batch_text::text(&report, how.extent) + &written)
    }
}

fn percent(option: &str, text: &str) -> Result<Fraction, Mistakes> {
    let found = leading_number(text.trim()).ok().filter(|(_, rest)| matches!(*rest, "%" | ""));
    match found {
        Some((value, _)) if value > 0.0 && value <= 100.0 => Ok(Fraction::new(value / 100.0)),
        _ => Err(Diagnostic::new(Fault::Choice, format!("{option}: `{text}` is no accuracy"))
            .expected("per cent above zero, as in \"1 %\"")
            .into()),
    }
}
