//! `stock`: the bottles of the bench.

use std::path::Path;

use crate::app::bottles::set_aside;
use crate::app::mistakes::internal;
use crate::cli::bench;
use crate::cli::outcome::Outcome;
use crate::cli::print::{PictureOptions, PrintOptions};
use crate::page::{bottles, pictures};
use crate::quantities::Day;
use crate::stock::Stock;
use crate::stock::StockReport;
use crate::stock::strengths::StrengthHistory;

pub(super) fn run(
    bench: Option<&Path>,
    name: Option<&str>,
    (picture, print): (&PictureOptions, &PrintOptions),
    json: bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let describe = |stock: &Stock| {
        let mut report = StockReport::with_bottle(stock, bench.bottle(stock), &bench.tools);
        report.notes.extend(set_aside(&bench, |name| name == stock.name()));
        let batches = bench.records.batches.iter().filter(|b| b.stock == stock.name());
        let batches: Vec<_> = batches.collect();
        report.strength_history = bench
            .bottle(stock)
            .and_then(|bottle| StrengthHistory::new(&bottle.written, &batches, &bench.tools));
        report
    };
    let stocks: Vec<StockReport> = match name {
        None => bench.stocks.iter().map(|s| describe(&s.value)).collect(),
        Some(name) => {
            let stock = bench.stock(name)?;
            vec![describe(&stock.value)]
        }
    };
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
    match (json, name, stocks.as_slice()) {
        (true, _, _) => crate::text::json::document(&stocks).map_err(|e| internal(&e)),
        (false, Some(_), [stock]) => Ok(crate::stock::stock_text::detail(stock) + &drawn),
        _ => Ok(crate::stock::stock_text::list(&stocks) + &drawn),
    }
}
