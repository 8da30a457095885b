//! A recipe read backwards: which water it is, once for every reading of its names.

use serde::Serialize;

use crate::chemistry::Composition;
use crate::everyday::concentrate::advice::Named;
use crate::everyday::concentrate::bottle::{Bottle, scaled};
use crate::everyday::concentrate::{
    ConcentrateContext, ConcentrateError, ConcentrateReport, DoseBy, DosedInto, Filled, LITRE_ML,
    StockDose, split,
};
use crate::everyday::wanted::replicate_target;
use crate::everyday::weigh_out::any_grams;
use crate::flight::{BaseShare, Subject, Target};
use crate::quantities::{Fraction, Unit};
use crate::stock::{DrySalt, Stock};
use crate::water::BaseWater;
use crate::water::base_water::DISTILLED;

/// Something of a water that the shelf cannot make.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Unreached {
    /// What.
    pub measure: String,
    /// How much the recipe gives, mg/L.
    pub recipe_mg_per_l: f64,
    /// How much the stocks give at best, mg/L.
    pub stocks_mg_per_l: f64,
}

/// A recipe's water made with the stocks of the shelf.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OnShelf {
    /// The water as a target: near every ion of it.
    #[serde(skip)]
    pub target: Target,
    /// The doses, into distilled water.
    pub doses: Vec<StockDose>,
    /// What they do not reach within 5 %.
    pub unreached: Vec<Unreached>,
}

/// A recipe read backwards, once for every reading of its names.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReverseReport {
    /// How names and amounts were understood, where that is not plain.
    pub notes: Vec<String>,
    /// Whether the recipe is drunk as it is, as from a keg.
    pub undiluted: bool,
    /// One for each reading.
    pub readings: Vec<ConcentrateReport>,
    /// The same waters with the stocks of the shelf, in the same order.
    pub on_shelf: Vec<OnShelf>,
    /// Readings that are too strong to be computed, with what is beyond.
    pub too_strong: Vec<TooStrongReading>,
}

/// A reading that is too strong.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TooStrongReading {
    /// Its name.
    pub name: String,
    /// What is beyond.
    pub why: String,
    /// The least size at which the same salts can be computed.
    pub least_size: Option<String>,
}

impl ReverseReport {
    /// What a recipe gives in pure water. Each reading is a list of salts with their grams. A
    /// reading that is too strong does not keep the others from being read.
    ///
    /// # Errors
    /// When no reading can be computed: then as for a concentrate.
    pub fn new(
        readings: Vec<Vec<(DrySalt, f64)>>,
        filled: Filled,
        dose: DoseBy,
        stocks: &[Stock],
        context: &ConcentrateContext<'_>,
    ) -> Result<Self, ConcentrateError> {
        let mut report = Self {
            notes: Vec::new(),
            undiluted: dose.is_undiluted(),
            readings: Vec::new(),
            on_shelf: Vec::new(),
            too_strong: Vec::new(),
        };
        let mut first_error = None;
        for salts in readings {
            match reading(&salts, filled, dose, context) {
                Ok(read) => {
                    report.on_shelf.push(on_shelf(&read, &salts, stocks)?);
                    report.readings.push(read);
                }
                Err(error) if !error.is_too_strong() => return Err(error),
                Err(error) => {
                    let standing = |factor: f64| {
                        let read = reading(&salts, filled.times(factor), dose, context);
                        read.ok().map(|read| read.standing)
                    };
                    report.too_strong.push(TooStrongReading {
                        name: name_of(&salts),
                        why: error.to_string(),
                        least_size: split::times_weaker_best(split::MOST_TIMES, standing)
                            .map(|f| filled.times(f).text()),
                    });
                    first_error = first_error.or(Some(error));
                }
            }
        }
        match first_error {
            Some(error) if report.readings.is_empty() => {
                let least = report.too_strong.into_iter().find_map(|t| t.least_size);
                Err(match least {
                    Some(size) => ConcentrateError::TooStrong {
                        source: Box::new(error),
                        way_out: format!("the same salts, {size} or more"),
                    },
                    None => error,
                })
            }
            _ => Ok(report),
        }
    }
}

/// Our choice: less of a stock is no dose, mL/L; a hundredth of a drop.
const NOTHING_ML_PER_L: f64 = 0.0005;

fn name_of(salts: &[(DrySalt, f64)]) -> String {
    let names: Vec<String> = salts.iter().map(|(s, _)| s.salt.formula.to_string()).collect();
    names.join(" + ")
}

fn reading(
    salts: &[(DrySalt, f64)],
    filled: Filled,
    dose: DoseBy,
    context: &ConcentrateContext<'_>,
) -> Result<ConcentrateReport, ConcentrateError> {
    if salts.len() > split::MOST_SALTS {
        let most = split::MOST_SALTS;
        return Err(ConcentrateError::TooManySalts { salts: salts.len(), most });
    }
    let bottle = Bottle::new(salts.to_vec(), filled)?;
    let name = name_of(salts);
    let named = Named { water: &name, part: None, rest: DISTILLED };
    let pure = Composition::PURE_WATER;
    let mut report = ConcentrateReport::of(named, &bottle, (filled, dose), &pure, context)?;
    let per_l = scaled(salts, 1.0 / report.makes_litres);
    // What is drunk as it is has no room for a second bottle.
    if !dose.is_undiluted() {
        report.divide(split::fewest(named, &per_l, filled, dose, context)?);
        let litres = 1.0 - report.dose_ml_per_l / LITRE_ML;
        report.base = vec![DosedInto { water: DISTILLED.to_owned(), litres_per_l: litres }];
    }
    report.cost = report.priced(&per_l, context);
    Ok(report)
}

/// The water of a reading with the stocks of the shelf, from distilled water.
fn on_shelf(
    read: &ConcentrateReport,
    salts: &[(DrySalt, f64)],
    stocks: &[Stock],
) -> Result<OnShelf, ConcentrateError> {
    let mut water = Composition::PURE_WATER;
    for (salt, g) in salts {
        water += salt.per_gram() * (g / read.makes_litres);
    }
    let target = replicate_target(&read.name, &water);
    let base = [BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) }];
    let bags = DrySalt::of_shelf(stocks);
    let made = any_grams(&bags, &base, &target, 1.0)?;
    let doses = bags.iter().zip(&made.g_per_l).filter(|(_, g)| **g > 0.0);
    let doses = doses.filter_map(|(bag, g)| {
        StockDose::of(bag, *g, stocks).filter(|dose| dose.ml_per_l >= NOTHING_ML_PER_L)
    });
    let unreached = target.goals.iter().zip(&made.goals).filter(|(_, result)| !result.reached);
    let unreached = unreached.filter_map(|(goal, _)| {
        let Subject::Measure(measure) = goal.subject else { return None };
        let mg_per_native = measure.native_per(Unit::MgPerL).ok()?;
        Some(Unreached {
            measure: measure.label(),
            recipe_mg_per_l: measure.of(&water) / mg_per_native,
            stocks_mg_per_l: measure.of(&made.water) / mg_per_native,
        })
    });
    let (doses, unreached) = (doses.collect(), unreached.collect());
    Ok(OnShelf { target, doses, unreached })
}
