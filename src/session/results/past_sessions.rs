//! Sessions of a bench as they stand, with the waters as they were made.

use serde::Serialize;

use crate::chemistry::{Composition, Conserved};
use crate::session::score::Revealed;
use crate::water::bound_by_charge;

/// A water as it was made for a session.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct PlannedWaterRecipe {
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

impl PlannedWaterRecipe {
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

    /// What it held. Its carbon was not recorded and is taken to be that of its alkalinity; what was
    /// not measured is as open as the charges leave it.
    #[must_use]
    pub fn composition(&self) -> Composition {
        let mut water = Composition::PURE_WATER;
        let mut not_measured = Vec::new();
        for conserved in Conserved::ALL.into_iter().filter(|c| *c != Conserved::Dic) {
            match self.mg_per_l(conserved.key()) {
                Some(mg) => water.set_mmol_per_l(conserved, mg / conserved.g_per_mol()),
                None => not_measured.push(conserved),
            }
            if self.assumed.iter().any(|key| key == conserved.key()) {
                water.mark_assumed(conserved);
            }
        }
        water.set_mmol_per_l(Conserved::Dic, water.mmol_per_l(Conserved::Alkalinity).max(0.0));
        bound_by_charge(&mut water, &not_measured);
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
    pub made: Vec<PlannedWaterRecipe>,
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

#[cfg(test)]
mod tests {
    use super::*;

    fn made(base: &str, chloride: Option<f64>) -> PlannedWaterRecipe {
        let held = [("Ca", 40.0), ("Mg", 6.0), ("HCO3", 120.0)].map(|(k, mg)| (k.to_owned(), mg));
        let chloride_too = chloride.map(|mg| ("Cl".to_owned(), mg));
        let open = ["Na", "K", "SO4", "NO3"].into_iter().chain(chloride.is_none().then_some("Cl"));
        PlannedWaterRecipe {
            water: "a".to_owned(),
            base: vec![("distilled".to_owned(), 0.5), (base.to_owned(), 0.5)],
            mg_per_l: held.into_iter().chain(chloride_too).collect(),
            not_measured: open.map(str::to_owned).collect(),
            ..PlannedWaterRecipe::default()
        }
    }

    #[test]
    fn what_was_not_measured_stays_open_in_the_record() {
        let kit = made("kit", None);
        assert_eq!((kit.mg_per_l("Cl"), kit.mg_per_l("lactate")), (None, Some(0.0)));
        let water = kit.composition();
        assert!(water.lacks_ions() && !water.is_measured(Conserved::Cl));
        assert!(water.is_measured(Conserved::Ca) && water.extremes().is_some());
        // The charges ask for half a meq/L of anions that nobody measured.
        let most = water.extremes().map(|[_, most]| most.mmol_per_l(Conserved::Cl));
        assert!(most.is_some_and(|mmol| mmol > 0.4), "{most:?}");
    }

    #[test]
    fn the_unknown_is_alike_from_the_same_base_waters_alone() {
        assert!(made("kit", None).same_recipe(&made("kit", None)));
        assert!(!made("kit", None).same_recipe(&made("well", None)));
        assert!(!made("kit", None).same_recipe(&made("kit", Some(20.0))));
    }
}
