//! The strength of a stock with its uncertainty, as every report states it.

use serde::Serialize;

use crate::chemistry::KeyedAmounts;
use crate::quantities::Fraction;
use crate::quantities::uncertain::{COVERAGE, Input, Uncertain, propagate};
use crate::stock::budget::{BudgetLine, budget};
use crate::stock::{Note, Stock, StrengthModel, Tools};

/// The strength of a stock with its uncertainty.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StrengthLine {
    /// Pure salt, hydrate water included, g/kg.
    pub g_per_kg: f64,
    /// Equivalents, meq/mL.
    pub meq_per_ml: f64,
    /// Constituents, mg/mL; alkalinity as HCO3.
    pub mg_per_ml: KeyedAmounts,
    /// Coverage factor of the expanded uncertainty.
    pub coverage_factor: f64,
    /// Expanded uncertainty of the g/kg, % of it.
    pub g_per_kg_expanded_percent: f64,
    /// Expanded uncertainty of the meq/mL, % of it.
    pub meq_per_ml_expanded_percent: f64,
    /// Where the uncertainty of the meq/mL comes from.
    pub budget: Vec<BudgetLine>,
}

/// A strength that is not known better than this, %, is warned of: our choice, ten times the
/// usual limit of a weighing, and more than a damp salt or a wide certificate leaves.
const VAGUE_PERCENT: f64 = 10.0;

impl StrengthLine {
    /// The strength of a stock; `verified` is its relative standard uncertainty, where it was measured.
    #[must_use]
    pub fn new(stock: &Stock, verified: Option<Fraction>, tools: &Tools) -> Self {
        let model = StrengthModel::new(stock, verified);
        let uncertainty_sources = model.uncertainty_sources(tools);
        let inputs: Vec<Input> = uncertainty_sources.iter().map(|d| d.input.clone()).collect();
        let results = propagate(&inputs, |x| {
            let strength = model.strength(x);
            vec![strength.g_per_kg, strength.meq_per_ml()]
        });
        let percent = |u: Option<&Uncertain>| {
            u.map_or(0.0, |u| if u.value > 0.0 { 100.0 * u.expanded() / u.value } else { 0.0 })
        };
        Self {
            g_per_kg: stock.g_per_kg(),
            meq_per_ml: stock.meq_per_ml().value(),
            mg_per_ml: KeyedAmounts::present(&stock.composition_per_ml()),
            coverage_factor: COVERAGE,
            g_per_kg_expanded_percent: percent(results.first()),
            meq_per_ml_expanded_percent: percent(results.get(1)),
            budget: results.get(1).map_or(Vec::new(), |u| budget(u, &uncertainty_sources)),
        }
    }

    /// What is to be said of a strength that is hardly known: its unit may be a slip.
    #[must_use]
    pub fn vague(&self, stock: &str) -> Option<Note> {
        let percent = self.g_per_kg_expanded_percent.max(self.meq_per_ml_expanded_percent);
        let first = self.budget.first().filter(|_| percent > VAGUE_PERCENT)?;
        Some(Note::VagueStrength {
            stock: stock.to_owned(),
            percent,
            most_of_it: first.short().to_owned(),
            to_halve: first.to_halve,
        })
    }
}
