//! A stock as written: how it is meant to be made.

use serde::Deserialize;

use crate::bench::parse::parse;
use crate::bench::{explain, kept, place};
use crate::chemistry::density::DensityError;
use crate::files::{Diagnostic, SourceText, Written};
use crate::quantities::{Celsius, Dimension, Grams, Millilitres};
use crate::stock::{Bottle, Catalogue, Lot, Making, Recipe, Stock, StockError, solubility};

/// Temperature at which volumes are measured when nothing is said: that for which volumetric
/// glassware is calibrated (ISO 384, from memory).
const GLASSWARE_CELSIUS: f64 = 20.0;

/// A stock file as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Stock", deny_unknown_fields)]
pub(super) struct StockEntry {
    name: Written,
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

/// One file of the folder `stocks`.
pub(super) fn one(source: &SourceText) -> Result<StockEntry, Diagnostic> {
    parse(source)
}

impl StockEntry {
    /// Where its name stands.
    pub(super) fn name_leaf(&self) -> &Written {
        &self.name
    }

    /// The stock as meant, and how it is kept.
    pub(super) fn into_bottle(
        self,
        source: &SourceText,
        catalogue: &Catalogue,
    ) -> Result<Bottle, Diagnostic> {
        let name = place::name(source, &self.name)?;
        let salt = catalogue
            .find(self.salt.text())
            .map_err(|e| place::mistake(source, &self.salt, &e, explain::lookup(&e)))?
            .clone();
        let lot = match &self.lot {
            Some(entry) => entry.meant(source)?,
            None => Lot::default(),
        };
        let (making, strength_leaf) = self.made.meant(source)?;
        let temperature = match &self.temperature {
            Some(leaf) => place::amount(source, leaf, &[Dimension::Temperature])?,
            None => GLASSWARE_CELSIUS,
        };
        let temperature = Celsius::new(temperature);
        let recipe = Recipe { name, salt, lot, making, temperature };
        let written = Stock::new(recipe).map_err(|e| {
            let too_cold =
                matches!(e, StockError::Density { source: DensityError::Temperature { .. }, .. });
            let leaf = self.temperature.as_ref().filter(|_| too_cold).unwrap_or(strength_leaf);
            place::mistake(source, leaf, &e, explain::stock(&e))
        })?;
        let storage = match &self.storage {
            Some(leaf) => Celsius::new(place::amount(source, leaf, &[Dimension::Temperature])?),
            None => temperature,
        };
        let keeps_days = self.keeps.as_ref().map(|leaf| kept::days(source, leaf)).transpose()?;
        solubility::check(&written, storage)
            .map_err(|e| place::mistake(source, strength_leaf, &e, explain::solubility(&e)))?;
        Ok(Bottle { written, storage, keeps_days, batch: None })
    }
}

impl MadeEntry {
    /// The making as meant, and the leaf to point at when its strength is impossible.
    fn meant(&self, source: &SourceText) -> Result<(Making, &Written), Diagnostic> {
        let mass = |leaf| place::amount(source, leaf, &[Dimension::Mass]).map(Grams::new);
        match self {
            MadeEntry::ToTotalMass { salt, total } => {
                let making = Making::ToTotalMass { salt: mass(salt)?, total: mass(total)? };
                Ok((making, salt))
            }
            MadeEntry::ToVolume { salt, volume } => {
                let millilitres = place::amount(source, volume, &[Dimension::Volume])?;
                let making =
                    Making::ToVolume { salt: mass(salt)?, volume: Millilitres::new(millilitres) };
                Ok((making, salt))
            }
            MadeEntry::IntoWater { salt, water } => {
                let making = Making::IntoWater { salt: mass(salt)?, water: mass(water)? };
                Ok((making, salt))
            }
        }
    }
}

impl LotEntry {
    fn meant(&self, source: &SourceText) -> Result<Lot, Diagnostic> {
        let (purity, purity_within) = kept::share(source, self.purity.as_ref(), 1.0)?;
        let (moisture, moisture_within) = kept::share(source, self.moisture.as_ref(), 0.0)?;
        let price = self.price.as_ref();
        Ok(Lot {
            purity,
            purity_within,
            moisture,
            moisture_within,
            grade: self.grade.clone(),
            price: price.map(|leaf| kept::price(source, leaf, Dimension::Mass)).transpose()?,
        })
    }
}
