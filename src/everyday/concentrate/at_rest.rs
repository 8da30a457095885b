//! What has precipitated once a bottle has come to rest: minerals that its ions make together, and
//! the salts' own crystals; and the carbon dioxide that then builds pressure in a closed one.
//!
//! The pressure is that of a bottle filled to the brim, the most there can be: gas above the liquid
//! takes its part, and every opening lets some go. A salt's own solubility is a product of
//! concentrations: it counts what other salts bring of the same ions, and for a salt alone it is
//! the handbook's value; activities of strong mixtures are not known.

use serde::Serialize;

use crate::assessment::clouding::{MAY_PRECIPITATE, NUCLEATES_BY_ITSELF, taken};
use crate::assessment::lab::Stage;
use crate::assessment::{Lab, State};
use crate::chemistry::{
    Carbon, ChemistryError, Conserved, Ion, KeyedAmounts, Mineral, Precipitation,
};
use crate::everyday::concentrate::bottle::Bottle;
use crate::quantities::{Celsius, show};
use crate::reference::wateq4f::NESQUEHONITE_SPREAD;
use crate::stock::bottle_pressure::needs_pressure_care;
use crate::stock::solubility::SENSIBLE;
use crate::stock::{Catalogue, Salt};

/// A fridge, for the question whether to keep it cold: our choice.
pub const FRIDGE: Celsius = Celsius::new(5.0);

/// Part of a bottle that is gas, where one is not full: our choice, what is left when some doses
/// have been taken; with more the pressure is less.
const HEADSPACE: f64 = 0.2;

/// A solid at the bottom of the bottle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SolidMass {
    /// Key of the mineral.
    pub mineral: &'static str,
    /// Formula.
    pub formula: &'static str,
    /// mmol per kg of water.
    pub mmol_per_kg: f64,
    /// Grams in this bottle.
    pub g: f64,
    /// Its saturation index while the bottle is still clear.
    pub si: Option<f64>,
    /// Whether so little is too much that it may not start for long; for nesquehonite, whether
    /// other published constants let it stay dissolved.
    pub may_stay_clear: bool,
}

/// Crystals of a salt itself: of one weighed in, or of one that the ions of several make.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OwnCrystals {
    /// Formula of the compound.
    pub formula: String,
    /// How much of it there is, % of its saturated solution; what other salts bring of its ions
    /// counts.
    pub percent_of_saturation: f64,
}

/// What has precipitated once the bottle has come to rest.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RestState {
    /// Temperature, °C.
    pub celsius: f64,
    /// Closed, or open to air.
    pub state: State,
    /// pH over the solids.
    pub ph: f64,
    /// Pressure of carbon dioxide over the solids, atm: in a bottle filled to the brim, which is
    /// the most; in the open state that of the room.
    pub co2_atm: f64,
    /// The same where a fifth of a closed bottle is gas; none where that cannot be computed.
    pub co2_headspace_atm: Option<f64>,
    /// Per cent of its carbon that is still there, dissolved and solid; 100 in a closed bottle.
    pub carbon_kept_percent: f64,
    /// What precipitated.
    pub solids: Vec<SolidMass>,
    /// Salts that are at or near their own solubility.
    pub own_crystals: Vec<OwnCrystals>,
    /// Salts that the ions can make and whose solubility is not known at this temperature.
    pub unknown_crystals: Vec<String>,
    /// Per cent of each ion that the minerals took; HCO3 stands for alkalinity.
    pub lost_percent: KeyedAmounts,
}

/// Share of saturation, %, from which a salt is named: our choice, since the product of concentrations
/// leaves activities out.
const NEAR_PERCENT: f64 = 85.0;
/// From here on its crystals are expected.
const CRYSTALS_PERCENT: f64 = 100.0 * SENSIBLE;

impl OwnCrystals {
    /// Whether crystals are to be expected.
    #[must_use]
    pub fn expected(&self) -> bool {
        self.percent_of_saturation > CRYSTALS_PERCENT
    }
}

impl RestState {
    /// Whether nothing lies at the bottom.
    #[must_use]
    pub fn is_clear(&self) -> bool {
        self.solids.is_empty() && !self.own_crystals.iter().any(OwnCrystals::expected)
    }

    pub(crate) fn solids_g(&self) -> f64 {
        self.solids.iter().map(|s| s.g).sum()
    }

    /// Grams of one mineral.
    pub(crate) fn g_of(&self, mineral: &str) -> f64 {
        self.solids.iter().filter(|s| s.mineral == mineral).map(|s| s.g).sum()
    }

    /// Per cent of the alkalinity that lies at the bottom.
    #[must_use]
    pub fn alkalinity_lost_percent(&self) -> f64 {
        let lost = self.lost_percent.0.iter();
        lost.filter(|(key, _)| *key == Conserved::Alkalinity.key())
            .map(|(_, percent)| percent)
            .sum()
    }

    /// Whether carbon dioxide presses on the bottle, when it is closed, as on pressure equipment.
    #[must_use]
    pub fn is_under_pressure(&self) -> bool {
        self.state == State::Closed && needs_pressure_care(self.co2_atm)
    }

    /// What precipitates, in words; nothing when it is clear.
    #[must_use]
    pub fn precipitate_list(&self) -> Vec<String> {
        let crystals = self.own_crystals.iter().filter(|c| c.expected());
        let crystals = crystals.map(|c| format!("crystals of {}", c.formula));
        let minerals = self.solids.iter().map(|s| format!("{} ({})", s.mineral, s.formula));
        minerals.chain(crystals).collect()
    }
}

/// All states in which a bottle is looked at: room closed, room open, fridge closed; the closed
/// ones with what presses on a bottle that is not full.
pub(crate) fn with_pressures(
    bottle: &Bottle,
    lab: &Lab,
    catalogue: &Catalogue,
) -> Result<Vec<RestState>, ChemistryError> {
    let mut standing = all(bottle, lab, catalogue)?;
    let fridge = Stage::at(FRIDGE)?;
    // Litres of gas for each kilogram of the bottle's water.
    let liquid_l_per_kg = bottle.volume_ml / 1000.0 / bottle.water_kg;
    let gas_l_per_kg = liquid_l_per_kg * HEADSPACE / (1.0 - HEADSPACE);
    for state in standing.iter_mut().filter(|s| s.state == State::Closed) {
        let stage = if state.celsius > FRIDGE.value() { &lab.room } else { &fridge };
        let over = stage.aqueous.co2_over(&bottle.per_kg, gas_l_per_kg, &MAY_PRECIPITATE);
        state.co2_headspace_atm = over.ok().flatten();
    }
    Ok(standing)
}

/// The same without it, which is much the quicker.
pub(crate) fn all(
    bottle: &Bottle,
    lab: &Lab,
    catalogue: &Catalogue,
) -> Result<Vec<RestState>, ChemistryError> {
    let fridge = Stage::at(FRIDGE)?;
    let own_room = Crystals::of(bottle, lab.room.aqueous.temperature(), catalogue);
    let own_fridge = Crystals::of(bottle, FRIDGE, catalogue);
    Ok(vec![
        standing(bottle, &lab.room, (State::Closed, Carbon::Closed), own_room.clone())?,
        standing(bottle, &lab.room, (State::Open, lab.carbon(State::Open)), own_room)?,
        standing(bottle, &fridge, (State::Closed, Carbon::Closed), own_fridge)?,
    ])
}

fn standing(
    bottle: &Bottle,
    stage: &Stage,
    (state, carbon): (State, Carbon),
    crystals: Crystals,
) -> Result<RestState, ChemistryError> {
    let fresh = stage.aqueous.speciate(&bottle.per_kg, carbon)?;
    let after = stage.aqueous.precipitate(&bottle.per_kg, carbon, &MAY_PRECIPITATE)?;
    let solids =
        MAY_PRECIPITATE.into_iter().filter(|m| after.mmol_per_kg(*m) > 0.0).map(|mineral| {
            let si = fresh.si(mineral);
            let doubtful = match mineral {
                Mineral::Nesquehonite => NESQUEHONITE_SPREAD,
                _ => NUCLEATES_BY_ITSELF,
            };
            let mmol_per_kg = after.mmol_per_kg(mineral);
            SolidMass {
                mineral: mineral.key(),
                formula: mineral.formula(),
                mmol_per_kg,
                g: mmol_per_kg * bottle.water_kg * mineral.g_per_mol() / 1000.0,
                si,
                may_stay_clear: si.is_some_and(|si| si < doubtful),
            }
        });
    Ok(RestState {
        celsius: stage.aqueous.temperature().value(),
        state,
        ph: after.rest.ph(),
        co2_atm: after.rest.co2_atm(),
        co2_headspace_atm: None,
        carbon_kept_percent: carbon_kept_percent(bottle, &after),
        solids: solids.collect(),
        own_crystals: crystals.near,
        unknown_crystals: crystals.unknown,
        lost_percent: lost(bottle, &after),
    })
}

fn carbon_kept_percent(bottle: &Bottle, after: &Precipitation<'_>) -> f64 {
    let all = bottle.per_kg.mmol_per_l(Conserved::Dic);
    if all <= 0.0 {
        return 100.0;
    }
    let kept = after.rest.carbon_mmol_per_kg() + taken(after, Conserved::Dic);
    100.0 * kept / all
}

fn lost(bottle: &Bottle, after: &Precipitation<'_>) -> KeyedAmounts {
    let taken = |conserved: Conserved| taken(after, conserved);
    let lost = [Conserved::Ca, Conserved::Mg, Conserved::SO4, Conserved::Alkalinity]
        .into_iter()
        .filter(|c| bottle.per_kg.mmol_per_l(*c) > 0.0 && taken(*c) > 0.0)
        .map(|c| (c.key(), 100.0 * taken(c) / bottle.per_kg.mmol_per_l(c)));
    lost.collect()
}

/// Crystals of the salts that the ions of a bottle can make.
#[derive(Debug, Clone, Default)]
struct Crystals {
    /// Those at or near their solubility.
    near: Vec<OwnCrystals>,
    /// Those of which it is not known.
    unknown: Vec<String>,
}

impl Crystals {
    /// How near each compound that the bottle's ions can make is to its own solubility: the product
    /// of their concentrations over that of its saturated solution, per ion. For a salt alone in
    /// water that is its strength over the strongest. Hydrates of one compound count once; what
    /// [`MAY_PRECIPITATE`] holds is computed there, and salts that dissolve under CO2 only are left to it.
    fn of(bottle: &Bottle, at: Celsius, catalogue: &Catalogue) -> Self {
        let ions = ions_mol_per_kg(bottle);
        let amount = |ion: Ion| ions.iter().find(|(i, _)| *i == ion).map_or(0.0, |(_, mol)| *mol);
        // A salt of the recipe comes first, so that its crystals bear the name on the bag.
        let own = bottle.salts.iter().map(|(s, _)| &s.salt);
        let can_be = |salt: &&Salt| {
            salt.ions.iter().all(|(ion, _)| amount(*ion) > 0.0) && !is_left_to_minerals(salt)
        };
        let mut seen: Vec<&Salt> = Vec::new();
        let mut without: Vec<&Salt> = Vec::new();
        let mut found = Self::default();
        for salt in own.chain(catalogue.iter()).filter(can_be) {
            if is_among(&seen, salt) {
                continue;
            }
            let Some(saturated) = salt.solubility.at(at) else {
                without.push(salt);
                continue;
            };
            seen.push(salt);
            let w = saturated.value();
            let mol_per_kg = 1000.0 * w / (1.0 - w) / salt.formula.anhydrous_molar_mass().value();
            let counts: f64 = salt.ions.iter().map(|(_, n)| f64::from(*n)).sum();
            let ln_product: f64 = salt
                .ions
                .iter()
                .map(|(ion, n)| f64::from(*n) * (amount(*ion) / f64::from(*n)).ln())
                .sum();
            let percent = 100.0 * (ln_product / counts).exp() / mol_per_kg;
            if percent > NEAR_PERCENT {
                found.near.push(OwnCrystals {
                    formula: salt.formula.to_string(),
                    percent_of_saturation: percent,
                });
            }
        }
        // One hydrate without a table is no gap where another of the compound has one.
        for salt in without {
            if !is_among(&seen, salt) {
                seen.push(salt);
                found.unknown.push(salt.formula.to_string());
            }
        }
        found
    }
}

fn is_among(seen: &[&Salt], salt: &Salt) -> bool {
    seen.iter().any(|s| s.formula.same_but_for_water(&salt.formula))
}

/// Whether a salt is one of the minerals of [`MAY_PRECIPITATE`], or dissolves under CO2 only.
fn is_left_to_minerals(salt: &Salt) -> bool {
    const MINERALS: [[Ion; 2]; 4] = [
        [Ion::Calcium, Ion::Sulfate],
        [Ion::Calcium, Ion::Carbonate],
        [Ion::Magnesium, Ion::Carbonate],
        [Ion::Magnesium, Ion::Hydroxide],
    ];
    salt.carbonation_mol_co2 > 0.0 || MINERALS.iter().any(|mineral| is(salt, mineral))
}

fn is(salt: &Salt, ions: &[Ion]) -> bool {
    salt.ions.iter().all(|(ion, _)| ions.contains(ion))
}

/// Ions as the salts bring them, mol per kg of water.
fn ions_mol_per_kg(bottle: &Bottle) -> Vec<(Ion, f64)> {
    let mut ions: Vec<(Ion, f64)> = Vec::new();
    for (salt, g) in &bottle.salts {
        let compound_g = g * salt.lot.compound_share();
        let mol_per_kg = compound_g / salt.salt.formula.molar_mass().value() / bottle.water_kg;
        for (ion, n) in &salt.salt.ions {
            let more = f64::from(*n) * mol_per_kg;
            match ions.iter_mut().find(|(i, _)| i == ion) {
                Some((_, mol)) => *mol += more,
                None => ions.push((*ion, more)),
            }
        }
    }
    ions
}

/// A solid that is not looked at, with the reason.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NotConsidered {
    /// Its name and formula.
    pub solid: String,
    /// Why not.
    pub because: String,
}

const SLOW: &str = "not in months at these temperatures";
const UNKNOWN: &str = "no constant here";

/// Solids that the ions of some bottle could make and that are left out (from memory), with the
/// ions that each needs and the reason.
const LEFT_OUT: [(&[Ion], &str, &str); 6] = [
    (&MG_CARBONATE, "magnesite MgCO3", SLOW),
    (&MG_CARBONATE, "hydromagnesite Mg5(CO3)4(OH)2·4H2O", "takes the place of nesquehonite slowly"),
    (&[Ion::Calcium, Ion::Magnesium, Ion::Bicarbonate], "dolomite CaMg(CO3)2", SLOW),
    (&[Ion::Potassium, Ion::Calcium, Ion::Sulfate], "syngenite K2Ca(SO4)2·H2O", UNKNOWN),
    (&[Ion::Potassium, Ion::Magnesium, Ion::Sulfate], "picromerite K2Mg(SO4)2·6H2O", UNKNOWN),
    (&[Ion::Calcium, Ion::Citrate], "calcium citrate", UNKNOWN),
];

const MG_CARBONATE: [Ion; 2] = [Ion::Magnesium, Ion::Bicarbonate];

/// Which solids of this bottle's ions are not looked at: those that are left out, then the crystals
/// of salts without a solubility, with the temperatures at which it is missing.
pub(crate) fn not_considered(bottle: &Bottle, standing: &[RestState]) -> Vec<NotConsidered> {
    let there = |ion: Ion| {
        bottle.salts.iter().flat_map(|(s, _)| &s.salt.ions).any(|(i, _)| {
            *i == ion || (ion == Ion::Bicarbonate && matches!(i, Ion::Carbonate | Ion::Hydroxide))
        })
    };
    let here = LEFT_OUT.into_iter().filter(|(ions, ..)| ions.iter().all(|ion| there(*ion)));
    let mut all: Vec<NotConsidered> = here
        .map(|(_, solid, because)| NotConsidered { solid: solid.into(), because: because.into() })
        .collect();
    let mut unknown: Vec<(&str, Vec<String>)> = Vec::new();
    for state in standing {
        let celsius = show::plain(state.celsius);
        for formula in &state.unknown_crystals {
            match unknown.iter_mut().find(|(known, _)| known == formula) {
                Some((_, at)) if at.contains(&celsius) => {}
                Some((_, at)) => at.push(celsius.clone()),
                None => unknown.push((formula, vec![celsius.clone()])),
            }
        }
    }
    all.extend(unknown.into_iter().map(|(formula, at)| NotConsidered {
        solid: format!("crystals of {formula}"),
        because: format!("no solubility at {} °C is known", at.join(" and ")),
    }));
    all
}
