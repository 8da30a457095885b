//! `journal`: all sessions of a bench, by water and recipe; every score as tidy CSV.

use std::io::Write;
use std::path::Path;

use serde_json::json;

use crate::app::all_scores::surface_of_all_scores;
use crate::app::mistakes::internal;
use crate::bench::index;
use crate::bench::past::{left_out, readable_sessions};
use crate::cli::aim::AimOptions;
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, shown_in};
use crate::cli::print::written;
use crate::files::csv_table;
use crate::journal::Journal;
use crate::journal::score_rows::score_rows;
use crate::text::visible;

pub(super) fn run(
    bench: Option<&Path>,
    csv: bool,
    (aim, page): (&AimOptions, Option<&Path>),
    how: How,
    errors: &mut dyn Write,
) -> Outcome {
    let bench = bench::open_any(bench)?;
    let (mut past, unread) = readable_sessions(&bench.root)?;
    let not_counted: Vec<String> = unread.iter().map(left_out).collect();
    if csv {
        // The table has no place for it.
        for line in &not_counted {
            let _ = writeln!(errors, "note: {}", visible(line));
        }
        let table = score_rows(&past);
        return csv_table::text(&table.heads, &table.rows).map_err(|e| internal(&e));
    }
    let of = aim.apply(&mut past)?;
    let mut planned = Vec::new();
    for file in &bench.flights {
        // A flight that cannot be read stops nothing that is not in it.
        let Ok((flight, _)) = bench.flight(file) else { continue };
        planned.extend(flight.targets.into_iter().map(|target| target.name));
    }
    let worked_out = index::read(&bench.root);
    let journal = Journal::new(&past, &planned, &worked_out);
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
    let mut page = journal.page();
    for line in &not_counted {
        page.say(format!("! {line}"));
    }
    if let Some(data) = data.as_object_mut() {
        data.insert("not_counted".to_owned(), json!(not_counted));
    }
    let text = shown_in(&page, &data, how)?;
    Ok(if how.json { text } else { text + &drawn })
}
