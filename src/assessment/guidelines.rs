//! A water beside published values: a table, never a verdict.

use serde::Serialize;

use crate::assessment::withheld::CARBONATE;
use crate::assessment::{Lab, Withheld};
use crate::chemistry::{Aqueous, Carbon, ChemistryError, Composition, Conductor, Conserved};
use crate::quantities::Celsius;
use crate::reference::water_guidelines::{GUIDELINES, Guideline, Subject};
use crate::water::Measure;

/// One published value with that of the water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GuidelineRow {
    /// What is compared.
    pub quantity: &'static str,
    /// Unit of all numbers of the row.
    pub unit: &'static str,
    /// The water; none where it was not measured.
    pub value: Option<f64>,
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
        let is_known = |needed: &[Conserved]| Withheld::unless_measured(water, needed).is_none();
        let ph = self.room.aqueous.speciate(water, Carbon::Closed)?.ph();
        let ph = is_known(&CARBONATE).then_some(ph);
        let at_20 = Aqueous::at(Celsius::new(CONDUCTIVITY_CELSIUS))?;
        let species = at_20.speciate(water, Carbon::Closed)?;
        let conductivity = Conductor::at(&at_20).conductivity(&species).us_per_cm;
        // With salt that was not measured it is a range, which a table of values has no room for.
        let conductivity = (!water.lacks_ions()).then_some(conductivity);
        let rows = GUIDELINES.iter().map(|guideline| {
            let (quantity, unit, value) = match guideline.subject {
                Subject::Chloride => ("chloride", "mg/L", water.measured_mg_per_l(Conserved::Cl)),
                Subject::Sulfate => ("sulfate", "mg/L", water.measured_mg_per_l(Conserved::SO4)),
                Subject::Sodium => ("sodium", "mg/L", water.measured_mg_per_l(Conserved::Na)),
                Subject::Nitrate => ("nitrate", "mg/L", water.measured_mg_per_l(Conserved::NO3)),
                Subject::DissolvedSolids => {
                    ("dissolved solids", "mg/L", Measure::DissolvedSolids.measured_usual(water))
                }
                Subject::Hardness => {
                    ("hardness", "mg/L as CaCO3", Measure::Hardness.measured_usual(water))
                }
                Subject::CalciumHardness => {
                    let usual = Measure::CalciumHardness.measured_usual(water);
                    ("calcium hardness", "mg/L as CaCO3", usual)
                }
                Subject::Alkalinity => {
                    ("alkalinity", "mg/L as CaCO3", Measure::Alkalinity.measured_usual(water))
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

/// What is published of one measure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PublishedRange {
    /// The measure.
    pub measure: &'static str,
    /// Least, where there is one.
    pub at_least: Option<f64>,
    /// Most, where there is one.
    pub at_most: Option<f64>,
    /// Published aim.
    pub aim: Option<f64>,
    /// What kind of value it is there.
    pub kind: &'static str,
    /// The document, its year, and whether it was looked up.
    pub source: &'static str,
}

/// What is published of a measure, in its usual unit.
#[must_use]
pub fn published_ranges(measure: Measure) -> Vec<PublishedRange> {
    let subject = match measure {
        Measure::Hardness => Subject::Hardness,
        Measure::CalciumHardness => Subject::CalciumHardness,
        Measure::Alkalinity => Subject::Alkalinity,
        Measure::Sodium => Subject::Sodium,
        Measure::Chloride => Subject::Chloride,
        Measure::Sulfate => Subject::Sulfate,
        Measure::Nitrate => Subject::Nitrate,
        Measure::DissolvedSolids => Subject::DissolvedSolids,
        _ => return Vec::new(),
    };
    let own = GUIDELINES.iter().filter(|guideline| guideline.subject == subject);
    let range = |guideline: &Guideline| PublishedRange {
        measure: measure.key(),
        at_least: guideline.at_least,
        at_most: guideline.at_most,
        aim: guideline.aim,
        kind: guideline.kind,
        source: guideline.document,
    };
    own.map(range).collect()
}
