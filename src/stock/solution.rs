//! One single-salt solution in a bottle, as it was really made.

use thiserror::Error;

use crate::chemistry::density::{Density, DensityError};
use crate::chemistry::{Composition, density};
use crate::quantities::{Celsius, Fraction, Grams, MilliequivalentsPerMillilitre, Millilitres};
use crate::stock::{Lot, Price, Salt};

/// How a stock is made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Making {
    /// Salt, then water until the balance shows the total.
    ToTotalMass {
        /// Salt weighed.
        salt: Grams,
        /// Mass of the finished stock.
        total: Grams,
    },
    /// Salt, then water up to the mark of a flask.
    ToVolume {
        /// Salt weighed.
        salt: Grams,
        /// Volume of the finished stock, at the stock's temperature.
        volume: Millilitres,
    },
    /// Salt into a mass of water.
    IntoWater {
        /// Salt weighed.
        salt: Grams,
        /// Water weighed.
        water: Grams,
    },
}

impl Making {
    /// The salt weighed.
    #[must_use]
    pub fn salt(self) -> Grams {
        match self {
            Making::ToTotalMass { salt, .. }
            | Making::ToVolume { salt, .. }
            | Making::IntoWater { salt, .. } => salt,
        }
    }
}

/// Everything that decides what is in the bottle.
#[derive(Debug, Clone, PartialEq)]
pub struct Recipe {
    /// Name on the bottle.
    pub name: String,
    /// The salt.
    pub salt: Salt,
    /// The lot it came from.
    pub lot: Lot,
    /// How it was made.
    pub making: Making,
    /// Temperature at which volumes are measured.
    pub temperature: Celsius,
}

/// A stock solution with its strength, per mass and per volume.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    recipe: Recipe,
    strength: Fraction,
    density: Density,
}

/// Our choice: the weakest stock, g of salt in a kilogram. A litre of it would bring a milligram, which
/// no dose of it can.
pub const WEAKEST_G_PER_KG: f64 = 0.001;

/// Why a recipe makes no usable stock.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum StockError {
    /// No salt in it.
    #[error("stock `{name}` has no strength: there is no salt in it")]
    NoStrength {
        /// Name of the stock.
        name: String,
    },
    /// Hardly any salt in it.
    #[error("stock `{name}` holds {g_per_kg:e} g/kg of its salt, less than the waters made of it")]
    TooWeak {
        /// Name of the stock.
        name: String,
        /// Strength.
        g_per_kg: f64,
    },
    /// No room for water.
    #[error("stock `{name}` leaves no room for water: {salt_g} g of salt in {total_g} g")]
    NoWater {
        /// Name of the stock.
        name: String,
        /// Salt, g.
        salt_g: f64,
        /// Total, g.
        total_g: f64,
    },
    /// The density model does not reach that far.
    #[error("the density of stock `{name}` is not known: {source}")]
    Density {
        /// Name of the stock.
        name: String,
        /// What is out of range.
        source: DensityError,
    },
}

impl Stock {
    /// Works out what a recipe gives.
    ///
    /// # Errors
    /// When there is no salt, no water, or the solution lies outside the published density data.
    pub fn new(recipe: Recipe) -> Result<Self, StockError> {
        let name = || recipe.name.clone();
        let weighed = recipe.making.salt();
        let compound = recipe.lot.compound_in(weighed);
        if compound.value() <= 0.0 {
            return Err(StockError::NoStrength { name: name() });
        }
        let anhydrous = compound * recipe.salt.anhydrous_fraction().value();
        let density_at = |w: f64| {
            density::solution(&recipe.salt.formula, Fraction::new(w), recipe.temperature)
                .map_err(|source| StockError::Density { name: name(), source })
        };
        let total = match recipe.making {
            Making::ToTotalMass { total, .. } => total,
            Making::IntoWater { water, .. } => weighed + water,
            Making::ToVolume { volume, .. } => filled_to_mark(anhydrous, volume, density_at)?,
        };
        if total.value() <= weighed.value() {
            return Err(StockError::NoWater {
                name: name(),
                salt_g: weighed.value(),
                total_g: total.value(),
            });
        }
        let density = density_at(anhydrous / total)?;
        let strength = Fraction::new(compound / total);
        let g_per_kg = 1000.0 * strength.value();
        if g_per_kg < WEAKEST_G_PER_KG {
            return Err(StockError::TooWeak { name: name(), g_per_kg });
        }
        Ok(Self { recipe, strength, density })
    }

    /// Name on the bottle.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.recipe.name
    }

    /// The recipe it was made by.
    #[must_use]
    pub fn recipe(&self) -> &Recipe {
        &self.recipe
    }

    /// Mass fraction of the pure salt, hydrate water included.
    #[must_use]
    pub fn strength(&self) -> Fraction {
        self.strength
    }

    /// Grams of pure salt (as named, with hydrate water) per kilogram of stock.
    #[must_use]
    pub fn g_per_kg(&self) -> f64 {
        self.strength.value() * 1000.0
    }

    /// Density at the stock's temperature.
    #[must_use]
    pub fn density(&self) -> Density {
        self.density
    }

    /// Milligrams of pure salt per millilitre.
    #[must_use]
    pub fn mg_per_ml(&self) -> f64 {
        self.g_per_kg() * self.density.value.value()
    }

    /// Strength in equivalents: the one number that the planner knows of a stock.
    #[must_use]
    pub fn meq_per_ml(&self) -> MilliequivalentsPerMillilitre {
        let salt = &self.recipe.salt;
        let mmol_per_ml = self.mg_per_ml() / salt.formula.molar_mass().value();
        MilliequivalentsPerMillilitre::new(mmol_per_ml * salt.equivalents_per_mole())
    }

    /// Price of the salt in one millilitre, as it was weighed from the bag; `None` when the lot has
    /// no price.
    #[must_use]
    pub fn price_per_ml(&self) -> Option<Price> {
        let lot = &self.recipe.lot;
        let price = lot.price.as_ref()?;
        let g_per_ml = self.mg_per_ml() / 1000.0 / lot.compound_share();
        Some(Price { per_base: price.per_base * g_per_ml, money: price.money.clone() })
    }

    /// What one millilitre brings: mmol (alkalinity: meq) per mL.
    #[must_use]
    pub fn composition_per_ml(&self) -> Composition {
        self.recipe.salt.composition_per_meq() * self.meq_per_ml().value()
    }
}

/// Mass of a solution that fills a volume: the density depends on the mass that is sought.
fn filled_to_mark(
    anhydrous: Grams,
    volume: Millilitres,
    density_at: impl Fn(f64) -> Result<Density, StockError>,
) -> Result<Grams, StockError> {
    /// Our choice: density moves by less than half of the mass fraction, so each round at least
    /// halves the error and 60 rounds exhaust the digits of any start.
    const ROUNDS: usize = 60;
    let mut total = density_at(0.0)?.value * volume;
    for _ in 0..ROUNDS {
        let next = density_at((anhydrous / total).min(1.0))?.value * volume;
        let settled = (next.value() - total.value()).abs() <= 1e-15 * total.value();
        total = next;
        if settled {
            break;
        }
    }
    Ok(total)
}
