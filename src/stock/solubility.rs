//! How strong a stock can be, and whether it stays a clear solution.

use thiserror::Error;

use crate::quantities::{Celsius, show};
use crate::stock::bottle_pressure::MOST_BAR;
use crate::stock::{Salt, Stock, carbonated};

/// A stock that would hold crystals.
#[derive(Debug, Clone, PartialEq, Error)]
#[error(
    "`{name}` is {} g/kg, and {} at {celsius} °C only {} g/kg stays dissolved{}",
    show::three_figures(*.g_per_kg),
    if *.kept { "where it is kept," } else { "where it is made," },
    show::three_figures(*.saturated_g_per_kg),
    match .co2_bar {
        Some(bar) => format!(" under carbon dioxide at {} bar", show::plain(*bar)),
        None => String::new(),
    },
)]
pub struct SolubilityError {
    /// Name of the stock.
    pub name: String,
    /// Its strength, salt as named, g/kg.
    pub g_per_kg: f64,
    /// The temperature in question.
    pub celsius: f64,
    /// Whether it is the temperature of keeping, and not that of making.
    pub kept: bool,
    /// Strength of the saturated solution, salt as named, g/kg.
    pub saturated_g_per_kg: f64,
    /// The strongest that is sensible there, salt as named, g/kg.
    pub strongest_g_per_kg: f64,
    /// For a salt that dissolves under carbon dioxide only: its pressure, bar.
    pub co2_bar: Option<f64>,
}

/// The strongest sensible stock, as a part of saturation. Our choice: straight lines between rows
/// of the table and the scatter of handbooks are together within some 3 %.
pub const SENSIBLE: f64 = 0.97;

/// Most of a salt, as named, that stays dissolved at a temperature, g/kg: by its table, or under
/// carbon dioxide at [`MOST_BAR`] where it needs that. `None` where it is not known.
fn saturated_g_per_kg(salt: &Salt, temperature: Celsius) -> Option<f64> {
    if carbonated::needs_carbon_dioxide(salt) {
        return carbonated::saturated_g_per_kg(salt, MOST_BAR, temperature);
    }
    let anhydrous = salt.solubility.at(temperature)?;
    Some(1000.0 * (anhydrous / salt.anhydrous_fraction()))
}

/// Where the solubility of a salt comes from; `None` when it is not known.
#[must_use]
pub fn source(salt: &Salt) -> Option<String> {
    if carbonated::needs_carbon_dioxide(salt) {
        return Some(carbonated::SOURCE.to_owned());
    }
    salt.solubility.is_known().then(|| salt.solubility.source.clone())
}

/// The strongest sensible stock of a salt at a temperature, in g/kg of the salt as named.
#[must_use]
pub fn strongest_g_per_kg(salt: &Salt, temperature: Celsius) -> Option<f64> {
    Some(SENSIBLE * saturated_g_per_kg(salt, temperature)?)
}

/// Checks that a stock dissolves where it is made and stays dissolved where it is kept. A salt
/// whose solubility is not known passes, as does a temperature beyond its table.
///
/// # Errors
/// Says where it would hold crystals and what the strongest is that would not.
pub fn check(stock: &Stock, storage: Celsius) -> Result<(), SolubilityError> {
    let recipe = stock.recipe();
    let at = |t: Celsius| saturated_g_per_kg(&recipe.salt, t);
    let places = [(recipe.temperature, false), (storage, true)].map(|(t, kept)| (t, kept, at(t)));
    let lowest = places.iter().filter_map(|(_, _, most)| *most).fold(1000.0, f64::min);
    for (temperature, kept, most) in places {
        if let Some(saturated) = most
            && stock.g_per_kg() > saturated
        {
            return Err(SolubilityError {
                name: stock.name().to_owned(),
                g_per_kg: stock.g_per_kg(),
                celsius: temperature.value(),
                kept,
                saturated_g_per_kg: saturated,
                strongest_g_per_kg: SENSIBLE * lowest,
                co2_bar: carbonated::needs_carbon_dioxide(&recipe.salt).then_some(MOST_BAR),
            });
        }
    }
    Ok(())
}
