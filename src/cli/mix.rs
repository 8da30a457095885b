//! `mix`: a flight planned.

use std::io::{ErrorKind, Write};
use std::path::Path;

use crate::app::{FlightRequest, flight_or_water, mix_answer};
use crate::cli::arguments::SpreadOptions;
use crate::cli::bench;
use crate::cli::order::OrderOptions;
use crate::cli::outcome::Outcome;
use crate::cli::print::{FlightPicture, FlightPictureOptions, PrintOptions};
use crate::cli::progress::watched;
use crate::files::{Diagnostic, Fault};
use crate::mix::{Draws, mix_short_text, mix_text};
use crate::page::pictures;
use crate::quantities::Day;
use crate::svg::Drawing;
use crate::text::Extent;

pub(super) fn run(
    bench: Option<&Path>,
    flight: Option<&str>,
    (options, order, print, picture): (
        SpreadOptions,
        &OrderOptions,
        &PrintOptions,
        &FlightPictureOptions,
    ),
    (json, extent): (Option<&mut dyn Write>, Extent),
    partly: &mut bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let (file, only) = flight_or_water(&bench, flight)?;
    let draws = options.monte_carlo.and_then(|trials| {
        Some(Draws { trials: usize::try_from(trials).ok()?, seed: options.seed })
    });
    let request = FlightRequest { only: only.map(str::to_owned), ..order.request()? };
    let measures = picture.measures()?;
    let pictured = print.print.is_some() || picture.file.svg.is_some();
    let map = pictured.then_some(measures);
    let mut report = watched(|watch| mix_answer(&bench, file, &request, (draws, map), watch))?;
    report.show_budget = options.budget;
    *partly = !report.unanswered.is_empty();
    let on = Day::today().to_string();
    let map = || report.map.as_ref().and_then(pictures::flight_map);
    let charges = || pictures::flight_charges(&report);
    let drawn = picture.file.write(|| match picture.picture {
        FlightPicture::Map => map(),
        FlightPicture::Charges => charges(),
    })?;
    let written = print.write(
        &bench,
        &format!("Bottles of {}", report.flight),
        || {
            let drawings: Vec<Drawing> = [map(), charges()].into_iter().flatten().collect();
            crate::page::pour::page(&report, &on, &drawings)
        },
        || crate::page::pour::bottle_labels(&report, &on),
    )?;
    let Some(out) = json else {
        let all = extent == Extent::Full || options.budget || options.monte_carlo.is_some();
        let text = if all { mix_text::text } else { mix_short_text::text };
        return Ok(text(&report) + &drawn + &written);
    };
    // Thousands of waters are a long document: it is written as it is made.
    let done = crate::text::json::write(&report, out);
    // The system takes everything back at once when the program ends; piece by piece takes longer.
    std::mem::forget(report);
    match done {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            let what = format!("the output cannot be written: {error}");
            Err(Diagnostic::new(Fault::Write, what).into())
        }
        _ => Ok(String::new()),
    }
}
