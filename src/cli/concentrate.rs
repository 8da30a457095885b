//! `concentrate`: dry salts and water in one bottle, and a recipe read backwards.

use std::path::Path;

use clap::Args;

use crate::bench::Bench;
use crate::cli::amount::{above_zero, day};
use crate::cli::bench;
use crate::cli::outcome::{Mistakes, Outcome, internal};
use crate::cli::recipe::readings;
use crate::cli::wanted::{InsteadOptions, instead, wanted};
use crate::files::{Diagnostic, Fault};
use crate::quantities::{Dimension, Quantity};
use crate::render;
use crate::report::concentrate::{Around, ConcentrateError, DoseBy, Filled};
use crate::report::{ConcentrateReport, Lab, ReverseReport};

/// What to make, and what it is compared with.
#[derive(Debug, Clone, Args)]
pub(super) struct ConcentrateOptions {
    /// A target, FLIGHT/TARGET, SESSION/WATER as it was tasted, or any other named water.
    #[arg(required_unless_present = "reverse")]
    water: Option<String>,
    /// Salts and water together, by mass, or by volume up to a mark.
    #[arg(long, value_name = "AMOUNT", default_value = "200 g")]
    total: String,
    /// How much of it goes into a litre of finished water, by volume or mass.
    #[arg(long, value_name = "AMOUNT", default_value = "4 mL")]
    dose: String,
    /// Read a recipe backwards: SALT=GRAMS, with commas. A name without its hydrate is read with
    /// every hydrate.
    #[arg(long, value_name = "RECIPE", conflicts_with = "water")]
    reverse: Option<String>,
    /// With --reverse: the salts go into so much water, instead of to a total.
    #[arg(long, value_name = "AMOUNT", requires = "reverse", conflicts_with = "total")]
    into_water: Option<String>,
    /// The day on the label; a blank to be filled in by hand when left out.
    #[arg(long, value_name = "DAY", conflicts_with = "reverse")]
    date: Option<String>,
    #[command(flatten)]
    instead: InsteadOptions,
}

pub(super) fn run(bench: Option<&Path>, options: &ConcentrateOptions, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let filled = filled(options)?;
    let dose = dose(&options.dose)?;
    let lab = Lab::new(bench.boilers).map_err(|error| internal(&error))?;
    let made_on = options.date.as_deref().map(|text| day("--date", Some(text))).transpose()?;
    let around = Around {
        lab: &lab,
        tools: &bench.tools,
        catalogue: &bench.salts,
        prices: &bench.water_prices,
        instead: &instead(&options.instead)?,
        made_on,
    };
    if let Some(recipe) = &options.reverse {
        return reverse(&bench, recipe, (filled, dose), &around, json);
    }
    let name = options.water.as_deref().unwrap_or_default();
    let wanted = wanted(&bench, name)?;
    let report = ConcentrateReport::new(&wanted, filled, dose, &around)
        .map_err(|error| refused("no concentrate of", name, &error))?;
    if json {
        render::json::rounded(&report).map_err(|e| internal(&e))
    } else {
        Ok(render::concentrate::text(&report))
    }
}

fn reverse(
    bench: &Bench,
    recipe: &str,
    (filled, dose): (Filled, DoseBy),
    around: &Around<'_>,
    json: bool,
) -> Outcome {
    let readings = readings(bench, recipe)?;
    let stocks: Vec<_> = bench.stocks.iter().map(|s| s.value.clone()).collect();
    let report = ReverseReport::new(readings, filled, dose, &stocks, around)
        .map_err(|error| refused("no water of the recipe", recipe, &error))?;
    if json {
        render::json::rounded(&report).map_err(|e| internal(&e))
    } else {
        Ok(render::recipe::text(&report))
    }
}

fn filled(options: &ConcentrateOptions) -> Result<Filled, Mistakes> {
    let either = [Dimension::Mass, Dimension::Volume];
    let by_mass = |text: &str| Quantity::parse_as(text, &[Dimension::Mass]).is_ok();
    if let Some(text) = &options.into_water {
        let amount = above_zero("--into-water", text, &either)?;
        let mass = by_mass(text);
        return Ok(if mass { Filled::IntoWater(amount) } else { Filled::IntoWaterVolume(amount) });
    }
    let amount = above_zero("--total", &options.total, &either)?;
    let mass = by_mass(&options.total);
    Ok(if mass { Filled::ToMass(amount) } else { Filled::ToVolume(amount) })
}

fn refused(what: &str, name: &str, error: &ConcentrateError) -> Mistakes {
    let diagnostic = Diagnostic::new(Fault::Content, format!("{what} `{name}`: {error}"));
    let remedy = match error {
        ConcentrateError::TooStrong { way_out, .. } => way_out.clone(),
        ConcentrateError::LessThanADose { .. } => "a larger --total or a smaller --dose".to_owned(),
        ConcentrateError::NoSalt => {
            "the water needs no salts: pour its base water as it is".to_owned()
        }
        ConcentrateError::Plan(_) => "look at it with `waterflight why`".to_owned(),
        ConcentrateError::TooManySalts { .. } => "leave some salts out".to_owned(),
        _ => "make it weaker: a larger --dose".to_owned(),
    };
    vec![diagnostic.remedy(remedy)]
}

fn dose(text: &str) -> Result<DoseBy, Mistakes> {
    /// Our choice: a dose of more than half of the water is no concentrate.
    const MOST: f64 = 500.0;
    let value = above_zero("--dose", text, &[Dimension::Mass, Dimension::Volume])?;
    if value > MOST {
        return Err(vec![
            Diagnostic::new(Fault::Choice, format!("--dose: `{text}` is no dose for a litre"))
                .expected("at most 500 mL or 500 g"),
        ]);
    }
    Ok(match Quantity::parse_as(text, &[Dimension::Mass]) {
        Ok(grams) => DoseBy::Mass(grams),
        Err(_) => DoseBy::Volume(value),
    })
}
