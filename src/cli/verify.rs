//! `verify`: what a diluted stock should show, and what a reading says.

use std::borrow::Cow;
use std::path::Path;

use clap::Args;

use crate::app::bottles::{bottle, set_aside};
use crate::app::mistakes::internal;
use crate::bench::records;
use crate::cli::amount::{above_zero, day};
use crate::cli::bench;
use crate::cli::outcome::Outcome;
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::quantities::spelling::bare_number;
use crate::quantities::{Dimension, Millilitres};
use crate::stock::VerifyReport;
use crate::stock::reading::{Reading, ReadingError, Titration};
use crate::stock::verify::{Dilution, VerifyError};
use crate::stock::{Batch, Verified};
use crate::water::MeterScale;

/// A dilution and what was read of it.
#[derive(Debug, Clone, Args)]
pub(super) struct VerifyOptions {
    /// Stock taken for the dilution.
    #[arg(long, value_name = "VOLUME", default_value = "5 mL")]
    pub(super) take: String,
    /// Volume that it is filled up to with distilled water.
    #[arg(long, value_name = "VOLUME", default_value = "1 L")]
    pub(super) to: String,
    /// What the meter shows; may be given several times.
    #[arg(long, value_name = "READING")]
    pub(super) read: Vec<String>,
    /// A hardness titration; may be given several times.
    #[arg(long, value_name = "TITRATION")]
    pub(super) edta: Vec<String>,
    /// An alkalinity titration; may be given several times.
    #[arg(long, value_name = "TITRATION")]
    pub(super) acid: Vec<String>,
    /// What the meter shows of the distilled water alone.
    #[arg(long, value_name = "READING")]
    pub(super) blank: Option<String>,
    /// Let the newest batch take the strength that was found.
    #[arg(long)]
    pub(super) record: bool,
    /// Takes the place of this record of a verified strength of the same stock.
    #[arg(long, value_name = "RECORD", requires = "record")]
    pub(super) instead_of: Option<u64>,
    /// The day of the reading; today when left out.
    #[arg(long, value_name = "DATE")]
    pub(super) date: Option<String>,
}

pub(super) fn run(
    bench: Option<&Path>,
    stock: &str,
    options: &VerifyOptions,
    json: bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let bottle = bottle(&bench, stock)?;
    let stock = &bench.stock(stock)?.value;
    let volume =
        |option, text: &str| above_zero(option, text, &[Dimension::Volume]).map(Millilitres::new);
    let dilution = Dilution::new(volume("--take", &options.take)?, volume("--to", &options.to)?)
        .map_err(|error| mistake(&error))?;
    let scale = bench.meter.scale;
    let blank = match &options.blank {
        None => 0.0,
        Some(text) => {
            match Reading::meter(&on_scale(scale, text)).map_err(|e| unreadable("--blank", &e))? {
                Reading::Conductivity { us_per_cm, .. } => us_per_cm,
                Reading::Titration { .. } => 0.0,
            }
        }
    };
    let readings = readings(options, scale)?;
    let mut report =
        VerifyReport::new(stock, bottle, &bench.salts, &bench.tools, dilution, blank, &readings)
            .map_err(|error| mistake(&error))?;
    report.notes.extend(set_aside(&bench, |name| name == report.stock));
    let mut record = None;
    if options.record {
        let today = day("--date", options.date.as_deref())?;
        let needs =
            |text: &str, remedy: &str| Diagnostic::new(Fault::Choice, text).remedy(remedy).into();
        let Some(batch) = bottle.batch.as_ref() else {
            return Err(needs(
                "no batch of this stock was recorded, so none can take the strength",
                "record first what was weighed: `waterflight weighed STOCK …`",
            ));
        };
        let Some(found) = report.found.as_mut() else {
            return Err(needs(
                "there is no reading to record",
                "add `--read`, `--edta` or `--acid`",
            ));
        };
        if !found.can_judge {
            return Err(needs(
                "this reading is too uncertain to be recorded",
                "dilute less, or read again",
            ));
        }
        let verified = Verified {
            day: today,
            g_per_kg: found.to_record_g_per_kg,
            standard_g_per_kg: found.to_record_g_per_kg_standard,
        };
        let taken = Batch { verified: Some(verified), ..batch.clone() };
        taken.made(bottle.written.recipe()).map_err(|error| {
            needs(&format!("the strength that was read cannot be: {error}"), "read again")
        })?;
        let n = records::add_verified(
            &bench.root,
            (&batch.stock, batch.number),
            verified,
            options.instead_of,
        )?;
        found.recorded_on = Some(today.to_string());
        record = Some(n);
    }
    if json {
        let mut data = serde_json::to_value(&report).map_err(|e| internal(&e))?;
        if let (Some(data), Some(n)) = (data.as_object_mut(), record) {
            data.insert("record".to_owned(), n.into());
        }
        crate::text::json::document(&data).map_err(|e| internal(&e))
    } else {
        let said = record.map_or(String::new(), crate::cli::outcome::numbered);
        Ok(crate::stock::verify_text::text(&report) + &said)
    }
}

/// A bare number is what the meter of the bench shows.
fn on_scale(scale: MeterScale, text: &str) -> Cow<'_, str> {
    match bare_number(text) {
        Ok(_) => Cow::Owned(scale.written(text.trim())),
        Err(_) => Cow::Borrowed(text),
    }
}

fn readings(options: &VerifyOptions, scale: MeterScale) -> Result<Vec<Reading>, Mistakes> {
    let mut readings = Vec::new();
    for text in &options.read {
        readings
            .push(Reading::meter(&on_scale(scale, text)).map_err(|e| unreadable("--read", &e))?);
    }
    for text in &options.edta {
        readings
            .push(Reading::titration(Titration::Edta, text).map_err(|e| unreadable("--edta", &e))?);
    }
    for text in &options.acid {
        readings
            .push(Reading::titration(Titration::Acid, text).map_err(|e| unreadable("--acid", &e))?);
    }
    Ok(readings)
}

fn unreadable(option: &str, error: &ReadingError) -> Mistakes {
    let expected = if matches!(option, "--read" | "--blank") {
        "\"412 µS/cm\", or dissolved solids with the meter's factor, \"206 ppm factor 0.5\""
    } else {
        "\"8.2 mL of 0.01 mol/L on 100 mL\", or \"9 drops of 1 °dH\""
    };
    Diagnostic::new(Fault::Choice, format!("{option}: {error}")).expected(expected).into()
}

fn mistake(error: &VerifyError) -> Mistakes {
    let diagnostic = Diagnostic::new(Fault::Choice, error.to_string());
    Mistakes::from(match error {
        VerifyError::NoConductivity { .. } => {
            diagnostic.remedy("titrate it instead: `--edta` for hardness, `--acid` for alkalinity")
        }
        VerifyError::NothingToTitrate { .. } => diagnostic
            .expected("EDTA for calcium and magnesium, acid for bicarbonate")
            .remedy("read a conductivity meter instead: `--read \"… µS/cm\"`"),
        VerifyError::TooStrong { .. } => diagnostic.remedy("dilute it further"),
        VerifyError::NoDilution => diagnostic.expected("`--take` smaller than `--to`"),
        VerifyError::NoStrength => diagnostic.remedy("repeat the reading"),
    })
}
