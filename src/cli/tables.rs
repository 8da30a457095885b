//! `import` and `export`: targets and analyses as tables.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use serde_json::json;

use crate::app::exported_table::{analyses_table, planned_table, targets_table};
use crate::app::mistakes::internal;
use crate::bench::table_import::TableFile;
use crate::cli::bench;
use crate::cli::outcome::{Outcome, answer};
use crate::cli::progress::watched;
use crate::files::{Diagnostic, csv_table};

/// What a table holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Kind {
    /// Targets with their goals; becomes a flight.
    Targets,
    /// Analyses of base waters; becomes one file for each.
    Analyses,
}

/// What to write as a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Exported {
    /// The targets of a flight with their goals.
    Targets,
    /// The base waters of the bench.
    Analyses,
    /// The waters that a planned flight gives.
    Planned,
}

/// A table to read.
#[derive(Debug, Args)]
pub(super) struct ImportOptions {
    /// What the table holds.
    kind: Kind,
    /// The table: comma, semicolon or tab between the cells, heads as in `hardness [°dH]`. In analyses
    /// an empty cell was not measured, `0` is none and `< 5` is below a limit of detection.
    file: PathBuf,
    /// Name of the new flight file, for targets.
    #[arg(long, value_name = "NAME")]
    into: Option<String>,
    /// Take base, bottle and conventions from this flight; may be left out when there is only
    /// one.
    #[arg(long, value_name = "FLIGHT")]
    like: Option<String>,
}

pub(super) fn import(bench: Option<&Path>, options: &ImportOptions, json: bool) -> Outcome {
    let bench = bench::open_any(bench)?;
    let table = TableFile::read(&options.file)?;
    let files = match options.kind {
        Kind::Targets => {
            let name = options.into.as_ref().ok_or_else(|| {
                Diagnostic::choice("the new flight has no name").expected("--into NAME")
            })?;
            vec![bench.import_targets(&table, name, options.like.as_deref())?]
        }
        Kind::Analyses => bench.import_analyses(&table)?,
    };
    answer(&json!({"files": files}), json, |_| {
        let lines = files.iter().map(|file| format!("  {}\n", file.display()));
        "Written:\n".to_owned() + &lines.collect::<String>()
    })
}

pub(super) fn export(
    bench: Option<&Path>,
    what: Exported,
    flight: Option<&str>,
    json: bool,
) -> Outcome {
    let bench = bench::open_any(bench)?;
    let table = match what {
        Exported::Analyses => analyses_table(&bench),
        Exported::Targets => targets_table(&bench, flight)?,
        Exported::Planned => watched(|watch| planned_table(&bench, flight, watch))?,
    };
    if json {
        let document = json!({"heads": table.heads, "rows": table.rows});
        return crate::text::json::document(&document).map_err(|e| internal(&e));
    }
    csv_table::text(&table.heads, &table.rows).map_err(|e| internal(&e))
}
