//! `why`: why a water is out of reach, or which goals bind.

use std::path::Path;

use crate::app::explained_water::why_target;
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, answer};

pub(super) fn run(bench: Option<&Path>, target: &str, flight: Option<&str>, how: How) -> Outcome {
    let report = why_target(&bench::open(bench)?, flight, target)?;
    answer(&report, how.json, |report| crate::mix::why_text::text(report, how.extent))
}
