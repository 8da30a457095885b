//! `verify`: what a diluted stock should show, and what a reading says.

use std::path::Path;

use clap::Args;

use crate::app::bottles::bottle;
use crate::app::verified_stock::{VerifiedStock, verify_stock};
use crate::cli::amount::{above_zero, day};
use crate::cli::bench;
use crate::cli::outcome::{Outcome, answer};
use crate::files::{Diagnostic, Mistakes};
use crate::quantities::{Dimension, Millilitres};
use crate::stock::reading::{Reading, ReadingError, Titration};
use crate::stock::verify::{Dilution, VerifyError};

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
    let volume =
        |option, text: &str| above_zero(option, text, &[Dimension::Volume]).map(Millilitres::new);
    let dilution = Dilution::new(volume("--take", &options.take)?, volume("--to", &options.to)?)
        .map_err(|error| mistake(&error))?;
    let scale = bench.meter.scale;
    let shown =
        |option, text: &str| Reading::on_meter(scale, text).map_err(|e| unreadable(option, &e));
    let blank = options.blank.as_deref().map(|text| shown("--blank", text)).transpose()?;
    let titration = |option, kind, text: &str| {
        Reading::titration(kind, text).map_err(|error| unreadable(option, &error))
    };
    let meters = options.read.iter().map(|text| shown("--read", text));
    let edta = options.edta.iter().map(|text| titration("--edta", Titration::Edta, text));
    let acid = options.acid.iter().map(|text| titration("--acid", Titration::Acid, text));
    let readings = meters.chain(edta).chain(acid).collect::<Result<Vec<_>, _>>()?;
    let blank = blank.map_or(0.0, Reading::us_per_cm);
    let mut verified = verify_stock(&bench, &bottle, dilution, blank, &readings)
        .map_err(|error| mistake(&error))?;
    if options.record {
        let date = day("--date", options.date.as_deref())?;
        verified.record(&bench, &bottle, date, options.instead_of)?;
    }
    answer(&verified, json, VerifiedStock::text)
}

fn unreadable(option: &str, error: &ReadingError) -> Mistakes {
    let expected = if matches!(option, "--read" | "--blank") {
        "\"412 µS/cm\", or dissolved solids with the meter's factor, \"206 ppm factor 0.5\""
    } else {
        "\"8.2 mL of 0.01 mol/L on 100 mL\", or \"9 drops of 1 °dH\""
    };
    Diagnostic::choice(format!("{option}: {error}")).expected(expected).into()
}

fn mistake(error: &VerifyError) -> Mistakes {
    let diagnostic = Diagnostic::choice(error.to_string());
    Mistakes::from(match error {
        VerifyError::NoConductivity { .. } => {
            diagnostic.remedy("titrate it instead: `--edta` for hardness, `--acid` for alkalinity")
        }
        VerifyError::NothingToTitrate { .. } => diagnostic
            .expected("EDTA for calcium and magnesium, acid for bicarbonate")
            .remedy("read a conductivity meter instead: `--read \"… µS/cm\"`"),
        VerifyError::PartlyTitrated { .. } => diagnostic
            .expected("acid for bicarbonate, carbonate and hydroxide")
            .remedy("read a conductivity meter instead: `--read \"… µS/cm\"`"),
        VerifyError::TooStrong { .. } => diagnostic.remedy("dilute it further"),
        VerifyError::NoDilution => diagnostic.expected("`--take` smaller than `--to`"),
        VerifyError::NoStrength => diagnostic.remedy("repeat the reading"),
    })
}
