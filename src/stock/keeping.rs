//! What happens to a stock while it is kept: crystals, carbon dioxide taken up and lost.

use serde::Serialize;

use crate::chemistry::formula::mass_of;
use crate::chemistry::open_air::{Cation, bicarbonate};
use crate::chemistry::{Aqueous, Carbon, Conserved, Ion};
use crate::quantities::Celsius;
use crate::stock::{Stock, bottle_pressure};

/// Molar mass of carbon dioxide, g/mol.
pub(super) fn co2_g_per_mol() -> f64 {
    mass_of(&[("C", 1), ("O", 2)])
}

/// Highest molality at which the loss of carbon dioxide was compared with PHREEQC; beyond that it is
/// an extrapolation.
const STRONGEST_MOL_PER_KG: f64 = 1.1;

/// A room in which a bottle is shut: our choice, °C.
const ROOM_CELSIUS: f64 = 25.0;

/// A bicarbonate stock that was left open, at 25 °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LeftOpen {
    /// pH when fresh.
    pub ph_fresh: f64,
    /// pH at the end.
    pub ph_open: f64,
    /// Share of the carbon that is left.
    pub carbon_left: f64,
    /// Carbon dioxide lost, g per litre.
    pub lost_g_per_l: f64,
    /// Alkalinity before and after, meq/mL.
    pub alkalinity_meq_per_ml: f64,
    /// Whether the stock is stronger than the computation was compared for.
    pub extrapolated: bool,
}

/// What a bicarbonate stock loses when it is left open; `None` for other salts.
#[must_use]
pub fn carbon_dioxide_loss(stock: &Stock) -> Option<LeftOpen> {
    let salt = &stock.recipe().salt;
    let cation = match salt.ions.as_slice() {
        [(Ion::Sodium, 1), (Ion::Bicarbonate, 1)] => Cation::Sodium,
        [(Ion::Potassium, 1), (Ion::Bicarbonate, 1)] => Cation::Potassium,
        _ => return None,
    };
    let molar = salt.formula.molar_mass().value();
    let strength = stock.strength().value();
    let mol_per_kg = 1000.0 * strength / molar / (1.0 - strength);
    let fresh = bicarbonate(cation, mol_per_kg, Carbon::Closed).ok()?;
    let open = bicarbonate(cation, mol_per_kg, Carbon::AIR).ok()?;
    let mol_per_l = stock.meq_per_ml().value();
    Some(LeftOpen {
        ph_fresh: fresh.ph,
        ph_open: open.ph,
        carbon_left: open.carbon_per_alkalinity,
        lost_g_per_l: mol_per_l * (1.0 - open.carbon_per_alkalinity) * co2_g_per_mol(),
        alkalinity_meq_per_ml: mol_per_l,
        extrapolated: mol_per_kg > STRONGEST_MOL_PER_KG,
    })
}

/// Carbon dioxide that builds up over a stock in a full bottle that is shut, atm, where it presses as
/// on pressure equipment. Of a salt that needs carbon dioxide to dissolve, that which it needs counts
/// instead.
#[must_use]
pub fn pressure_atm(stock: &Stock) -> Option<f64> {
    let salt = &stock.recipe().salt;
    let per_ml = stock.composition_per_ml();
    if salt.carbonation_mol_co2 > 0.0 || per_ml.mmol_per_l(Conserved::Dic) <= 0.0 {
        return None;
    }
    let anhydrous = stock.strength().value() * salt.anhydrous_fraction().value();
    let water_g_per_ml = stock.density().value.value() * (1.0 - anhydrous);
    let per_kg = per_ml * (1000.0 / water_g_per_ml);
    let room = Aqueous::at(Celsius::new(ROOM_CELSIUS)).ok()?;
    let atm = room.speciate(&per_kg, Carbon::Closed).ok()?.co2_atm();
    bottle_pressure::needs_pressure_care(atm).then_some(atm)
}

/// What to mind with a stock: with its salt, and with the pressure that its solution makes.
#[must_use]
pub fn cautions(stock: &Stock) -> Vec<String> {
    let pressure = pressure_atm(stock).map(bottle_pressure::pressure_caution);
    stock.recipe().salt.all_cautions().into_iter().chain(pressure).collect()
}

/// Carbon dioxide that a salt takes up to dissolve as bicarbonate, grams per litre of stock; 0
/// for ordinary salts.
#[must_use]
pub fn carbon_dioxide_taken_up_g_per_l(stock: &Stock) -> f64 {
    let salt = &stock.recipe().salt;
    let mol_per_l = stock.mg_per_ml() / salt.formula.molar_mass().value();
    mol_per_l * salt.carbonation_mol_co2 * co2_g_per_mol()
}
