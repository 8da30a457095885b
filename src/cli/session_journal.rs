//! `journal`: all sessions of a bench, by water and recipe; every score as tidy CSV.

use std::io::Write;
use std::path::Path;

use crate::app::bench_journal::{bench_journal, score_table};
use crate::app::mistakes::internal;
use crate::cli::aim::AimOptions;
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, shown_in};
use crate::cli::print::written;
use crate::files::csv_table;
use crate::text::visible;

pub(super) fn run(
    bench: Option<&Path>,
    csv: bool,
    (aim, page): (&AimOptions, Option<&Path>),
    how: How,
    errors: &mut dyn Write,
) -> Outcome {
    let bench = bench::open_any(bench)?;
    if csv {
        let (table, not_counted) = score_table(&bench, aim.asked())?;
        // The table has no place for it.
        for line in &not_counted {
            let _ = writeln!(errors, "note: {}", visible(line));
        }
        return csv_table::text(&table.heads, &table.rows).map_err(|e| internal(&e));
    }
    let found = bench_journal(&bench, aim.asked(), page.is_some())?;
    let drawn = match (page, &found.surface) {
        (Some(path), Some(surface)) => {
            let page = crate::page::journal::page(&bench.title, &found.journal, surface);
            written(path, "html", &page)?
        }
        _ => String::new(),
    };
    let text = shown_in(&found.page(), &found.data(), how)?;
    Ok(if how.json { text } else { text + &drawn })
}
