//! `concentrate`: dry salts and water in one bottle, and a recipe read backwards.

use std::path::Path;

use clap::Args;

use crate::app::everyday_water::concentrate;
use crate::app::recipe_water::{read_recipe, recipe_water};
use crate::bench::Bench;
use crate::cli::amount::{above_zero, day};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, rounded};
use crate::cli::print::PrintOptions;
use crate::cli::progress::watched;
use crate::cli::ready_product::{ReadyProductOptions, ready_product};
use crate::everyday::ReadyProduct;
use crate::everyday::concentrate::{DoseBy, Filled, LITRE_ML, MOST_OF_A_CONCENTRATE};
use crate::files::{Diagnostic, Mistakes};
use crate::quantities::{Day, Dimension, Quantity};

/// What to make, and what it is compared with.
#[derive(Debug, Clone, Args)]
pub(super) struct ConcentrateOptions {
    /// A target, FLIGHT/TARGET, SESSION/WATER as it was tasted, or any other named water.
    #[arg(required_unless_present = "reverse")]
    water: Option<String>,
    /// Salts and water together, by mass, or by volume up to a mark; 200 g of a named water when
    /// nothing is said.
    #[arg(long, value_name = "AMOUNT")]
    total: Option<String>,
    /// How much of it goes into a litre of finished water, by volume or mass; 4 mL of a named
    /// water when nothing is said. Of a recipe up to "1 L", which is drunk as it is.
    #[arg(long, value_name = "AMOUNT")]
    dose: Option<String>,
    // What is required beside an option that excludes it is not asked for: so each says both.
    /// Read a recipe backwards: SALT=GRAMS, with commas or semicolons. A name without its hydrate
    /// is read with every hydrate; the name of a stock stands for its bag, or with mL for itself.
    #[arg(long, value_name = "RECIPE", conflicts_with_all = ["water", "print", "labels", "start"])]
    reverse: Option<String>,
    /// With --reverse: the salts go into so much water, instead of to a total.
    #[arg(long, value_name = "AMOUNT", requires = "reverse", conflicts_with_all = ["water", "total"])]
    into_water: Option<String>,
    /// With --reverse: the salts go into a keg, filled up to so much and drunk as it is.
    #[arg(
        long,
        value_name = "VOLUME",
        requires = "reverse",
        conflicts_with_all = ["water", "total", "into_water", "dose"]
    )]
    keg: Option<String>,
    /// With --reverse: write the water as a target into a new flight file of this name.
    #[arg(long, value_name = "NAME", requires = "reverse", conflicts_with = "water")]
    into: Option<String>,
    /// The day on the label; a blank to be filled in by hand when left out.
    #[arg(long, value_name = "DAY", conflicts_with = "reverse")]
    date: Option<String>,
    #[command(flatten)]
    ready_product: ReadyProductOptions,
    #[command(flatten)]
    print: PrintOptions,
}

/// What a named water gets when nothing is said: our choice, a small bottle and a dose that a
/// syringe measures well.
const USUAL_TOTAL: &str = "200 g";
const USUAL_DOSE: &str = "4 mL";

pub(super) fn run(bench: Option<&Path>, options: &ConcentrateOptions, how: How) -> Outcome {
    let bench = bench::open(bench)?;
    let made_on = options.date.as_deref().map(|text| day("--date", Some(text))).transpose()?;
    let ready_product = ready_product(&options.ready_product)?;
    if let Some(text) = &options.reverse {
        return reverse(&bench, text, options, &ready_product, how);
    }
    let name = options.water.as_deref().unwrap_or_default();
    let filled = to_total(options.total.as_deref().unwrap_or(USUAL_TOTAL))?;
    let dose = dose(options.dose.as_deref().unwrap_or(USUAL_DOSE), MOST_OF_A_CONCENTRATE)?;
    let beside = (&ready_product, made_on);
    let report = watched(|watch| concentrate(&bench, name, (filled, dose), beside, watch))?;
    let on = Day::today().to_string();
    let written = options.print.write(
        &bench,
        &format!("Labels of {}", report.name),
        || crate::page::everyday::concentrate(&report, &on),
        || crate::page::everyday::concentrate_labels(&report),
    )?;
    rounded(&report, how.json, |report| {
        crate::everyday::concentrate_text::text(report, how.extent) + &written
    })
}

/// A recipe read backwards.
fn reverse(
    bench: &Bench,
    text: &str,
    options: &ConcentrateOptions,
    ready_product: &ReadyProduct,
    how: How,
) -> Outcome {
    let recipe = read_recipe(bench, text).map_err(|wrong| wrong.typed_with("--reverse"))?;
    let made = recipe_made(options)?;
    let mut water = recipe_water(bench, (text, recipe), made, ready_product)?;
    if let Some(name) = &options.into {
        water.write_flight(bench, text, name)?;
    }
    rounded(&water, how.json, |water| {
        crate::everyday::recipe_text::text(&water.report, water.file.as_deref(), how.extent)
    })
}

/// How a recipe is made up and dosed. Nothing is taken for granted: a dose that was not said would
/// decide the water.
fn recipe_made(options: &ConcentrateOptions) -> Result<(Filled, DoseBy), Mistakes> {
    if let Some(keg) = &options.keg {
        let ml = above_zero("--keg", keg, &[Dimension::Volume])?;
        return Ok((Filled::ToVolume(ml), DoseBy::Volume(LITRE_ML)));
    }
    let filled = match (&options.into_water, &options.total) {
        (Some(water), _) => into_water(water)?,
        (None, Some(total)) => to_total(total)?,
        (None, None) => {
            return Err(missing_option(
                "how much water the salts get",
                "--into-water \"500 mL\", --total \"500 mL\" when it is filled up to that, or --keg \
                 \"19 L\"",
            ));
        }
    };
    let Some(text) = &options.dose else {
        return Err(missing_option(
            "how much of it goes into a litre",
            "--dose \"4 mL\", or --dose \"1 L\" when it is drunk as it is",
        ));
    };
    Ok((filled, dose(text, LITRE_ML)?))
}

fn missing_option(what: &str, how: &str) -> Mistakes {
    Diagnostic::choice(format!("--reverse: {what} is missing"))
        .expected(how)
        .remedy("look it up in the recipe: the water depends on it")
        .into()
}

fn to_total(text: &str) -> Result<Filled, Mistakes> {
    let amount = above_zero("--total", text, &MASS_OR_VOLUME)?;
    Ok(if by_mass(text) { Filled::ToMass(amount) } else { Filled::ToVolume(amount) })
}

fn into_water(text: &str) -> Result<Filled, Mistakes> {
    let amount = above_zero("--into-water", text, &MASS_OR_VOLUME)?;
    Ok(if by_mass(text) { Filled::IntoWater(amount) } else { Filled::IntoWaterVolume(amount) })
}

const MASS_OR_VOLUME: [Dimension; 2] = [Dimension::Mass, Dimension::Volume];

/// Whether an amount that was read is a mass.
fn by_mass(text: &str) -> bool {
    Quantity::parse_as(&text.replace(',', "."), &[Dimension::Mass]).is_ok()
}

fn dose(text: &str, most: f64) -> Result<DoseBy, Mistakes> {
    let value = above_zero("--dose", text, &MASS_OR_VOLUME)?;
    if value > most {
        return Err(Diagnostic::choice(format!("--dose: `{text}` is no dose for a litre"))
            .expected(format!("at most {most} mL or {most} g"))
            .into());
    }
    Ok(if by_mass(text) { DoseBy::Mass(value) } else { DoseBy::Volume(value) })
}
