//! `read`: a meter reading against what was poured.

use std::path::Path;

use crate::app::NamedWaters;
use crate::app::mistakes::{internal, too_strong};
use crate::cli::bench;
use crate::cli::outcome::Outcome;
use crate::cli::progress::watched;
use crate::files::{Diagnostic, Fault};
use crate::quantities::QuantityError;
use crate::stock::reading::MOST_US_PER_CM;
use crate::water::Meter;

pub(super) fn run(bench: Option<&Path>, name: &str, value: &str, json: bool) -> Outcome {
    let bench = bench::open_any(bench)?;
    let scale = bench.meter.scale;
    let value = match scale.shown(value) {
        Ok(value) if (0.0..=MOST_US_PER_CM).contains(&value) => value,
        read => {
            let error = read.err();
            let title = match &error {
                Some(error @ QuantityError::Comma { .. }) => error.to_string(),
                Some(QuantityError::UnknownUnit { unit, .. }) => {
                    format!("the meter of this bench does not show `{unit}`")
                }
                _ => "this is no meter reading".to_owned(),
            };
            let wrong = Diagnostic::new(Fault::Choice, title).found(format!("`{value}`")).expected(
                format!(
                    "a number from 0 to {MOST_US_PER_CM} in {}, as the meter shows it",
                    scale.label()
                ),
            );
            return Err(match error {
                Some(QuantityError::UnknownUnit { .. }) => {
                    wrong.remedy("`meter: (shows: …)` in bench.ron says what your meter shows")
                }
                _ => wrong,
            }
            .into());
        }
    };
    let water = watched(|watch| NamedWaters::of(&bench, watch).find(name))?;
    let meter = Meter::new(bench.meter).map_err(|error| internal(&error))?;
    let verdict = meter
        .judge(value, &water.doses, &water.base)
        .map_err(|error| too_strong(&water.name, &error))?;
    if json {
        crate::text::json::document(&verdict).map_err(|e| internal(&e))
    } else {
        Ok(crate::assessment::read_text::text(&water.name, meter.settings(), &verdict))
    }
}
