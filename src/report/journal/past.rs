//! Sessions of a bench as they stand, with the waters as they were made.

use serde::Serialize;

use crate::chemistry::{Composition, Conserved};
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
    /// Constituents, mg/L; alkalinity as HCO3.
    pub mg_per_l: Vec<(String, f64)>,
    /// Hardness, mg/L as CaCO3.
    pub hardness_mg_per_l_caco3: f64,
    /// Alkalinity, mg/L as CaCO3.
    pub alkalinity_mg_per_l_caco3: f64,
}

/// Our choice: constituents this near are of one recipe; no taster tells half a milligram per
/// litre. It decides which servings the journal counts together.
pub const SAME_MG_PER_L: f64 = 0.5;

impl Made {
    /// A constituent by its key.
    #[must_use]
    pub fn mg_per_l(&self, key: &str) -> f64 {
        self.mg_per_l.iter().find(|(k, _)| k == key).map_or(0.0, |(_, amount)| *amount)
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
            let mmol_per_l = self.mg_per_l(conserved.key()) / conserved.g_per_mol();
            water.set_mmol_per_l(conserved, mmol_per_l);
        }
        water.set_mmol_per_l(Conserved::Dic, water.mmol_per_l(Conserved::Alkalinity).max(0.0));
        water
    }

    /// Whether two waters are of the same recipe: every constituent is there in like amounts. (A
    /// fresh batch of a stock changes the dose a little so that the water stays the same.)
    #[must_use]
    pub fn same_recipe(&self, other: &Self) -> bool {
        let near = |one: &Self, two: &Self| {
            let like =
                |(key, amount): &(String, f64)| (amount - two.mg_per_l(key)).abs() < SAME_MG_PER_L;
            one.mg_per_l.iter().all(like)
        };
        near(self, other) && near(other, self)
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
