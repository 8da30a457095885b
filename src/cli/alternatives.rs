//! `alternatives`: other recipes for the same water.

use std::path::Path;

use crate::app::explained_water::alternatives_of;
use crate::cli::bench;
use crate::cli::outcome::{Outcome, answer};

pub(super) fn run(
    bench: Option<&Path>,
    target: &str,
    flight: Option<&str>,
    most: usize,
    json: bool,
) -> Outcome {
    let report = alternatives_of(&bench::open(bench)?, flight, target, most)?;
    answer(&report, json, crate::mix::alternatives_text::text)
}
