//! The salts of a bench, for people and programs.

use serde::Serialize;

use crate::chemistry::KeyedAmounts;
use crate::quantities::Celsius;
use crate::stock::bottle_pressure::MOST_BAR;
use crate::stock::{Catalogue, Salt, carbonated, keeping, solubility};

/// A salt with what a gram of it releases.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SaltReport {
    /// Full name.
    pub name: String,
    /// Names of the trade.
    pub also: Vec<String>,
    /// Formula with hydrate water.
    pub formula: String,
    /// Molar mass.
    pub g_per_mol: f64,
    /// Mass fraction that is not hydrate water.
    pub anhydrous_fraction: f64,
    /// Equivalents of cations in one mole.
    pub equivalents_per_mol: f64,
    /// Milligrams of each ion in one gram.
    pub mg_per_g: KeyedAmounts,
    /// Codex INS number.
    pub ins: Option<String>,
    /// CO2 taken up to dissolve, mol per mol.
    pub carbonation_mol_co2: f64,
    /// Grams of CO2 taken up by one gram to dissolve.
    pub carbonation_g_co2_per_g: f64,
    /// Solubility: °C, and mass of the anhydrous salt in % of the saturated solution.
    pub solubility_percent_anhydrous: Vec<[f64; 2]>,
    /// Solubility of a salt that needs carbon dioxide: °C, bar of it, g of the salt per kg.
    pub solubility_under_co2: Vec<[f64; 3]>,
    /// Where the solubility comes from; nothing when it is not known.
    pub solubility_source: Option<String>,
    /// What to mind.
    pub cautions: Vec<String>,
    /// Where the facts come from.
    pub source: String,
}

/// One of several hydrates of a compound.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HydrateReport {
    /// The salt.
    #[serde(flatten)]
    pub salt: SaltReport,
    /// Grams of it that hold as much compound as 1 g of the first in the list.
    pub g_for_1_g_of_first: f64,
}

impl SaltReport {
    /// Describes a salt.
    #[must_use]
    pub fn new(salt: &Salt) -> Self {
        Self {
            name: salt.name.clone(),
            also: salt.also.clone(),
            formula: salt.formula.to_string(),
            g_per_mol: salt.formula.molar_mass().value(),
            anhydrous_fraction: salt.anhydrous_fraction().value(),
            equivalents_per_mol: salt.equivalents_per_mole(),
            mg_per_g: salt.mg_per_g().map(|(ion, mg)| (ion.symbol(), mg)).collect(),
            ins: salt.ins.clone(),
            carbonation_mol_co2: salt.carbonation_mol_co2,
            carbonation_g_co2_per_g: salt.carbonation_mol_co2 * keeping::co2_g_per_mol()
                / salt.formula.molar_mass().value(),
            solubility_percent_anhydrous: salt.solubility.rows().map(|(t, w)| [t, w]).collect(),
            solubility_under_co2: under_carbon_dioxide(salt),
            solubility_source: solubility::source(salt),
            cautions: salt.all_cautions(),
            source: salt.source.clone(),
        }
    }

    /// All salts of a catalogue.
    #[must_use]
    pub fn all(catalogue: &Catalogue) -> Vec<Self> {
        catalogue.iter().map(Self::new).collect()
    }
}

/// Temperatures, °C, and pressures, bar, at which the solubility under carbon dioxide is shown:
/// our choice, a fridge and a room, gas let over the water and the most that is counted on.
const SHOWN_CELSIUS: [f64; 3] = [5.0, 20.0, 25.0];
const SHOWN_BAR: [f64; 2] = [1.0, MOST_BAR];

fn under_carbon_dioxide(salt: &Salt) -> Vec<[f64; 3]> {
    if !carbonated::needs_carbon_dioxide(salt) {
        return Vec::new();
    }
    let states = SHOWN_BAR.into_iter().flat_map(|bar| SHOWN_CELSIUS.map(|celsius| (celsius, bar)));
    states
        .filter_map(|(celsius, bar)| {
            let most = carbonated::saturated_g_per_kg(salt, bar, Celsius::new(celsius))?;
            Some([celsius, bar, most])
        })
        .collect()
}

impl HydrateReport {
    /// The hydrates of a compound, or the one salt asked for.
    #[must_use]
    pub fn of(salts: &[&Salt]) -> Vec<Self> {
        let first = salts.first().map_or(1.0, |s| s.formula.molar_mass().value());
        salts
            .iter()
            .map(|salt| Self {
                salt: SaltReport::new(salt),
                g_for_1_g_of_first: salt.formula.molar_mass().value() / first,
            })
            .collect()
    }
}
