//! `concentrate`: dry salts and water in one bottle, and a recipe read backwards.

use std::path::Path;

use clap::Args;

use crate::bench::Bench;
use crate::cli::amount::above_zero;
use crate::cli::bench;
use crate::cli::outcome::{Mistakes, Outcome, internal};
use crate::cli::wanted::{instead, wanted};
use crate::files::{Diagnostic, Fault};
use crate::quantities::{Dimension, Quantity};
use crate::render;
use crate::report::concentrate::{ConcentrateError, DoseBy, Filled};
use crate::report::{ConcentrateReport, Lab, ReverseReport};
use crate::shelf::{DrySalt, Lot};

/// What to make, and what it is compared with.
#[derive(Debug, Clone, Args)]
pub(super) struct ConcentrateOptions {
    /// A target, FLIGHT/TARGET, or any other named water.
    #[arg(required_unless_present = "reverse")]
    water: Option<String>,
    /// Salts and water together.
    #[arg(long, value_name = "MASS", default_value = "200 g")]
    total: String,
    /// How much of it goes into a litre of finished water, by volume or mass.
    #[arg(long, value_name = "AMOUNT", default_value = "4 mL")]
    dose: String,
    /// Read a recipe backwards: SALT=GRAMS, with commas. A name without its hydrate is read with
    /// every hydrate.
    #[arg(long, value_name = "RECIPE", conflicts_with = "water")]
    reverse: Option<String>,
    /// With --reverse: the salts go into so much water, instead of to a total.
    #[arg(long, value_name = "MASS", requires = "reverse", conflicts_with = "total")]
    into_water: Option<String>,
    /// Price of a ready product.
    #[arg(long, value_name = "PRICE")]
    instead: Option<String>,
    /// Price of the scale.
    #[arg(long, value_name = "MONEY")]
    scale_price: Option<String>,
}

/// Our choice: more readings of one recipe are of no use to anyone.
const MOST_READINGS: usize = 16;

pub(super) fn run(bench: Option<&Path>, options: &ConcentrateOptions, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let total = above_zero("--total", &options.total, &[Dimension::Mass])?;
    let dose = dose(&options.dose)?;
    let lab = Lab::new(bench.boilers).map_err(|error| internal(&error))?;
    if let Some(recipe) = &options.reverse {
        let filled = match &options.into_water {
            Some(water) => {
                Filled::IntoWater(above_zero("--into-water", water, &[Dimension::Mass])?)
            }
            None => Filled::ToMass(total),
        };
        let readings = readings(&bench, recipe)?;
        let report =
            ReverseReport::new(readings, filled, dose, &lab).map_err(|e| refused(recipe, &e))?;
        return if json {
            render::json::document(&report).map_err(|e| internal(&e))
        } else {
            Ok(render::concentrate::readings(&report))
        };
    }
    let name = options.water.as_deref().unwrap_or_default();
    let instead = instead(options.instead.as_deref(), options.scale_price.as_deref())?;
    let wanted = wanted(&bench, name)?;
    let prices = (bench.water_prices.as_slice(), &instead);
    let report = ConcentrateReport::new(&wanted, total, dose, &lab, prices)
        .map_err(|error| refused(name, &error))?;
    if json {
        render::json::document(&report).map_err(|e| internal(&e))
    } else {
        Ok(render::concentrate::text(&report))
    }
}

fn refused(name: &str, error: &ConcentrateError) -> Mistakes {
    vec![
        Diagnostic::new(Fault::Content, format!("no concentrate of `{name}`: {error}"))
            .remedy("make it weaker: a larger --dose"),
    ]
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

/// Every reading of a recipe.
fn readings(bench: &Bench, recipe: &str) -> Result<Vec<Vec<(DrySalt, f64)>>, Mistakes> {
    let wrong = |title: String| vec![Diagnostic::new(Fault::Choice, title)];
    let mut readings: Vec<Vec<(DrySalt, f64)>> = vec![Vec::new()];
    for part in recipe.split(',') {
        let (name, amount) = part.split_once('=').ok_or_else(|| {
            vec![
                Diagnostic::new(
                    Fault::Choice,
                    format!("--reverse: `{}` is no salt with its grams", part.trim()),
                )
                .expected("SALT=GRAMS, as in \"MgSO4·7H2O=10 g, NaHCO3=5 g\""),
            ]
        })?;
        let grams = above_zero("--reverse", amount.trim(), &[Dimension::Mass])?;
        // A formula without water names one salt as well, and may have been meant loosely.
        let kin = crate::shelf::Catalogue::all_of(&bench.salts, name.trim())
            .map_err(|error| wrong(format!("--reverse: {error}")))?;
        let kin = match kin.as_slice() {
            [only] if only.formula.waters() <= 0.0 => {
                let same = |s: &&crate::shelf::Salt| s.formula.same_but_for_water(&only.formula);
                bench.salts.iter().filter(same).collect()
            }
            _ => kin,
        };
        readings = readings
            .iter()
            .flat_map(|reading| {
                kin.iter().map(move |salt| {
                    let bag = DrySalt {
                        name: salt.formula.to_string(),
                        salt: (*salt).clone(),
                        lot: Lot::default(),
                    };
                    let mut longer = reading.clone();
                    longer.push((bag, grams));
                    longer
                })
            })
            .collect();
        if readings.len() > MOST_READINGS {
            return Err(wrong("--reverse: too many readings; name the hydrates".to_owned()));
        }
    }
    Ok(readings)
}
