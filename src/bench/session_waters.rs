//! What the waters of a session were made of when it was planned, so that a flight changed later
//! does not change what was tasted. It names waters and no codes.

use serde::{Deserialize, Serialize};

use crate::chemistry::{Composition, Conserved};
use crate::quantities::show;
use crate::report::Keyed;
use crate::report::journal::{Made, SAME_MG_PER_L};

/// Version of the file. Raised when a reader of this one could not read it.
pub const WATERS_FORMAT: u32 = 1;

/// The waters of a session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SessionWaters {
    /// [`WATERS_FORMAT`].
    pub format: u32,
    /// The day on which the session was planned.
    pub day: String,
    /// File name of the flight.
    pub flight: String,
    /// Its title.
    pub title: String,
    /// The waters, in the order of the flight.
    pub waters: Vec<PlannedWater>,
}

/// One water as it was planned.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedWater {
    /// Its name.
    pub name: String,
    /// Doses for a litre of finished water.
    pub doses: Vec<PlannedDose>,
    /// Base waters and their shares of the finished volume.
    pub base: Vec<(String, f64)>,
    /// Constituents, mg/L, by their keys; alkalinity as HCO3.
    pub mg_per_l: Vec<(String, f64)>,
    /// Hardness, mg/L as CaCO3.
    pub hardness_mg_per_l_caco3: f64,
    /// Alkalinity, mg/L as CaCO3.
    pub alkalinity_mg_per_l_caco3: f64,
    /// Dissolved solids, mg/L.
    pub dissolved_solids_mg_per_l: f64,
}

/// A dose of one stock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedDose {
    /// The stock.
    pub stock: String,
    /// The batch that was in its bottle; nothing when none was recorded.
    pub batch: Option<u32>,
    /// Millilitres for a litre of finished water.
    pub ml_per_l: f64,
}

impl PlannedWater {
    /// As the journal knows it.
    #[must_use]
    pub fn made(&self) -> Made {
        Made {
            water: self.name.clone(),
            doses_ml_per_l: self.doses.iter().map(|d| (d.stock.clone(), d.ml_per_l)).collect(),
            base: self.base.clone(),
            mg_per_l: self.mg_per_l.clone(),
            hardness_mg_per_l_caco3: self.hardness_mg_per_l_caco3,
            alkalinity_mg_per_l_caco3: self.alkalinity_mg_per_l_caco3,
        }
    }

    /// What it held. Its carbon was not recorded and is taken to be that of its alkalinity.
    #[must_use]
    pub fn composition(&self) -> Composition {
        let mut water = Composition::PURE_WATER;
        for conserved in Conserved::ALL.into_iter().filter(|c| *c != Conserved::Dic) {
            let mut one = Composition::PURE_WATER;
            one.set_mmol_per_l(conserved, 1.0);
            let mg_per_mmol = one.mg_per_l(conserved);
            let mmol = self.mg_per_l(conserved.key()).map(|mg| mg / mg_per_mmol);
            water.set_mmol_per_l(conserved, mmol.unwrap_or(0.0));
        }
        water.set_mmol_per_l(Conserved::Dic, water.mmol_per_l(Conserved::Alkalinity).max(0.0));
        water
    }

    /// What differs from the same water as it is planned now, in words.
    #[must_use]
    pub fn changes(&self, now: &Keyed) -> Vec<String> {
        let moved = now.0.iter().filter_map(|(key, now)| {
            let then = self.mg_per_l(key).unwrap_or(0.0);
            ((now - then).abs() >= SAME_MG_PER_L).then(|| {
                format!("{key} {}, not {}", show::three_figures(*now), show::three_figures(then))
            })
        });
        moved.collect()
    }

    /// A constituent by its key.
    #[must_use]
    pub fn mg_per_l(&self, key: &str) -> Option<f64> {
        self.mg_per_l.iter().find(|(k, _)| k == key).map(|(_, amount)| *amount)
    }
}

impl SessionWaters {
    /// The text of the file.
    #[must_use]
    pub fn to_text(&self) -> String {
        // The planner gives finite numbers only, so it has no way to fail.
        serde_json::to_string_pretty(self).unwrap_or_default() + "\n"
    }

    /// A water by its name.
    #[must_use]
    pub fn water(&self, name: &str) -> Option<&PlannedWater> {
        self.waters.iter().find(|water| water.name == name)
    }
}
