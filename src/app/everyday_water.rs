//! A water that is made every day: dry salts for a tank, or a bottle of concentrate.

use crate::app::bottles::verified_bags;
use crate::app::flight_request::dispenser;
use crate::app::mistakes::internal;
use crate::app::{Watch, wanted_water};
use crate::assessment::Lab;
use crate::bench::Bench;
use crate::everyday::concentrate::{
    ConcentrateContext, ConcentrateError, ConcentrateReport, DoseBy, Filled,
};
use crate::everyday::dry_batch::BatchError;
use crate::everyday::{Accuracy, BatchReport, ReadyProduct};
use crate::files::{Diagnostic, Mistakes};
use crate::quantities::{Day, Fraction, Litres};
use crate::text::command_line::typed;

/// So many litres of a water, to be made of dry salts.
#[derive(Debug, Clone)]
pub struct BatchRequest<'a> {
    /// The water, as [`wanted_water`] finds it.
    pub water: &'a str,
    /// How much of it.
    pub make: Litres,
    /// Accuracy wished of each weighing (k = 2); the bench's own when none is said.
    pub within: Option<Fraction>,
    /// What is weighed worse than this (k = 2) is left out.
    pub at_worst: Option<Fraction>,
    /// Dispenser that the stocks are measured with; the flight's own when none is named.
    pub dispenser: Option<&'a str>,
    /// What it is compared with.
    pub ready_product: ReadyProduct,
}

/// What dry salts to weigh for so many litres of a water, and what its stocks would give.
///
/// # Errors
/// When the water is not found, cannot be planned, or no weighing makes it.
pub fn dry_batch(
    bench: &Bench,
    asked: &BatchRequest<'_>,
    watch: Watch<'_>,
) -> Result<BatchReport, Mistakes> {
    let (wanted, own_dispenser) = wanted_water(bench, asked.water, watch)?;
    let accuracy =
        Accuracy { wanted: asked.within.unwrap_or(bench.tools.weighing), at_worst: asked.at_worst };
    let lab = EverydayContext::new(bench)?.lab;
    let prices = (bench.water_prices.as_slice(), &asked.ready_product);
    let none = |error: BatchError| {
        Diagnostic::content(format!("`{}`: {error}", asked.water)).remedy(look_at(asked.water))
    };
    let litres = asked.make.value();
    let mut report =
        BatchReport::new(&wanted, litres, accuracy, &bench.tools, &lab, prices).map_err(none)?;
    let named = asked.dispenser.map(|name| dispenser(bench, name)).transpose()?;
    if let Some(dispenser) = named.or(own_dispenser) {
        report.measure_with(&wanted, &dispenser).map_err(|error| none(error.into()))?;
    }
    let is_weighed = |name: &str| report.salts.iter().any(|salt| salt.name == name);
    report.bags = verified_bags(bench, is_weighed);
    Ok(report)
}

/// What a bench says beside every bottle of concentrate.
pub(super) struct EverydayContext<'a> {
    bench: &'a Bench,
    lab: Lab,
}

impl<'a> EverydayContext<'a> {
    pub(super) fn new(bench: &'a Bench) -> Result<Self, Mistakes> {
        let lab = Lab::new(bench.boilers).map_err(|error| internal(&error))?;
        Ok(Self { bench, lab })
    }

    pub(super) fn concentrate<'b>(
        &'b self,
        ready_product: &'b ReadyProduct,
        made_on: Option<Day>,
    ) -> ConcentrateContext<'b> {
        ConcentrateContext {
            lab: &self.lab,
            tools: &self.bench.tools,
            catalogue: &self.bench.salts,
            prices: &self.bench.water_prices,
            ready_product,
            made_on,
        }
    }
}

/// A bottle of concentrate of a water that is found as [`wanted_water`] does; `made_on` is the day on
/// its label.
///
/// # Errors
/// When the water is not found, cannot be planned, or is no concentrate.
pub fn concentrate(
    bench: &Bench,
    water: &str,
    (filled, dose): (Filled, DoseBy),
    (ready_product, made_on): (&ReadyProduct, Option<Day>),
    watch: Watch<'_>,
) -> Result<ConcentrateReport, Mistakes> {
    let everyday = EverydayContext::new(bench)?;
    let (wanted, _) = wanted_water(bench, water, watch)?;
    let context = everyday.concentrate(ready_product, made_on);
    let mut report = ConcentrateReport::new(&wanted, filled, dose, &context)
        .map_err(|error| not_concentrated("no concentrate of", water, &error))?;
    let is_weighed = |name: &str| report.salts.iter().any(|salt| salt.name == name);
    report.bags = verified_bags(bench, is_weighed);
    Ok(report)
}

fn look_at(water: &str) -> String {
    format!("look at it with `waterflight why {}`", typed(water))
}

/// Why there is no bottle, or no water of a recipe.
pub(super) fn not_concentrated(what: &str, name: &str, error: &ConcentrateError) -> Diagnostic {
    let diagnostic = Diagnostic::content(format!("{what} `{name}`: {error}"));
    if let ConcentrateError::Plan(_) = error {
        return diagnostic.remedy(look_at(name));
    }
    diagnostic.remedy(match error {
        ConcentrateError::TooStrong { way_out, .. } => way_out,
        ConcentrateError::LessThanADose { .. } => "a larger --total or a smaller --dose",
        ConcentrateError::MoreThanALitre { .. } => {
            "a smaller --dose; \"1 L\" is the recipe as it is"
        }
        ConcentrateError::NoSalt => "the water needs no salts: pour its base water as it is",
        ConcentrateError::TooManySalts { .. } => "leave some salts out",
        _ => "make it weaker: a larger --dose",
    })
}
