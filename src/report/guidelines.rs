//! A water beside published values: a table, never a verdict.

use serde::Serialize;

use crate::chemistry::{Aqueous, Carbon, ChemistryError, Composition, Conductor, Conserved};
use crate::quantities::Celsius;
use crate::reference::water_guidelines::{GUIDELINES, Subject};
use crate::reference::water_hardness::CACO3_MG_PER_MEQ;
use crate::report::lab::Lab;
use crate::waters::Measure;

/// One published value with that of the water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GuidelineRow {
    /// What is compared.
    pub quantity: &'static str,
    /// Unit of all numbers of the row.
    pub unit: &'static str,
    /// The water.
    pub value: f64,
    /// Least published.
    pub at_least: Option<f64>,
    /// Most published.
    pub at_most: Option<f64>,
    /// Published aim.
    pub aim: Option<f64>,
    /// What kind of value the document calls it.
    pub kind: &'static str,
    /// The document, its year, and whether it was looked up.
    pub source: &'static str,
}

/// Temperature of the European conductivity value, °C.
const CONDUCTIVITY_CELSIUS: f64 = 20.0;

impl Lab {
    /// The published values with this water beside them, pH and conductivity of the closed water.
    ///
    /// # Errors
    /// As for the report of a water.
    pub fn guidelines(&self, water: &Composition) -> Result<Vec<GuidelineRow>, ChemistryError> {
        let ph = self.room.aqueous.speciate(water, Carbon::Closed)?.ph();
        let at_20 = Aqueous::at(Celsius::new(CONDUCTIVITY_CELSIUS))?;
        let species = at_20.speciate(water, Carbon::Closed)?;
        let conductivity = Conductor::at(&at_20).conductivity(&species).us_per_cm;
        let as_caco3 = |measure: Measure| measure.of(water) * CACO3_MG_PER_MEQ;
        let rows = GUIDELINES.iter().map(|guideline| {
            let (quantity, unit, value) = match guideline.subject {
                Subject::Chloride => ("chloride", "mg/L", water.mg_per_l(Conserved::Cl)),
                Subject::Sulfate => ("sulfate", "mg/L", water.mg_per_l(Conserved::SO4)),
                Subject::Sodium => ("sodium", "mg/L", water.mg_per_l(Conserved::Na)),
                Subject::Nitrate => ("nitrate", "mg/L", water.mg_per_l(Conserved::NO3)),
                Subject::DissolvedSolids => {
                    ("dissolved solids", "mg/L", Measure::DissolvedSolids.of(water))
                }
                Subject::CalciumHardness => {
                    ("calcium hardness", "mg/L as CaCO3", as_caco3(Measure::CalciumHardness))
                }
                Subject::Alkalinity => {
                    ("alkalinity", "mg/L as CaCO3", as_caco3(Measure::Alkalinity))
                }
                Subject::Ph => ("pH as mixed", "pH", ph),
                Subject::Conductivity20 => ("conductivity at 20 °C", "µS/cm", conductivity),
            };
            GuidelineRow {
                quantity,
                unit,
                value,
                at_least: guideline.at_least,
                at_most: guideline.at_most,
                aim: guideline.aim,
                kind: guideline.kind,
                source: guideline.document,
            }
        });
        Ok(rows.collect())
    }
}
