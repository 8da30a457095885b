//! `weigh`: what to weigh. `weighed`: what was weighed, recorded.

use std::path::Path;

use crate::app::bottles::bottle;
use crate::app::mistakes::internal;
use crate::app::recorded_batch::{RecordedBatch, WeighedBatch, record_batch, weigh_stock};
use crate::cli::amount::{above_zero, amount, day};
use crate::cli::arguments::{Rest, WeighedOptions};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, answer};
use crate::cli::print::PrintOptions;
use crate::files::Mistakes;
use crate::quantities::{Celsius, Day, Dimension, Grams, Millilitres};
use crate::stock::Making;
use crate::stock::weigh_report::Amount;

pub(super) fn run(
    bench: Option<&Path>,
    stock: &str,
    make: Option<&str>,
    print: &PrintOptions,
    how: How,
) -> Outcome {
    let bench = bench::open(bench)?;
    let bottle = bottle(&bench, stock)?;
    let report = weigh_stock(&bench, &bottle, make.map(to_make).transpose()?)?;
    let on = Day::today().to_string();
    let written = print.write(
        &bench,
        &format!("Labels of {}", report.stock),
        || crate::page::weigh::page(&report, &on),
        || crate::page::weigh::labels(&report),
    )?;
    answer(&report, how.json, |report| {
        crate::stock::weigh_text::text(report, how.extent) + &written
    })
}

fn to_make(text: &str) -> Result<Amount, Mistakes> {
    let value = above_zero("--make", text, &[Dimension::Volume, Dimension::Mass])?;
    Ok(match above_zero("--make", text, &[Dimension::Mass]) {
        Ok(grams) => Amount::Mass(Grams::new(grams)),
        Err(_) => Amount::Volume(Millilitres::new(value)),
    })
}

/// Records what was weighed.
pub(super) fn record(
    bench: Option<&Path>,
    stock: &str,
    options: &WeighedOptions,
    json: bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let bottle = bottle(&bench, stock)?;
    let celsius = |text| amount("--temperature", text, &[Dimension::Temperature]);
    let weighed = WeighedBatch {
        making: making(options)?,
        temperature: options.temperature.as_deref().map(celsius).transpose()?.map(Celsius::new),
        day: day("--date", options.date.as_deref())?,
        lot_label: options.lot.clone(),
        instead_of: options.instead_of,
    };
    answer(&record_batch(&bench, &bottle, weighed)?, json, RecordedBatch::text)
}

fn making(options: &WeighedOptions) -> Result<Making, Mistakes> {
    let mass = |option, text: &str| above_zero(option, text, &[Dimension::Mass]).map(Grams::new);
    let salt = mass("--salt", &options.salt)?;
    let Rest { total, water, volume } = &options.rest;
    match (total, water, volume) {
        (Some(text), _, _) => Ok(Making::ToTotalMass { salt, total: mass("--total", text)? }),
        (_, Some(text), _) => Ok(Making::IntoWater { salt, water: mass("--water", text)? }),
        (_, _, Some(text)) => {
            let millilitres = above_zero("--volume", text, &[Dimension::Volume])?;
            Ok(Making::ToVolume { salt, volume: Millilitres::new(millilitres) })
        }
        _ => Err(internal(&"neither total, water nor volume")),
    }
}
