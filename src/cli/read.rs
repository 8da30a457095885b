//! `read`: a meter reading against what was poured.

use std::path::Path;

use crate::app::NamedWaters;
use crate::app::mistakes::{internal, too_strong};
use crate::cli::bench;
use crate::cli::outcome::Outcome;
use crate::cli::progress::watched;
use crate::files::{Diagnostic, Fault};
use crate::quantities::QuantityError;
use crate::quantities::spelling::bare_number;
use crate::stock::reading::MOST_US_PER_CM;
use crate::water::Meter;

pub(super) fn run(bench: Option<&Path>, name: &str, value: &str, json: bool) -> Outcome {
    let value = match bare_number(value) {
        Ok(value) if (0.0..=MOST_US_PER_CM).contains(&value) => value,
        read => {
            let twofold = read.err().filter(|e| matches!(e, QuantityError::Comma { .. }));
            let title =
                twofold.map_or("this is no meter reading".to_owned(), |error| error.to_string());
            return Err(Diagnostic::new(Fault::Choice, title)
                .found(format!("`{value}`"))
                .expected(format!("a number from 0 to {MOST_US_PER_CM}, as the meter shows it"))
                .into());
        }
    };
    let bench = bench::open_any(bench)?;
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
