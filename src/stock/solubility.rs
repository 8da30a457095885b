//! How much of a salt water takes up, and whether a stock stays a clear solution.

use thiserror::Error;

use crate::quantities::{Celsius, Fraction, show};
use crate::stock::{Salt, Stock, carbonated};

/// Solubility against temperature, as a table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Solubility {
    /// Temperature and mass fraction of the anhydrous salt in the saturated solution, warmer and
    /// warmer.
    rows: Vec<(f64, f64)>,
    /// Where the table comes from.
    pub source: String,
}

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

impl Solubility {
    /// A table of (°C, mass of the anhydrous salt in % of the saturated solution); rows that
    /// are no numbers or no shares are left out.
    #[must_use]
    pub fn new(rows: &[(f64, f64)], source: String) -> Self {
        let mut rows: Vec<(f64, f64)> = rows
            .iter()
            .filter(|(t, percent)| t.is_finite() && (0.0..100.0).contains(percent))
            .map(|(t, percent)| (*t, percent / 100.0))
            .collect();
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self { rows, source }
    }

    /// The rows: °C, and mass of the anhydrous salt in % of the saturated solution.
    pub fn rows(&self) -> impl Iterator<Item = (f64, f64)> {
        self.rows.iter().map(|(t, w)| (*t, 100.0 * w))
    }

    /// Whether anything is known.
    #[must_use]
    pub fn is_known(&self) -> bool {
        !self.rows.is_empty()
    }

    /// Mass fraction of the anhydrous salt in the saturated solution, on a straight line between
    /// two rows; `None` outside of the table.
    #[must_use]
    pub fn at(&self, temperature: Celsius) -> Option<Fraction> {
        let t = temperature.value();
        let pair = self.rows.windows(2).find_map(|pair| match pair {
            [(t0, w0), (t1, w1)] if (*t0..=*t1).contains(&t) && t1 > t0 => {
                Some(w0 + (w1 - w0) * (t - t0) / (t1 - t0))
            }
            _ => None,
        });
        pair.map(Fraction::new)
    }
}

/// Most of a salt, as named, that stays dissolved at a temperature, g/kg: by its table, or under
/// carbon dioxide at [`carbonated::MOST_BAR`] where it needs that. `None` where it is not known.
fn saturated_g_per_kg(salt: &Salt, temperature: Celsius) -> Option<f64> {
    if carbonated::needs_carbon_dioxide(salt) {
        return carbonated::saturated_g_per_kg(salt, carbonated::MOST_BAR, temperature);
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
                co2_bar: carbonated::needs_carbon_dioxide(&recipe.salt)
                    .then_some(carbonated::MOST_BAR),
            });
        }
    }
    Ok(())
}
