//! A stock as it was really made: what was weighed, when, from which lot, and what a
//! verification found later.
//!
//! A verified strength is kept in the purity, where it holds per gram weighed, for price and batch
//! alike.

use crate::chemistry::Formula;
use crate::quantities::{Celsius, Day, Fraction, Grams, Millilitres};
use crate::stock::{Lot, Making, Recipe, Stock, StockError};

/// A batch as recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Batch {
    /// Name of the stock.
    pub stock: String,
    /// Number among the batches of this stock, from 1.
    pub number: u32,
    /// The day it was made.
    pub day: Day,
    /// Formula of the salt it was made of.
    pub salt: String,
    /// What was really weighed or filled.
    pub making: Making,
    /// Temperature of its volumes.
    pub temperature: Celsius,
    /// The lot, as the stock's file described it on that day.
    pub lot: Lot,
    /// What is written on the bag, to find it again.
    pub lot_label: Option<String>,
    /// Strength that the stock's file meant on that day, g/kg; nothing of batches from before it was
    /// kept.
    pub file_g_per_kg: Option<f64>,
    /// The last verification that it took over.
    pub verified: Option<Verified>,
}

/// A strength that was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Verified {
    /// The day of the measurement.
    pub day: Day,
    /// Pure salt, hydrate water included, g/kg.
    pub g_per_kg: f64,
    /// Its standard uncertainty, g/kg.
    pub standard_g_per_kg: f64,
}

impl Verified {
    /// Relative standard uncertainty.
    #[must_use]
    pub fn relative(&self) -> Fraction {
        Fraction::new(self.standard_g_per_kg / self.g_per_kg)
    }
}

impl Batch {
    /// Whether it was made of a salt, with the same hydrate water.
    #[must_use]
    pub fn is_of(&self, salt: &Formula) -> bool {
        Formula::parse(&self.salt).is_ok_and(|formula| formula.same_compound(salt))
    }

    /// The stock that this batch is, with the name and salt of the written one. A verified
    /// strength stands in the purity, so that it holds per gram of what was weighed.
    ///
    /// # Errors
    /// As [`Stock::new`].
    pub fn made(&self, written: &Recipe) -> Result<Stock, StockError> {
        /// Our choice: the strength follows the purity almost in proportion (exactly by mass), so
        /// each round gains two digits.
        const ROUNDS: usize = 12;
        let mut recipe = Recipe {
            lot: self.lot.clone(),
            making: self.making,
            temperature: self.temperature,
            ..written.clone()
        };
        let mut stock = Stock::new(recipe.clone())?;
        if let Some(verified) = self.verified {
            for _ in 0..ROUNDS {
                let factor = verified.g_per_kg / stock.g_per_kg();
                recipe.lot.purity = recipe.lot.purity * factor;
                stock = Stock::new(recipe.clone())?;
            }
        }
        Ok(stock)
    }

    /// Mass of the whole batch.
    #[must_use]
    pub fn mass(&self, made: &Stock) -> Grams {
        match self.making {
            Making::ToTotalMass { total, .. } => total,
            Making::IntoWater { salt, water } => salt + water,
            Making::ToVolume { volume, .. } => made.density().value * volume,
        }
    }

    /// Volume of the whole batch.
    #[must_use]
    pub fn volume(&self, made: &Stock) -> Millilitres {
        self.mass(made) / made.density().value
    }
}
