//! What precipitates in a boiler: all minerals together, since they share calcium and carbonate.

use serde::Serialize;

use crate::assessment::Withheld;
use crate::assessment::lab::Stage;
use crate::chemistry::{
    Aqueous, Bounds, Carbon, ChemistryError, Composition, Conserved, ConservedSet, Mineral,
};
use crate::reference::natural_waters::SILICA_UP_TO_MG_PER_L;

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

/// What the minerals of a boiler are of.
pub(crate) fn parts() -> ConservedSet {
    IN_BOILERS.iter().flat_map(|mineral| mineral.takes()).map(|(c, _)| *c).collect()
}

/// Those minerals that precipitate in a boiler and that a water was measured for.
pub(crate) fn counted(water: &Composition) -> Vec<Mineral> {
    IN_BOILERS.into_iter().filter(|mineral| mineral.is_measured(water)).collect()
}

/// Whether a mineral that a water was not measured for may precipitate from it, concentrated so many
/// times. It may not where something of it is absent, or where the most there can be of what was not
/// measured is too little; of silica natural waters have so much at most.
pub(crate) fn may_precipitate(
    at: &Aqueous,
    carbon: Carbon,
    (water, cycles): (&Composition, f64),
    mineral: Mineral,
) -> Result<bool, ChemistryError> {
    let mut richest = *water;
    let mut is_bounded = true;
    for (c, _) in mineral.takes() {
        if water.is_measured(*c) {
            if water.bounds_mmol_per_l(*c).at_most.is_some_and(|most| most <= 0.0) {
                return Ok(false);
            }
            continue;
        }
        let natural = (*c == Conserved::SiO2).then(|| SILICA_UP_TO_MG_PER_L / c.g_per_mol());
        let Bounds { at_most, .. } = water.bounds_mmol_per_l(*c);
        match at_most.or(natural) {
            Some(most) => richest.set_mmol_per_l(*c, most),
            None => is_bounded = false,
        }
    }
    if !is_bounded {
        return Ok(true);
    }
    let species = at.speciate(&(richest * cycles), carbon)?;
    Ok(species.si(mineral).is_some_and(|si| si >= 0.0))
}

/// Why more may precipitate than what a water was measured for.
fn least_since(
    at: &Aqueous,
    carbon: Carbon,
    (water, cycles): (&Composition, f64),
) -> Result<Option<Withheld>, ChemistryError> {
    let mut lacking = ConservedSet::NONE;
    for mineral in IN_BOILERS.into_iter().filter(|mineral| !mineral.is_measured(water)) {
        if may_precipitate(at, carbon, (water, cycles), mineral)? {
            let parts = mineral.takes().iter().map(|(c, _)| *c);
            parts.filter(|c| !water.is_measured(*c)).for_each(|c| lacking.insert(c));
        }
    }
    Ok(Withheld::of(lacking))
}

/// What precipitates from a water, and the water over it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Precipitated {
    /// By the default calcite constant, of the minerals that the water was measured for.
    pub(crate) precipitates: Precipitates,
    /// Grams of all of them by either of the two published calcite constants, with the least and the most
    /// of what was not measured or only found to be below a limit: least, most. The least is 0 where
    /// magnesium, whose brucite takes from calcite, was not measured and nothing limits it.
    pub(crate) between: [f64; 2],
    /// Why more may precipitate.
    pub(crate) least_since: Option<Withheld>,
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
    let minerals = counted(water);
    let of =
        |at: &Aqueous, water: &Composition, minerals: &[Mineral]| -> Result<_, ChemistryError> {
            let strong = *water * cycles;
            let settled = at.precipitate(&strong, carbon, minerals)?;
            let mut rest = strong;
            for mineral in IN_BOILERS {
                rest = mineral.taken_from(&rest, settled.mmol_per_kg(mineral));
            }
            // mg/L are g per 1,000 L; a litre counts as a kilogram.
            let g_of = |m: Mineral| settled.mmol_per_kg(m) * m.g_per_mol() / cycles;
            Ok((Precipitates::of(g_of), rest))
        };
    let (precipitates, rest) = of(&stage.aqueous, water, &minerals)?;
    let mut between = [precipitates.total(); 2];
    let mut widen = |precipitates: Precipitates| {
        let [least, most] = between;
        between = [least.min(precipitates.total()), most.max(precipitates.total())];
    };
    widen(of(&stage.other_calcite, water, &minerals)?.0);
    let mut by_both = |water: &Composition, minerals: &[Mineral]| -> Result<(), ChemistryError> {
        for at in [&stage.aqueous, &stage.other_calcite] {
            widen(of(at, water, minerals)?.0);
        }
        Ok(())
    };
    let mut possible = water.corners(parts());
    for possible in &possible {
        by_both(possible, &minerals)?;
    }
    if !water.is_measured(Conserved::Mg)
        && may_precipitate(&stage.aqueous, carbon, (water, cycles), Mineral::Brucite)?
    {
        // Brucite takes the alkalinity of calcite and weighs less: with magnesium there may be less
        // limescale than without, and nothing is the least where magnesium has no limit.
        let Bounds { at_least, at_most } = water.bounds_mmol_per_l(Conserved::Mg);
        let with_brucite: Vec<Mineral> =
            minerals.iter().copied().chain([Mineral::Brucite]).collect();
        for magnesium in at_most.iter().flat_map(|most| [at_least, *most]) {
            for possible in &mut possible {
                possible.set_mmol_per_l(Conserved::Mg, magnesium);
                by_both(possible, &with_brucite)?;
            }
        }
        if at_most.is_none() {
            let [_, most] = between;
            between = [0.0, most];
        }
    }
    let least_since = least_since(&stage.aqueous, carbon, (water, cycles))?;
    Ok(Precipitated { precipitates, between, least_since, rest })
}
