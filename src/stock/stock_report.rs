//! A stock as it stands in its bottle.

use serde::Serialize;

use crate::chemistry::KeyedAmounts;
use crate::chemistry::density::Basis;
use crate::quantities::uncertain::COVERAGE;
use crate::stock::strength_line::StrengthLine;
use crate::stock::strengths::StrengthHistory;
use crate::stock::{Bottle, KeepingReport, Making, Note, Stock, Tools, keeping, label};

/// A stock: how it was made, how strong it is, what a millilitre holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StockReport {
    /// Name on the bottle.
    pub name: String,
    /// Full name of its salt.
    pub salt: String,
    /// Formula of its salt.
    pub formula: String,
    /// How it is made, in words.
    pub made: String,
    /// Purity of the lot, %.
    pub purity_percent: f64,
    /// Moisture of the lot, %.
    pub moisture_percent: f64,
    /// Grade of the lot.
    pub grade: Option<String>,
    /// Grams of pure salt, hydrate water included, per kilogram of stock.
    pub g_per_kg: f64,
    /// Temperature of the density and of all volumes.
    pub celsius: f64,
    /// Density at the temperature of the stock, g/mL.
    pub density_g_per_ml: f64,
    /// Standard uncertainty of the density, g/mL.
    pub density_standard_uncertainty_g_per_ml: f64,
    /// Expanded uncertainty of the density.
    pub density_expanded_g_per_ml: f64,
    /// Whether the density rests on published coefficients.
    pub density_is_published: bool,
    /// Milligrams of pure salt per millilitre.
    pub mg_salt_per_ml: f64,
    /// Strength in equivalents.
    pub meq_per_ml: f64,
    /// Milligrams of each constituent per millilitre, alkalinity as HCO3.
    pub mg_per_ml: KeyedAmounts,
    /// What to mind.
    pub cautions: Vec<String>,
    /// What the numbers rest on.
    pub notes: Vec<Note>,
    /// How it keeps, and which batch it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub keeping: Option<KeepingReport>,
    /// Lines of the label of its bottle: of the batch that is in it, or with blanks where none was
    /// recorded.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub label: Vec<String>,
    /// How strong it was at each batch and verification; nothing where none was recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub strength_history: Option<StrengthHistory>,
}

impl StockReport {
    /// Describes a stock.
    #[must_use]
    pub fn new(stock: &Stock) -> Self {
        let recipe = stock.recipe();
        let density = stock.density();
        Self {
            name: stock.name().to_owned(),
            salt: recipe.salt.name.clone(),
            formula: recipe.salt.formula.to_string(),
            made: in_words(recipe.making),
            purity_percent: recipe.lot.purity.value() * 100.0,
            moisture_percent: recipe.lot.moisture.value() * 100.0,
            grade: recipe.lot.grade.clone(),
            g_per_kg: stock.g_per_kg(),
            celsius: recipe.temperature.value(),
            density_g_per_ml: density.value.value(),
            density_standard_uncertainty_g_per_ml: density.standard_uncertainty.value(),
            density_expanded_g_per_ml: COVERAGE * density.standard_uncertainty.value(),
            density_is_published: density.basis == Basis::Published,
            mg_salt_per_ml: stock.mg_per_ml(),
            meq_per_ml: stock.meq_per_ml().value(),
            mg_per_ml: KeyedAmounts::present(&stock.composition_per_ml()),
            cautions: keeping::cautions(stock),
            notes: notes(stock),
            keeping: None,
            label: Vec::new(),
            strength_history: None,
        }
    }

    /// Describes a stock of a bench with its bottle.
    #[must_use]
    pub fn with_bottle(stock: &Stock, bottle: Option<&Bottle>, tools: &Tools) -> Self {
        let keeping = bottle.map(|bottle| KeepingReport::new(stock, bottle, tools));
        let mut report = Self { keeping, ..Self::new(stock) };
        if let (Some(bottle), Some(keeping)) = (bottle, &report.keeping) {
            report.notes.extend(bottle_notes(stock, bottle, &keeping.strength));
            report.label = label::lines(stock, &keeping.strength, bottle, label::Filled::Recorded);
        }
        // A verified strength is carried in the purity; the lot is shown as it was described.
        if let Some(batch) = bottle.and_then(|b| b.batch.as_ref()) {
            report.purity_percent = batch.lot.purity.value() * 100.0;
        }
        report
    }
}

/// What is to be known of the strength in a bottle: that it is not what the file means, or hardly known.
#[must_use]
pub fn bottle_notes(stock: &Stock, bottle: &Bottle, strength: &StrengthLine) -> Vec<Note> {
    let name = || stock.name().to_owned();
    let differ = bottle.against_file(stock);
    let differ = differ.map(|differ| Note::AgainstFile { stock: name(), differ });
    differ.into_iter().chain(strength.vague(stock.name())).collect()
}

/// What the numbers of a stock rest on.
#[must_use]
pub fn notes(stock: &Stock) -> Vec<Note> {
    let density = stock.density();
    let salt = &stock.recipe().salt;
    let mut notes = Vec::new();
    if density.basis == Basis::Estimated {
        notes.push(Note::EstimatedDensity {
            stock: stock.name().to_owned(),
            formula: salt.formula.to_string(),
            percent: 100.0 * COVERAGE * (density.standard_uncertainty / density.value),
        });
    }
    if salt.carbonation_mol_co2 > 0.0 {
        notes.push(Note::NeedsCarbonation {
            stock: stock.name().to_owned(),
            formula: salt.formula.to_string(),
            mol_co2: salt.carbonation_mol_co2,
        });
    }
    notes
}

fn in_words(making: Making) -> String {
    match making {
        Making::ToTotalMass { salt, total } => {
            format!("{} g of salt and water to {} g in all", salt.value(), total.value())
        }
        Making::ToVolume { salt, volume } => {
            format!("{} g of salt and water to {} mL in all", salt.value(), volume.value())
        }
        Making::IntoWater { salt, water } => {
            format!("{} g of salt into {} g of water", salt.value(), water.value())
        }
    }
}
