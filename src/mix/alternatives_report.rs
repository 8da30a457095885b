//! Other recipes for the same water, as plain structs.

use serde::Serialize;

use crate::chemistry::KeyedAmounts;
use crate::flight::{Flight, Order, Target};
use crate::mix::kept_out::{Asked, KeptOut};
use crate::planner::Plan;
use crate::planner::explain::alternatives::used;
use crate::stock::Stock;

/// The recipes of one target.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AlternativesReport {
    /// Title of the flight.
    pub flight: String,
    /// Name of the target.
    pub target: String,
    /// The target as it is typed behind a command, with its flight where that was named.
    #[serde(skip)]
    pub typed: String,
    /// What a litre means.
    pub convention: &'static str,
    /// What the flight asks that keeps a water out which would be in reach; there is then no recipe.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kept_out: Option<KeptOut>,
    /// What the flight asks as well and these recipes do not count with, in words.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_counted: Vec<String>,
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
            let per = plan.litres_counted(flight.convention);
            let doses: Vec<RecipeDose> = used(plan)
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
                misses: plan.misses_inside(target),
            }
        };
        Self {
            flight: flight.title.clone(),
            target: target.name.clone(),
            typed: String::new(),
            convention: flight.convention.describe(),
            kept_out: None,
            not_counted: Vec::new(),
            recipes: plans.iter().map(recipe).collect(),
        }
    }

    /// No recipe of a water that its flight keeps out of reach.
    #[must_use]
    pub fn kept_out(self, kept: KeptOut) -> Self {
        Self { kept_out: Some(kept), recipes: Vec::new(), ..self }
    }

    /// Says what the flight asks beyond the goals of the water at this place: the recipes are in doses of
    /// any size, each by itself.
    #[must_use]
    pub fn any_size(self, order: &Order, place: usize) -> Self {
        Self { not_counted: Asked::all_in_words(order, place), ..self }
    }
}
