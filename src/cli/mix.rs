//! `mix`: a flight planned.

use std::io::{ErrorKind, Write};
use std::path::Path;

use crate::app::mix_answer;
use crate::cli::arguments::SpreadOptions;
use crate::cli::bench;
use crate::cli::order::OrderOptions;
use crate::cli::outcome::Outcome;
use crate::cli::progress::watched;
use crate::files::{Diagnostic, Fault};
use crate::mix::{Draws, mix_text};

pub(super) fn run(
    bench: Option<&Path>,
    flight: Option<&str>,
    options: SpreadOptions,
    order: &OrderOptions,
    json: Option<&mut dyn Write>,
    partly: &mut bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let file = bench.flight_file(flight)?;
    let draws = options.monte_carlo.and_then(|trials| {
        Some(Draws { trials: usize::try_from(trials).ok()?, seed: options.seed })
    });
    let request = order.request()?;
    let mut report = watched(|watch| mix_answer(&bench, file, &request, draws, watch))?;
    report.show_budget = options.budget;
    *partly = !report.unanswered.is_empty();
    let Some(out) = json else {
        return Ok(mix_text::text(&report));
    };
    // Thousands of waters are a long document: it is written as it is made.
    match crate::text::json::write(&report, out) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            let what = format!("the output cannot be written: {error}");
            Err(Diagnostic::new(Fault::Write, what).into())
        }
        _ => Ok(String::new()),
    }
}
