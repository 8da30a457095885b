//! `journal`: all sessions of a bench, by water and recipe; every score as tidy CSV.

use std::path::Path;

use serde_json::json;

use crate::app::mistakes::internal;
use crate::bench::past::past_sessions;
use crate::cli::aim::AimOptions;
use crate::cli::bench;
use crate::cli::outcome::{Outcome, shown};
use crate::cli::print::written;
use crate::files::csv_table;
use crate::journal::Journal;
use crate::journal::score_rows::score_rows;

pub(super) fn run(
    bench: Option<&Path>,
    csv: bool,
    (aim, page): (&AimOptions, Option<&Path>),
    json: bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let mut past = past_sessions(&bench.root)?;
    if csv {
        let table = score_rows(&past);
        return csv_table::text(&table.heads, &table.rows).map_err(|e| internal(&e));
    }
    aim.apply(&mut past)?;
    let mut wished = Vec::new();
    for file in &bench.flights {
        let (flight, _) = bench.flight(file)?;
        wished.extend(flight.targets.into_iter().map(|target| target.name));
    }
    let journal = Journal::new(&past, &wished);
    let drawn = match page {
        Some(path) => written(path, "html", &crate::page::results::journal(&journal))?,
        None => String::new(),
    };
    let text = shown(&journal.page(), &json!(journal), json)?;
    Ok(if json { text } else { text + &drawn })
}
