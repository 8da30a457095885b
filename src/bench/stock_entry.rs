//! A stock as written: how it is meant to be made.

use serde::Deserialize;

use crate::bench::{explain, place};
use crate::chemistry::density::DensityError;
use crate::files::{Diagnostic, SourceText, Written, read};
use crate::quantities::{Celsius, Dimension, Fraction, Grams, Millilitres};
use crate::shelf::{Catalogue, Lot, Making, Recipe, Stock, StockError};

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
}

/// One file of the folder `stocks`.
pub(super) fn one(source: &SourceText) -> Result<StockEntry, Diagnostic> {
    read::parse(source)
}

impl StockEntry {
    /// Where its name stands.
    pub(super) fn name_leaf(&self) -> &Written {
        &self.name
    }

    /// The stock as meant.
    pub(super) fn into_stock(
        self,
        source: &SourceText,
        catalogue: &Catalogue,
    ) -> Result<Stock, Diagnostic> {
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
        let recipe = Recipe { name, salt, lot, making, temperature: Celsius::new(temperature) };
        Stock::new(recipe).map_err(|e| {
            let too_cold =
                matches!(e, StockError::Density { source: DensityError::Temperature { .. }, .. });
            let leaf = self.temperature.as_ref().filter(|_| too_cold).unwrap_or(strength_leaf);
            place::mistake(source, leaf, &e, explain::stock(&e))
        })
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
        let share = |leaf: &Option<Written>, default: f64| match leaf {
            Some(leaf) => place::share(source, leaf).map(Fraction::new),
            None => Ok(Fraction::new(default)),
        };
        Ok(Lot {
            purity: share(&self.purity, 1.0)?,
            moisture: share(&self.moisture, 0.0)?,
            grade: self.grade.clone(),
        })
    }
}
