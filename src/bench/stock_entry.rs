//! A stock as written: how it is meant to be made.

use serde::Deserialize;

use crate::bench::{explain, kept, place};
use crate::chemistry::density::DensityError;
use crate::files::{Mistakes, SourceText, Written};
use crate::quantities::{Celsius, Dimension, Grams, Millilitres};
use crate::stock::{Bottle, Catalogue, Lot, Making, Recipe, Stock, StockError, solubility};

/// Temperature at which volumes are measured when nothing is said: that for which volumetric
/// glassware is calibrated (ISO 384, from memory).
const GLASSWARE_CELSIUS: f64 = 20.0;

/// A stock file as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Stock", deny_unknown_fields)]
pub(super) struct StockEntry {
    pub(super) name: Written,
    salt: Written,
    made: MadeEntry,
    lot: Option<LotEntry>,
    temperature: Option<Written>,
    storage: Option<Written>,
    keeps: Option<Written>,
}

/// How it is made, as written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
enum MadeEntry {
    ToTotalMass { salt: Written, total: Written },
    ToVolume { salt: Written, volume: Written },
    IntoWater { salt: Written, water: Written },
}

/// A lot as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Lot", deny_unknown_fields)]
struct LotEntry {
    purity: Option<Written>,
    moisture: Option<Written>,
    grade: Option<String>,
    price: Option<Written>,
}

impl StockEntry {
    /// The stock as meant, and how it is kept.
    ///
    /// # Errors
    /// All that is wrong with the file; an impossible strength only where all else can be read.
    pub(super) fn into_bottle(
        self,
        source: &SourceText,
        catalogue: &Catalogue,
    ) -> Result<Bottle, Mistakes> {
        let mut wrong = Mistakes::default();
        let celsius = |leaf: &Written| place::amount(source, leaf, &[Dimension::Temperature]);
        let name = wrong.take(place::name(source, &self.name));
        let salt = wrong.take(
            catalogue
                .find(self.salt.text())
                .map_err(|e| place::mistake(source, &self.salt, &e, explain::lookup(&e))),
        );
        let lot = match &self.lot {
            Some(entry) => wrong.take(entry.meant(source)),
            None => Some(Lot::default()),
        };
        let making = wrong.take(self.made.meant(source));
        let temperature = self.temperature.as_ref().map_or(Ok(GLASSWARE_CELSIUS), celsius);
        let temperature = wrong.take(temperature).map(Celsius::new);
        let storage = wrong.take(self.storage.as_ref().map(celsius).transpose());
        let keeps = self.keeps.as_ref().map(|leaf| kept::days(source, leaf)).transpose();
        let keeps_days = wrong.take(keeps);
        let (
            Some(name),
            Some(salt),
            Some(lot),
            Some((making, strength_leaf)),
            Some(temperature),
            Some(storage),
            Some(keeps_days),
        ) = (name, salt, lot, making, temperature, storage, keeps_days)
        else {
            return Err(wrong);
        };
        let recipe = Recipe { name, salt: salt.clone(), lot, making, temperature };
        let written = Stock::new(recipe).map_err(|e| {
            let too_cold =
                matches!(e, StockError::Density { source: DensityError::Temperature { .. }, .. });
            let leaf = self.temperature.as_ref().filter(|_| too_cold).unwrap_or(strength_leaf);
            place::mistake(source, leaf, &e, explain::stock(&e))
        })?;
        let storage = storage.map_or(temperature, Celsius::new);
        solubility::check(&written, storage)
            .map_err(|e| place::mistake(source, strength_leaf, &e, explain::solubility(&e)))?;
        Ok(Bottle { written, storage, keeps_days, batch: None })
    }
}

impl MadeEntry {
    /// The making as meant, and the leaf to point at when its strength is impossible.
    fn meant(&self, source: &SourceText) -> Result<(Making, &Written), Mistakes> {
        let (salt, other, dimension) = match self {
            MadeEntry::ToTotalMass { salt, total } => (salt, total, Dimension::Mass),
            MadeEntry::ToVolume { salt, volume } => (salt, volume, Dimension::Volume),
            MadeEntry::IntoWater { salt, water } => (salt, water, Dimension::Mass),
        };
        let mut wrong = Mistakes::default();
        let grams = wrong.take(place::amount(source, salt, &[Dimension::Mass])).map(Grams::new);
        let other = wrong.take(place::amount(source, other, &[dimension]));
        let (Some(grams), Some(amount)) = (grams, other) else { return Err(wrong) };
        let making = match self {
            MadeEntry::ToTotalMass { .. } => {
                Making::ToTotalMass { salt: grams, total: Grams::new(amount) }
            }
            MadeEntry::ToVolume { .. } => {
                Making::ToVolume { salt: grams, volume: Millilitres::new(amount) }
            }
            MadeEntry::IntoWater { .. } => {
                Making::IntoWater { salt: grams, water: Grams::new(amount) }
            }
        };
        Ok((making, salt))
    }
}

impl LotEntry {
    fn meant(&self, source: &SourceText) -> Result<Lot, Mistakes> {
        let mut wrong = Mistakes::default();
        let purity = wrong.take(kept::share(source, self.purity.as_ref(), 1.0));
        let moisture = wrong.take(kept::share(source, self.moisture.as_ref(), 0.0));
        let price = self.price.as_ref();
        let price = price.map(|leaf| kept::price(source, leaf, Dimension::Mass)).transpose();
        match (purity, moisture, wrong.take(price)) {
            (Some((purity, purity_within)), Some((moisture, moisture_within)), Some(price)) => {
                let grade = self.grade.clone();
                Ok(Lot { purity, purity_within, moisture, moisture_within, grade, price })
            }
            _ => Err(wrong),
        }
    }
}
