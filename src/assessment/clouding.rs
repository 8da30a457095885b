//! Whether a finished water or a concentrate turns cloudy, from what and how much.
//!
//! Nesquehonite and not magnesite: at the temperatures of rooms and fridges magnesium carbonate
//! comes as the trihydrate, and magnesite and dolomite do not grow in months. Of its published
//! constants the lowest is taken, so that what is said to stay clear does.

use serde::Serialize;

use crate::assessment::limescale::may_precipitate;
use crate::assessment::water_report::AS_FED;
use crate::assessment::withheld::CARBONATE;
use crate::assessment::{Lab, Withheld};
use crate::chemistry::{
    Carbon, ChemistryError, Composition, Conserved, Mineral, Precipitation, Validity,
};
use crate::stock::bottle_pressure::needs_pressure_care;

/// A solid that precipitates.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Solid {
    /// Key of the mineral.
    pub mineral: &'static str,
    /// Its formula.
    pub formula: &'static str,
    /// Its saturation index while the water was still clear.
    pub si: f64,
    /// Amount that precipitates, mmol/L.
    pub mmol_per_l: f64,
    /// Amount that precipitates, mg/L.
    pub mg_per_l: f64,
}

/// What the eye will see.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Outlook {
    /// Nothing is oversaturated.
    Clear,
    /// Oversaturated, but so little that it may stay clear for days or for good.
    SlowIfAtAll,
    /// It clouds.
    Cloudy,
    /// Calcium or alkalinity was not measured, so nothing can be said.
    NotJudged,
}

/// What precipitates from a water when it is left to stand.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Clouding {
    /// Temperature, °C.
    pub celsius: f64,
    /// What the eye will see.
    pub outlook: Outlook,
    /// What precipitates, the heaviest first.
    pub solids: Vec<Solid>,
    /// Share of the alkalinity that ends at the bottom, 0 to 1; none where it is not judged.
    pub alkalinity_lost: Option<f64>,
    /// Share of the calcium that ends at the bottom, 0 to 1; none where it is not judged.
    pub calcium_lost: Option<f64>,
    /// pH of the clear water over the solids; none where it is not judged.
    pub ph: Option<f64>,
    /// Minerals that are not judged, because an ion of them was not measured.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_judged: Vec<&'static str>,
    /// Pressure of carbon dioxide in a bottle of it, filled to the brim and closed, once that has
    /// precipitated what can, atm; none where it is not judged.
    pub co2_atm: Option<f64>,
    /// Ionic strength while still clear, mol/L.
    pub ionic_strength_mol_per_l: f64,
    /// Whether that is beyond what the activity model is backed for: the amounts are then an
    /// extrapolation.
    pub extrapolated: bool,
}

/// Saturation index below which a mineral seldom starts by itself: our choice, after common practice
/// in water treatment, where calcite up to about 0.5 is lived with.
pub(crate) const NUCLEATES_BY_ITSELF: f64 = 0.5;

/// What the solids took of a total, mmol per kg of water.
pub(crate) fn taken(after: &Precipitation<'_>, of: Conserved) -> f64 {
    let each =
        MAY_PRECIPITATE.into_iter().flat_map(|m| m.takes().iter().map(move |(c, n)| (m, *c, *n)));
    each.filter(|(_, c, _)| *c == of).map(|(m, _, n)| n * after.mmol_per_kg(m)).sum()
}

/// What may precipitate from a water at rest; anhydrite grows only in the heat.
pub(crate) const MAY_PRECIPITATE: [Mineral; 5] = [
    Mineral::Calcite,
    Mineral::Gypsum,
    Mineral::Brucite,
    Mineral::Nesquehonite,
    Mineral::AmorphousSilica,
];

impl Clouding {
    /// Whether carbon dioxide presses on the closed bottle as on pressure equipment.
    #[must_use]
    pub fn is_under_pressure(&self) -> bool {
        self.co2_atm.is_some_and(needs_pressure_care)
    }
}

impl Lab {
    /// What precipitates from a water at the temperature of the room, closed as in a bottle.
    ///
    /// The amounts are those of the end; how soon it is reached is another question, which
    /// [`Outlook`] answers roughly.
    ///
    /// # Errors
    /// As for the report of a water.
    pub fn clouding(&self, water: &Composition) -> Result<Clouding, ChemistryError> {
        let at = &self.room.aqueous;
        let before = at.speciate(water, Carbon::Closed)?;
        let (minerals, mut unknown): (Vec<Mineral>, Vec<Mineral>) =
            MAY_PRECIPITATE.into_iter().partition(|mineral| mineral.is_measured(water));
        // Few analyses give silica, and what natural waters have of it stays dissolved in the cold.
        let silica = Mineral::AmorphousSilica;
        if !may_precipitate(at, Carbon::Closed, (water, AS_FED), silica)? {
            unknown.retain(|mineral| *mineral != silica);
        }
        let after = at.precipitate(water, Carbon::Closed, &minerals)?;
        let mut solids: Vec<Solid> = minerals
            .iter()
            .copied()
            .filter_map(|mineral| {
                let mmol_per_l = after.mmol_per_kg(mineral);
                let si = before.si(mineral)?;
                (mmol_per_l > 0.0).then(|| Solid {
                    mineral: mineral.key(),
                    formula: mineral.formula(),
                    si,
                    mmol_per_l,
                    mg_per_l: mmol_per_l * mineral.g_per_mol(),
                })
            })
            .collect();
        solids.sort_by(|a, b| b.mg_per_l.total_cmp(&a.mg_per_l));
        let lost = |conserved: Conserved| {
            let total = water.mmol_per_l(conserved);
            if total > 0.0 { taken(&after, conserved) / total } else { 0.0 }
        };
        let is_judged = Withheld::unless_measured(water, &CARBONATE).is_none();
        let outlook = if !is_judged {
            solids.clear();
            Outlook::NotJudged
        } else if solids.is_empty() {
            Outlook::Clear
        } else if solids.iter().all(|solid| solid.si < NUCLEATES_BY_ITSELF) {
            Outlook::SlowIfAtAll
        } else {
            Outlook::Cloudy
        };
        Ok(Clouding {
            celsius: at.temperature().value(),
            outlook,
            solids,
            alkalinity_lost: is_judged.then(|| lost(Conserved::Alkalinity)),
            calcium_lost: is_judged.then(|| lost(Conserved::Ca)),
            ph: is_judged.then(|| after.rest.ph()),
            not_judged: unknown.into_iter().map(Mineral::key).collect(),
            co2_atm: is_judged.then(|| after.rest.co2_atm()),
            ionic_strength_mol_per_l: before.ionic_strength_mol_per_kg(),
            extrapolated: before.validity() == Validity::Extrapolated,
        })
    }
}
