//! `import` and `export`: targets and analyses as tables.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use serde::Serialize;

use crate::app::mistakes::internal;
use crate::app::{FlightRequest, flight_or_water, plan_flight_of};
use crate::bench::{NewFlight, table_entry};
use crate::cli::bench;
use crate::cli::outcome::Outcome;
use crate::cli::progress::watched;
use crate::files::{Diagnostic, Fault, Mistakes, csv_table, read, write};
use crate::mix::table_report;
use crate::text::names;
use crate::water::BaseWater;
use crate::water::base_water::DISTILLED;

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

#[derive(Serialize)]
struct Written {
    files: Vec<PathBuf>,
}

pub(super) fn import(bench: Option<&Path>, options: &ImportOptions, json: bool) -> Outcome {
    let bench = bench::open_any(bench)?;
    let source = read::streamed_text(&options.file)?;
    let table = csv_table::parse(&source)?;
    let files = match options.kind {
        Kind::Targets => {
            let name = options.into.as_ref().ok_or_else(|| {
                Mistakes::from(
                    Diagnostic::new(Fault::Choice, "the new flight has no name")
                        .expected("--into NAME"),
                )
            })?;
            let targets = table_entry::targets(&source, &table)?;
            if targets.is_empty() {
                return Err(Mistakes::from(
                    Diagnostic::new(Fault::Content, "this table has no rows")
                        .at(&source, None)
                        .expected("one row for each target"),
                ));
            }
            let file =
                bench.flight_file(options.like.as_deref()).map_err(|error| match options.like {
                    None => error.remedy(
                        "`--like FLIGHT` names the one whose base, bottle and conventions it takes",
                    ),
                    Some(_) => error,
                })?;
            let (like, stocks, order) = bench.ordered_flight(file)?;
            let text = NewFlight {
                remark: format!("Read from the table {}.", file_name(&options.file)),
                title: name.clone(),
                like: &like,
                stocks: &stocks,
                order: &order,
                targets: targets.into_iter().map(|t| (t, None)).collect(),
            }
            .text();
            vec![bench.write_new("flights", name, &text)?]
        }
        Kind::Analyses => {
            let waters = table_entry::analyses(&source, &table)?;
            let mut stems: Vec<String> = Vec::new();
            for file in &waters {
                let name = &file.water.name;
                let stem = stem(name);
                let path = bench.root.join("waters").join(format!("{stem}.ron"));
                // What a run that was stopped has written of the same table already.
                let is_written = write::holds(&path, &file.text);
                let named = bench.waters.iter().find(|w| names::alike(&w.value.name, name));
                let there = named.is_some_and(|w| !is_written || w.path != path)
                    || (path.exists() && !is_written)
                    || stems.contains(&stem);
                if there || stem.is_empty() || names::alike(name, DISTILLED) {
                    return Err(Mistakes::from(
                        Diagnostic::new(
                            Fault::Write,
                            format!("there is a base water `{name}` already"),
                        )
                        .about(bench.root.join("waters"))
                        .remedy("give it another name in the table; nothing was written"),
                    ));
                }
                stems.push(stem);
            }
            let files = waters.iter().zip(&stems);
            let files: Vec<(&str, &str)> =
                files.map(|(file, stem)| (stem.as_str(), file.text.as_str())).collect();
            bench.write_all_new("waters", &files)?
        }
    };
    if json {
        return crate::text::json::document(&Written { files }).map_err(|e| internal(&e));
    }
    let mut text = "Written:\n".to_owned();
    for file in files {
        text.push_str(&format!("  {}\n", file.display()));
    }
    Ok(text)
}

fn file_name(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// A name as a file name.
fn stem(name: &str) -> String {
    let plain: String =
        name.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    plain.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-")
}

pub(super) fn export(
    bench: Option<&Path>,
    what: Exported,
    flight: Option<&str>,
    json: bool,
) -> Outcome {
    let bench = bench::open_any(bench)?;
    if what == Exported::Planned {
        bench.strengths_known()?;
    }
    let table = match what {
        Exported::Analyses => {
            let waters: Vec<BaseWater> = bench.waters.iter().map(|w| w.value.clone()).collect();
            table_report::analyses(&waters)
        }
        Exported::Targets => {
            let (flight, _) = bench.flight(bench.flight_file(flight)?)?;
            table_report::targets(&flight)
        }
        // The doses are those of `mix`: in whole steps where the flight names a dispenser.
        Exported::Planned => {
            let (file, only) = flight_or_water(&bench, flight)?;
            let only = only.map(str::to_owned);
            let request = FlightRequest { only, ..FlightRequest::default() };
            let planned = watched(|watch| plan_flight_of(&bench, file, &request, watch))?;
            table_report::planned(&planned.flight, &planned.stocks, &planned.plans)
        }
    };
    if json {
        let document = serde_json::json!({"heads": table.heads, "rows": table.rows});
        return crate::text::json::document(&document).map_err(|e| internal(&e));
    }
    csv_table::text(&table.heads, &table.rows).map_err(|e| internal(&e))
}
