//! Salts that dissolve only under carbon dioxide: how much pressure holds how much.
//!
//! Carbonates and hydroxides of calcium and magnesium become bicarbonates, which stay dissolved
//! only as long as carbon dioxide presses on them: `CaCO3 + CO2 + H2O = Ca²⁺ + 2 HCO3⁻`. How much
//! follows from the mineral equilibrium (`chemistry`), not from a table. The fugacity of carbon
//! dioxide is taken as its pressure, which at 4 bar is 2 % too much (our estimate from its second
//! virial coefficient, about −0.12 L/mol at 25 °C, from memory) and 0.7 % in what dissolves.

use crate::chemistry::aqueous::MAX_CO2_ATM;
use crate::chemistry::speciation::AIR_CO2_ATM;
use crate::chemistry::{Aqueous, Carbon, ChemistryError, Composition, Mineral};
use crate::quantities::Celsius;
use crate::reference::physical_constants::ATMOSPHERE_BAR;
use crate::stock::Salt;

/// Where the solubility of these salts comes from, for reports.
pub const SOURCE: &str =
    "mineral equilibrium under carbon dioxide, constants of PHREEQC's phreeqc.dat";

/// Least and most pressure that is looked for, bar: our choice, from less than is in air to the
/// most that the model of solutions takes.
const PRESSURES_BAR: [f64; 2] = [1e-5, MAX_CO2_ATM * ATMOSPHERE_BAR];

/// Weakest and strongest stock that is looked for, g/kg: our choice, far beyond both ends.
const STRENGTHS_G_PER_KG: [f64; 2] = [1e-3, 100.0];

/// Halvings of a range on a scale of ratios: our choice, down to 1e-9 of the value.
const HALVINGS: usize = 40;

/// Carbon dioxide in the air, bar.
pub const AIR_BAR: f64 = AIR_CO2_ATM * ATMOSPHERE_BAR;

/// Whether a salt dissolves under carbon dioxide only and its solubility is computed here: a
/// table of the user's own goes first.
#[must_use]
pub fn needs_carbon_dioxide(salt: &Salt) -> bool {
    salt.carbonation_mol_co2 > 0.0 && !salt.solubility.is_known()
}

/// Least pressure of carbon dioxide, bar, under which so many g/kg of a salt stay dissolved at a
/// temperature; `None` where that cannot be computed or no pressure does it.
#[must_use]
pub fn needed_bar(salt: &Salt, g_per_kg: f64, temperature: Celsius) -> Option<f64> {
    let at = Aqueous::at(temperature).ok()?;
    let water = dissolved(salt, g_per_kg);
    least(PRESSURES_BAR, |bar| holds(&at, &water, bar)).ok().flatten()
}

/// Most of a salt, g/kg, that stays dissolved under a pressure of carbon dioxide; `None` where that
/// cannot be computed or there is no limit to be found.
#[must_use]
pub fn saturated_g_per_kg(salt: &Salt, bar: f64, temperature: Celsius) -> Option<f64> {
    let at = Aqueous::at(temperature).ok()?;
    // The least strength at which something precipitates.
    least(STRENGTHS_G_PER_KG, |g_per_kg| Ok(!holds(&at, &dissolved(salt, g_per_kg), bar)?))
        .ok()
        .flatten()
}

/// What is in solution, mmol per kg of water, which counts as a litre.
fn dissolved(salt: &Salt, g_per_kg: f64) -> Composition {
    let g_per_kg_water = g_per_kg / (1.0 - g_per_kg / 1000.0);
    let mmol = 1000.0 * g_per_kg_water / salt.formula.molar_mass().value();
    salt.composition_per_meq() * (mmol * salt.equivalents_per_mole())
}

/// Whether no mineral is oversaturated under a pressure.
fn holds(at: &Aqueous, water: &Composition, bar: f64) -> Result<bool, ChemistryError> {
    let carbon = Carbon::Open { co2_atm: (bar / ATMOSPHERE_BAR).min(MAX_CO2_ATM) };
    let state = at.speciate(water, carbon)?;
    Ok(Mineral::ALL.iter().all(|mineral| state.si(*mineral).is_none_or(|si| si <= 0.0)))
}

/// The least value in a range from which on something holds; `None` when it does not at the upper
/// end. The lower end itself is not tried: with next to no carbon dioxide there is no solution.
fn least(
    [mut low, mut high]: [f64; 2],
    holds: impl Fn(f64) -> Result<bool, ChemistryError>,
) -> Result<Option<f64>, ChemistryError> {
    if !holds(high)? {
        return Ok(None);
    }
    for _ in 0..HALVINGS {
        let middle = (low * high).sqrt();
        if holds(middle)? {
            high = middle;
        } else {
            low = middle;
        }
    }
    Ok(Some(high))
}
