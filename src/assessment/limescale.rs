//! What precipitates in a boiler: all minerals together, since they share calcium and carbonate.

use serde::Serialize;

use crate::assessment::lab::Stage;
use crate::chemistry::{Aqueous, Carbon, ChemistryError, Composition, Mineral};

/// The minerals that precipitate in a boiler; of the two sulfates the one that is less soluble
/// there. Magnesium silicates are left out: they grow slowly, and their constants differ widely.
pub(crate) const IN_BOILERS: [Mineral; 5] = [
    Mineral::Calcite,
    Mineral::Gypsum,
    Mineral::Anhydrite,
    Mineral::Brucite,
    Mineral::AmorphousSilica,
];

/// Grams of each mineral that precipitate from 1,000 L of water fed.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Precipitates {
    /// CaCO3.
    pub calcite: f64,
    /// CaSO4·2H2O.
    pub gypsum: f64,
    /// CaSO4.
    pub anhydrite: f64,
    /// Mg(OH)2.
    pub brucite: f64,
    /// SiO2.
    pub silica: f64,
}

impl Precipitates {
    /// All of them together.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.each().iter().map(|(_, g)| g).sum()
    }

    /// Each mineral by its key.
    #[must_use]
    pub fn each(&self) -> [(&'static str, f64); IN_BOILERS.len()] {
        let grams = [self.calcite, self.gypsum, self.anhydrite, self.brucite, self.silica];
        let mut each = [("", 0.0); IN_BOILERS.len()];
        for (place, (mineral, g)) in each.iter_mut().zip(IN_BOILERS.into_iter().zip(grams)) {
            *place = (mineral.key(), g);
        }
        each
    }

    fn of(g_of: impl Fn(Mineral) -> f64) -> Self {
        Self {
            calcite: g_of(Mineral::Calcite),
            gypsum: g_of(Mineral::Gypsum),
            anhydrite: g_of(Mineral::Anhydrite),
            brucite: g_of(Mineral::Brucite),
            silica: g_of(Mineral::AmorphousSilica),
        }
    }
}

/// What precipitates from a water, and the water over it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Precipitated {
    /// By the default calcite constant.
    pub(crate) precipitates: Precipitates,
    /// Grams of all of it by either of the two published calcite constants: least, most.
    pub(crate) between: [f64; 2],
    /// What stays dissolved, at the strength that the water then has.
    pub(crate) rest: Composition,
}

/// What precipitates at a stage when the water has been concentrated so many times; per 1,000 L
/// of water fed.
pub(crate) fn settled(
    stage: &Stage,
    carbon: Carbon,
    water: &Composition,
    cycles: f64,
) -> Result<Precipitated, ChemistryError> {
    let strong = *water * cycles;
    let by = |at: &Aqueous| -> Result<(Precipitates, Composition), ChemistryError> {
        let settled = at.precipitate(&strong, carbon, &IN_BOILERS)?;
        let mut rest = strong;
        for mineral in IN_BOILERS {
            rest = mineral.taken_from(&rest, settled.mmol_per_kg(mineral));
        }
        // mg/L are g per 1,000 L; a litre counts as a kilogram.
        let g_of = |m: Mineral| settled.mmol_per_kg(m) * m.g_per_mol() / cycles;
        Ok((Precipitates::of(g_of), rest))
    };
    let (precipitates, rest) = by(&stage.aqueous)?;
    let (other, _) = by(&stage.other_calcite)?;
    let (a, b) = (precipitates.total(), other.total());
    Ok(Precipitated { precipitates, between: [a.min(b), a.max(b)], rest })
}
