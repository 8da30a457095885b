//! `read`: a meter reading against what was poured.

use std::path::Path;

use crate::app::water_answers::judge_reading;
use crate::assessment::read_text;
use crate::cli::bench;
use crate::cli::outcome::{Outcome, answer};
use crate::cli::progress::watched;
use crate::files::Diagnostic;
use crate::quantities::QuantityError;
use crate::stock::reading::MOST_US_PER_CM;
use crate::water::MeterScale;

pub(super) fn run(bench: Option<&Path>, name: &str, value: &str, json: bool) -> Outcome {
    let bench = bench::open_any(bench)?;
    let shown = shown(bench.meter.scale, value)?;
    let (name, verdict) = watched(|watch| judge_reading(&bench, name, shown, watch))?;
    answer(&verdict, json, |verdict| read_text::text(&name, &bench.meter, verdict))
}

/// What the meter shows, as typed.
fn shown(scale: MeterScale, value: &str) -> Result<f64, Diagnostic> {
    match scale.shown(value) {
        Ok(value) if (0.0..=MOST_US_PER_CM).contains(&value) => Ok(value),
        read => {
            let error = read.err();
            let title = match &error {
                Some(error @ QuantityError::Comma { .. }) => error.to_string(),
                Some(QuantityError::UnknownUnit { unit, .. }) => {
                    format!("the meter of this bench does not show `{unit}`")
                }
                _ => "this is no meter reading".to_owned(),
            };
            let wrong = Diagnostic::choice(title).found(format!("`{value}`")).expected(format!(
                "a number from 0 to {MOST_US_PER_CM} in {}, as the meter shows it",
                scale.label()
            ));
            Err(match error {
                Some(QuantityError::UnknownUnit { .. }) => {
                    wrong.remedy("`meter: (shows: …)` in bench.ron says what your meter shows")
                }
                _ => wrong,
            })
        }
    }
}
