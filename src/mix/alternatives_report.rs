//! Other recipes for the same water, as plain structs.

use serde::Serialize;

use crate::chemistry::KeyedAmounts;
use crate::flight::{Convention, Flight, Target};
use crate::planner::Plan;
use crate::stock::Stock;

/// The recipes of one target.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AlternativesReport {
    /// Title of the flight.
    pub flight: String,
    /// Name of the target.
    pub target: String,
    /// What a litre means.
    pub convention: &'static str,
    /// The recipes, the best first; every goal of each is within tolerance.
    pub recipes: Vec<RecipeLine>,
}

/// A recipe that keeps every goal within its tolerance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RecipeLine {
    /// Stocks with their doses, mL per litre.
    pub doses: Vec<RecipeDose>,
    /// What the water then holds, mg/L.
    pub mg_per_l: KeyedAmounts,
    /// Weighted misses inside the tolerances, in units of tolerance.
    pub misses: f64,
    /// All stocks together, mL per litre.
    pub ml_per_l: f64,
}

/// One dose of a recipe.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RecipeDose {
    /// Name of the stock.
    pub stock: String,
    /// Millilitres per litre, in the flight's convention.
    pub ml_per_l: f64,
}

impl AlternativesReport {
    /// Reports the recipes of a target.
    #[must_use]
    pub fn new(flight: &Flight, target: &Target, stocks: &[Stock], plans: &[Plan]) -> Self {
        let recipe = |plan: &Plan| {
            let per = match flight.convention {
                Convention::MadeUpToALitre => 1.0,
                Convention::AddedToALitre => plan.shares.iter().sum::<f64>().max(f64::MIN_POSITIVE),
            };
            let doses: Vec<RecipeDose> = crate::planner::explain::alternatives::used(plan)
                .into_iter()
                .filter_map(|j| {
                    let (stock, ml) = (stocks.get(j)?, plan.ml_per_l.get(j)?);
                    Some(RecipeDose { stock: stock.name().to_owned(), ml_per_l: ml / per })
                })
                .collect();
            RecipeLine {
                ml_per_l: doses.iter().map(|d| d.ml_per_l).sum(),
                doses,
                mg_per_l: KeyedAmounts::mg_per_l(&plan.water),
                misses: plan.stages.inside,
            }
        };
        Self {
            flight: flight.title.clone(),
            target: target.name.clone(),
            convention: flight.convention.describe(),
            recipes: plans.iter().map(recipe).collect(),
        }
    }
}
