//! Sessions of a bench as they stand, with the waters as they were made.

use serde::Serialize;

use crate::chemistry::{Composition, Conserved, OpenTotal};
use crate::scores::Revealed;

/// A water as it was made for a session.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Made {
    /// Its name.
    pub water: String,
    /// Stocks and millilitres for a litre of finished water.
    pub doses_ml_per_l: Vec<(String, f64)>,
    /// Base waters and their shares.
    pub base: Vec<(String, f64)>,
    /// Constituents that were measured, mg/L; alkalinity as HCO3.
    pub mg_per_l: Vec<(String, f64)>,
    /// Keys of those that were not.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_measured: Vec<String>,
    /// Keys of those that were assumed.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub assumed: Vec<String>,
    /// Hardness, mg/L as CaCO3; none where it was not measured.
    pub hardness_mg_per_l_caco3: Option<f64>,
    /// Alkalinity, mg/L as CaCO3; none where it was not measured.
    pub alkalinity_mg_per_l_caco3: Option<f64>,
}

/// Our choice: constituents this near are of one recipe; no taster tells half a milligram per
/// litre. It decides which servings the journal counts together.
pub const SAME_MG_PER_L: f64 = 0.5;

impl Made {
    /// A constituent by its key; none where it was not measured.
    #[must_use]
    pub fn mg_per_l(&self, key: &str) -> Option<f64> {
        let found = self.mg_per_l.iter().find(|(k, _)| k == key).map(|(_, amount)| *amount);
        let is_known = !self.not_measured.iter().any(|k| k == key);
        is_known.then(|| found.unwrap_or(0.0))
    }

    /// A dose by its stock.
    #[must_use]
    pub fn ml_per_l(&self, stock: &str) -> f64 {
        self.doses_ml_per_l.iter().find(|(s, _)| s == stock).map_or(0.0, |(_, ml)| *ml)
    }

    /// What it held. Its carbon was not recorded and is taken to be that of its alkalinity.
    #[must_use]
    pub fn composition(&self) -> Composition {
        let mut water = Composition::PURE_WATER;
        for conserved in Conserved::ALL.into_iter().filter(|c| *c != Conserved::Dic) {
            match self.mg_per_l(conserved.key()) {
                Some(mg) => water.set_mmol_per_l(conserved, mg / conserved.g_per_mol()),
                // How much there may have been was not recorded.
                None => water.leave_open(conserved, 0.0, OpenTotal::default()),
            }
            if self.assumed.iter().any(|key| key == conserved.key()) {
                water.call_assumed(conserved);
            }
        }
        let carbon = water.mmol_per_l(Conserved::Alkalinity).max(0.0);
        if water.is_measured(Conserved::Alkalinity) {
            water.set_mmol_per_l(Conserved::Dic, carbon);
        } else {
            water.leave_open(Conserved::Dic, carbon, OpenTotal::default());
        }
        water
    }

    /// Whether two waters are of the same recipe: every constituent is there in like amounts. (A
    /// fresh batch of a stock changes the dose a little so that the water stays the same.) What was
    /// not measured is alike where it comes from the same base waters.
    #[must_use]
    pub fn same_recipe(&self, other: &Self) -> bool {
        let near = |one: &Self, two: &Self| {
            one.mg_per_l.iter().all(|(key, amount)| {
                two.mg_per_l(key).is_some_and(|theirs| (amount - theirs).abs() < SAME_MG_PER_L)
            })
        };
        let bases = |made: &Self| {
            let mut names: Vec<String> = made.base.iter().map(|(name, _)| name.clone()).collect();
            names.sort_unstable();
            names
        };
        let known = self.not_measured.is_empty() && other.not_measured.is_empty();
        near(self, other) && near(other, self) && (known || bases(self) == bases(other))
    }
}

/// A session of the bench as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct PastSession {
    /// Its name.
    pub name: String,
    /// When it was revealed; the day of its plan when it is not.
    pub at: String,
    /// Its waters.
    pub made: Vec<Made>,
    /// Its answers with the waters named, once revealed.
    pub revealed: Option<Revealed>,
}

impl PastSession {
    /// The day.
    #[must_use]
    pub fn day(&self) -> &str {
        self.at.split('T').next().unwrap_or(&self.at)
    }
}
