//! `stock`: the bottles of the bench.

use std::path::Path;

use crate::cli::bench;
use crate::cli::outcome::{Outcome, internal};
use crate::render;
use crate::report::StockReport;

pub(super) fn run(bench: Option<&Path>, name: Option<&str>, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let stocks: Vec<StockReport> = match name {
        None => bench.stocks.iter().map(|s| StockReport::new(&s.value)).collect(),
        Some(name) => {
            let stock = bench.stock(name).map_err(|mistake| vec![mistake])?;
            vec![StockReport::new(&stock.value)]
        }
    };
    match (json, name, stocks.as_slice()) {
        (true, _, _) => render::json::document(&stocks).map_err(|e| internal(&e)),
        (false, Some(_), [stock]) => Ok(render::stock::detail(stock)),
        _ => Ok(render::stock::list(&stocks)),
    }
}
