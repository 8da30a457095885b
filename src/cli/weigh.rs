//! `weigh`: what to weigh. `weighed`: what was weighed, recorded.

use std::path::Path;

use crate::app::bottles::{bottle, set_aside};
use crate::app::mistakes::internal;
use crate::bench::records;
use crate::cli::amount::{above_zero, day};
use crate::cli::arguments::{Rest, WeighedOptions};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, numbered};
use crate::cli::print::PrintOptions;
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::quantities::{Celsius, Day, Dimension, Grams, Millilitres, show};
use crate::stock::weigh_report::{Amount, WeighError};
use crate::stock::{Batch, Bottle, Making, solubility};
use crate::stock::{WeighReport, WeighedReport};

pub(super) fn run(
    bench: Option<&Path>,
    stock: &str,
    make: Option<&str>,
    print: &PrintOptions,
    how: How,
) -> Outcome {
    let bench = bench::open(bench)?;
    let bottle = bottle(&bench, stock)?;
    let amount = match make {
        None => as_written(bottle),
        Some(text) => {
            let dimensions = [Dimension::Volume, Dimension::Mass];
            let value = above_zero("--make", text, &dimensions)?;
            let by_mass = above_zero("--make", text, &[Dimension::Mass]).is_ok();
            if by_mass {
                Amount::Mass(Grams::new(value))
            } else {
                Amount::Volume(Millilitres::new(value))
            }
        }
    };
    let in_bottle = &bench.stock(stock)?.value;
    let mut report =
        WeighReport::new(bottle, in_bottle, amount, &bench.tools).map_err(|error| {
            let diagnostic = Diagnostic::new(Fault::Choice, error.to_string());
            Mistakes::from(match error {
                WeighError::TooLittle { least_ml, .. } => {
                    diagnostic.remedy(format!("make at least {least_ml:.0} mL"))
                }
                WeighError::TooHeavy { .. } => diagnostic.remedy(
                    "make it in parts, or describe a balance that carries more, as `large_balance` \
                     in `bench.ron`",
                ),
                WeighError::Stock(_) => diagnostic,
            })
        })?;
    report.notes.extend(set_aside(&bench, |name| name == report.stock));
    let on = Day::today().to_string();
    let written = print.write(
        &bench,
        &format!("Labels of {}", report.stock),
        || crate::page::weigh::page(&report, &on),
        || crate::page::weigh::labels(&report),
    )?;
    if how.json {
        crate::text::json::document(&report).map_err(|e| internal(&e))
    } else {
        Ok(crate::stock::weigh_text::text(&report, how.extent) + &written)
    }
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
    let recipe = bottle.written.recipe();
    let mass = |option, text: &str| above_zero(option, text, &[Dimension::Mass]).map(Grams::new);
    let salt = mass("--salt", &options.salt)?;
    let Rest { total, water, volume } = &options.rest;
    let making = match (total, water, volume) {
        (Some(text), _, _) => Making::ToTotalMass { salt, total: mass("--total", text)? },
        (_, Some(text), _) => Making::IntoWater { salt, water: mass("--water", text)? },
        (_, _, Some(text)) => {
            let millilitres = above_zero("--volume", text, &[Dimension::Volume])?;
            Making::ToVolume { salt, volume: Millilitres::new(millilitres) }
        }
        _ => return Err(internal(&"neither total, water nor volume")),
    };
    let temperature = match &options.temperature {
        Some(text) => Celsius::new(crate::cli::amount::amount(
            "--temperature",
            text,
            &[Dimension::Temperature],
        )?),
        None => recipe.temperature,
    };
    let mut batch = Batch {
        stock: bottle.written.name().to_owned(),
        number: 0,
        day: day("--date", options.date.as_deref())?,
        salt: recipe.salt.formula.to_string(),
        making,
        temperature,
        lot: recipe.lot.clone(),
        lot_label: options.lot.clone(),
        file_g_per_kg: Some(bottle.written.g_per_kg()),
        verified: None,
    };
    let made = batch.made(recipe).map_err(|error| {
        Diagnostic::new(Fault::Choice, error.to_string())
            .remedy("check the amounts: `--total` is salt and water together")
    })?;
    let mass = batch.mass(&made);
    if mass > bench.tools.large_balance.most {
        return Err(Diagnostic::new(
            Fault::Choice,
            format!(
                "the whole would weigh {} g, and the balance carries {} g",
                show::fixed(mass.value(), 0),
                show::fixed(bench.tools.large_balance.most.value(), 0)
            ),
        )
        .remedy(
            "check the units, or describe a balance that carries more, as `large_balance` in \
                 `bench.ron`",
        )
        .into());
    }
    solubility::check(&made, bottle.storage).map_err(|error| {
        Diagnostic::new(Fault::Choice, error.to_string())
            .expected(format!("at most {} g/kg", show::three_figures(error.strongest_g_per_kg)))
            .remedy("thin it with water until it is clear, then record all of the water")
    })?;
    let (number, record) = records::add_batch(&bench.root, &batch, options.instead_of)?;
    batch.number = number;
    // Another weighing of the batch leaves what was read of it.
    let same = bottle.batch.as_ref().filter(|now| now.number == number);
    batch.verified = same.and_then(|now| now.verified);
    let report = WeighedReport::new(bottle, &batch, &made, &bench.tools);
    if json {
        let mut data = serde_json::to_value(&report).map_err(|e| internal(&e))?;
        if let Some(data) = data.as_object_mut() {
            data.insert("record".to_owned(), record.into());
        }
        crate::text::json::document(&data).map_err(|e| internal(&e))
    } else {
        Ok(crate::stock::weigh_text::recorded(&report) + &numbered(record))
    }
}

/// The amount that the stock's file makes.
fn as_written(bottle: &Bottle) -> Amount {
    match bottle.written.recipe().making {
        Making::ToTotalMass { total, .. } => Amount::Mass(total),
        Making::IntoWater { salt, water } => Amount::Mass(salt + water),
        Making::ToVolume { volume, .. } => Amount::Volume(volume),
    }
}
