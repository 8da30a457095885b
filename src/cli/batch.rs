//! `batch`: dry salts for so many litres.

use std::path::Path;

use clap::Args;

use crate::cli::amount::above_zero;
use crate::cli::bench;
use crate::cli::outcome::{Mistakes, Outcome, internal};
use crate::cli::wanted::{InsteadOptions, instead, wanted};
use crate::files::{Diagnostic, Fault};
use crate::quantities::spelling::leading_number;
use crate::quantities::{Dimension, Fraction};
use crate::render;
use crate::report::{BatchReport, Lab};

/// What to make, and what it is compared with.
#[derive(Debug, Clone, Args)]
pub(super) struct BatchOptions {
    /// A target, FLIGHT/TARGET, SESSION/WATER as it was tasted, or any other named water.
    water: String,
    /// How much to make.
    #[arg(long, value_name = "VOLUME", default_value = "20 L")]
    make: String,
    /// Wished accuracy of each weighing (k = 2); the bench's own when left out.
    #[arg(long, value_name = "PERCENT")]
    within: Option<String>,
    #[command(flatten)]
    instead: InsteadOptions,
}

pub(super) fn run(bench: Option<&Path>, options: &BatchOptions, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let litres = above_zero("--make", &options.make, &[Dimension::Volume])? / 1000.0;
    let within = options.within.as_deref().map_or(Ok(bench.tools.weighing), percent)?;
    let instead = instead(&options.instead)?;
    let wanted = wanted(&bench, &options.water)?;
    let lab = Lab::new(bench.boilers).map_err(|error| internal(&error))?;
    let prices = (bench.water_prices.as_slice(), &instead);
    let report =
        BatchReport::new(&wanted, litres, within, &bench.tools, &lab, prices).map_err(|error| {
            vec![
                Diagnostic::new(Fault::Content, format!("`{}`: {error}", options.water))
                    .remedy("look at it with `waterflight why`"),
            ]
        })?;
    if json {
        render::json::rounded(&report).map_err(|e| internal(&e))
    } else {
        Ok(render::batch::text(&report))
    }
}

fn percent(text: &str) -> Result<Fraction, Mistakes> {
    let found = leading_number(text.trim()).ok().filter(|(_, rest)| matches!(*rest, "%" | ""));
    match found {
        Some((value, _)) if value > 0.0 && value <= 100.0 => Ok(Fraction::new(value / 100.0)),
        _ => Err(vec![
            Diagnostic::new(Fault::Choice, format!("--within: `{text}` is no accuracy"))
                .expected("per cent above zero, as in \"1 %\""),
        ]),
    }
}
