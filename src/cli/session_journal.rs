//! `journal`: all sessions of a bench, by water and recipe; every score as tidy CSV.

use std::path::Path;

use serde_json::json;

use crate::app::all_scores::surface_of_all_scores;
use crate::app::mistakes::internal;
use crate::bench::index;
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
    let of = aim.apply(&mut past)?;
    let mut wished = Vec::new();
    for file in &bench.flights {
        let (flight, _) = bench.flight(file)?;
        wished.extend(flight.targets.into_iter().map(|target| target.name));
    }
    let worked_out = index::read(&bench.root);
    let journal = Journal::new(&past, &wished, &worked_out);
    let mut data = json!(journal);
    let drawn = match page {
        Some(path) => {
            let surface = surface_of_all_scores(&bench, (&past, &worked_out), of.as_deref());
            if let Some(data) = data.as_object_mut() {
                let (surface, none) = (surface.as_ref().ok(), surface.as_ref().err());
                data.insert("all_scores".to_owned(), json!(surface));
                data.insert("no_surface".to_owned(), json!(none));
            }
            written(path, "html", &crate::page::journal::page(&journal, &surface))?
        }
        None => String::new(),
    };
    index::keep(&bench.root, &worked_out);
    let text = shown(&journal.page(), &data, json)?;
    Ok(if json { text } else { text + &drawn })
}
