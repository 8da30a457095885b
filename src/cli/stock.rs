//! `stock`: the bottles of the bench.

use std::path::Path;

use crate::app::bottles::stock_reports;
use crate::cli::bench;
use crate::cli::outcome::{Outcome, answer};
use crate::cli::print::{PictureOptions, PrintOptions};
use crate::page::{bottles, pictures};
use crate::quantities::Day;

pub(super) fn run(
    bench: Option<&Path>,
    name: Option<&str>,
    (picture, print): (&PictureOptions, &PrintOptions),
    json: bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let stocks = stock_reports(&bench, name)?;
    let drawn = picture.write(|| match stocks.as_slice() {
        [only] => pictures::strengths(only.strength_history.as_ref()?),
        _ => None,
    })?;
    let on = Day::today().to_string();
    let written = print.write(
        &bench,
        "Labels of the stocks",
        || bottles::page(&stocks, &on),
        || bottles::labels(&stocks),
    )?;
    let drawn = drawn + &written;
    answer(&stocks, json, |stocks| match (name, stocks.as_slice()) {
        (Some(_), [stock]) => crate::stock::stock_text::detail(stock) + &drawn,
        (_, stocks) => crate::stock::stock_text::list(stocks) + &drawn,
    })
}
