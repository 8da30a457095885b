//! `mix`: a flight planned.

use std::path::Path;

use crate::app::mix_answer;
use crate::cli::arguments::SpreadOptions;
use crate::cli::bench;
use crate::cli::order::OrderOptions;
use crate::cli::outcome::{Outcome, answer};
use crate::cli::progress::watched;
use crate::mix::{Draws, mix_text};

pub(super) fn run(
    bench: Option<&Path>,
    flight: Option<&str>,
    options: SpreadOptions,
    order: &OrderOptions,
    json: bool,
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
    answer(&report, json, mix_text::text)
}
