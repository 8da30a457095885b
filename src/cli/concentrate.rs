//! `concentrate`: dry salts and water in one bottle, and a recipe read backwards.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use crate::app::mistakes::internal;
use crate::app::wanted_water;
use crate::assessment::Lab;
use crate::bench::{Bench, NewFlight};
use crate::cli::amount::{above_zero, day};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome};
use crate::cli::print::PrintOptions;
use crate::cli::progress::watched;
use crate::cli::ready_product::{ReadyProductOptions, ready_product};
use crate::cli::recipe;
use crate::cli::recipe::Recipe;
use crate::everyday::concentrate::{
    ConcentrateContext, ConcentrateError, DoseBy, Filled, LITRE_ML,
};
use crate::everyday::concentrate::{ConcentrateReport, ReverseReport};
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::flight::{
    BaseShare, Convention, DoseLimits, Flight, MissRule, Order, Preference, ladder,
};
use crate::quantities::{Day, Dimension, Fraction, Litres, Quantity};
use crate::water::BaseWater;

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
    /// Read a recipe backwards: SALT=GRAMS, with commas or semicolons. A name without its hydrate
    /// is read with every hydrate; the name of a stock stands for its bag, or with mL for itself.
    #[arg(long, value_name = "RECIPE", conflicts_with_all = ["water", "print"])]
    reverse: Option<String>,
    /// With --reverse: the salts go into so much water, instead of to a total.
    #[arg(long, value_name = "AMOUNT", requires = "reverse", conflicts_with = "total")]
    into_water: Option<String>,
    /// With --reverse: the salts go into a keg, filled up to so much and drunk as it is.
    #[arg(
        long,
        value_name = "VOLUME",
        requires = "reverse",
        conflicts_with_all = ["total", "into_water", "dose"]
    )]
    keg: Option<String>,
    /// With --reverse: write the water as a target into a new flight file of this name.
    #[arg(long, value_name = "NAME", requires = "reverse")]
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
    let lab = Lab::new(bench.boilers).map_err(|error| internal(&error))?;
    let made_on = options.date.as_deref().map(|text| day("--date", Some(text))).transpose()?;
    let context = ConcentrateContext {
        lab: &lab,
        tools: &bench.tools,
        catalogue: &bench.salts,
        prices: &bench.water_prices,
        ready_product: &ready_product(&options.ready_product)?,
        made_on,
    };
    if let Some(text) = &options.reverse {
        return reverse(&bench, text, options, &context, how);
    }
    let name = options.water.as_deref().unwrap_or_default();
    let filled = to_total(options.total.as_deref().unwrap_or(USUAL_TOTAL))?;
    let dose = dose(options.dose.as_deref().unwrap_or(USUAL_DOSE), MOST_OF_A_CONCENTRATE)?;
    let (wanted, _) = watched(|watch| wanted_water(&bench, name, watch))?;
    let report = ConcentrateReport::new(&wanted, filled, dose, &context)
        .map_err(|error| refused("no concentrate of", name, &error))?;
    let on = Day::today().to_string();
    let written = options.print.write(
        &bench,
        &format!("Labels of {}", report.name),
        || crate::page::everyday::concentrate(&report, &on),
        || crate::page::everyday::concentrate_labels(&report),
    )?;
    if how.json {
        crate::text::json::rounded(&report).map_err(|e| internal(&e))
    } else {
        Ok(crate::everyday::concentrate_text::text(&report, how.extent) + &written)
    }
}

/// A recipe read backwards, and where it was written.
#[derive(Serialize)]
struct Read<'a> {
    #[serde(flatten)]
    report: &'a ReverseReport,
    file: Option<PathBuf>,
}

fn reverse(
    bench: &Bench,
    text: &str,
    options: &ConcentrateOptions,
    context: &ConcentrateContext<'_>,
    how: How,
) -> Outcome {
    let Recipe { readings, stock_water_g, notes } = recipe::read(bench, text)?;
    let (filled, dose) = recipe_made(options)?;
    let filled = filled.and_water(stock_water_g);
    let stocks = bench.whole_shelf()?;
    let mut report = ReverseReport::new(readings, filled, dose, &stocks, context)
        .map_err(|error| refused("no water of the recipe", text, &error))?;
    report.notes = notes;
    let file = match &options.into {
        Some(name) => Some(written(bench, &report, text, name)?),
        None => None,
    };
    if how.json {
        crate::text::json::rounded(&Read { report: &report, file }).map_err(|e| internal(&e))
    } else {
        Ok(crate::everyday::recipe_text::text(&report, file.as_deref(), how.extent))
    }
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
    Diagnostic::new(Fault::Choice, format!("--reverse: {what} is missing"))
        .expected(how)
        .remedy("look it up in the recipe: the water depends on it")
        .into()
}

/// Writes every reading as a target of a new flight.
fn written(
    bench: &Bench,
    report: &ReverseReport,
    recipe: &str,
    name: &str,
) -> Result<PathBuf, Mistakes> {
    let distilled = BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) };
    let like = Flight {
        title: String::new(),
        base: vec![distilled],
        bottle: Litres::new(1.0),
        convention: Convention::MadeUpToALitre,
        misses: MissRule::default(),
        limits: DoseLimits::default(),
        preference: Preference::default(),
        targets: Vec::new(),
    };
    let stocks = bench.whole_shelf()?;
    let targets = report.on_shelf.iter().map(|shelf| {
        let short = (!shelf.unreached.is_empty()).then(|| {
            let missed: Vec<&str> = shelf.unreached.iter().map(|u| u.measure.as_str()).collect();
            format!("not reached with the stocks of the shelf: {}", missed.join(", "))
        });
        Ok((ladder::rewritten(&shelf.target)?, short))
    });
    let targets = targets.collect::<Result<Vec<_>, ladder::LadderError>>();
    let text = NewFlight {
        remark: format!(
            "A recipe read backwards by `waterflight concentrate`: {recipe}\nEach reading is a target, \
             ion by ion. An ordinary flight: change what you like."
        ),
        title: format!("A recipe: {recipe}"),
        like: &like,
        stocks: &stocks,
        order: &Order::default(),
        targets: targets.map_err(|error| internal(&error))?,
    }
    .text();
    bench.write_new("flights", name, &text).map_err(Mistakes::from)
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

fn refused(what: &str, name: &str, error: &ConcentrateError) -> Mistakes {
    let diagnostic = Diagnostic::new(Fault::Content, format!("{what} `{name}`: {error}"));
    let remedy = match error {
        ConcentrateError::TooStrong { way_out, .. } => way_out.clone(),
        ConcentrateError::LessThanADose { .. } => "a larger --total or a smaller --dose".to_owned(),
        ConcentrateError::MoreThanALitre { .. } => {
            "a smaller --dose; \"1 L\" is the recipe as it is".to_owned()
        }
        ConcentrateError::NoSalt => {
            "the water needs no salts: pour its base water as it is".to_owned()
        }
        ConcentrateError::Plan(_) => "look at it with `waterflight why`".to_owned(),
        ConcentrateError::TooManySalts { .. } => "leave some salts out".to_owned(),
        _ => "make it weaker: a larger --dose".to_owned(),
    };
    diagnostic.remedy(remedy).into()
}

/// Our choice: a dose of more than half of the water is no concentrate, mL or g.
const MOST_OF_A_CONCENTRATE: f64 = 500.0;

fn dose(text: &str, most: f64) -> Result<DoseBy, Mistakes> {
    let value = above_zero("--dose", text, &MASS_OR_VOLUME)?;
    if value > most {
        return Err(Diagnostic::new(
            Fault::Choice,
            format!("--dose: `{text}` is no dose for a litre"),
        )
        .expected(format!("at most {most} mL or {most} g"))
        .into());
    }
    Ok(if by_mass(text) { DoseBy::Mass(value) } else { DoseBy::Volume(value) })
}
