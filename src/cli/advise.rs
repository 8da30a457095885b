//! `advise`: which strengths the stocks of some flights should have.

use std::path::Path;

use crate::app::advised_strengths::{DosesAsked, advise_strengths};
use crate::cli::amount::{above_zero, amount};
use crate::cli::arguments::AdviseOptions;
use crate::cli::bench;
use crate::cli::outcome::{Outcome, answer};
use crate::cli::progress::watched;
use crate::quantities::{Dimension, Fraction, Millilitres};

pub(super) fn run(
    bench: Option<&Path>,
    flights: &[String],
    options: &AdviseOptions,
    json: bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let volume = |option, text: &Option<String>| {
        let ml = text.as_deref().map(|text| above_zero(option, text, &[Dimension::Volume]));
        ml.transpose().map(|ml| ml.map(Millilitres::new))
    };
    let asked = DosesAsked {
        dispenser: options.dispenser.as_deref(),
        least: volume("--least", &options.least)?,
        most: volume("--most", &options.most)?,
        error: Fraction::new(amount("--error", &options.error, &[Dimension::Percent])?),
    };
    let report = watched(|watch| advise_strengths(&bench, flights, asked, watch))?;
    answer(&report, json, crate::mix::advise_text::text)
}
