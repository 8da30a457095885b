//! A bicarbonate solution, fresh and after it has stood open to the air, at 25 °C.
//!
//! Alkalinity stays when carbon dioxide comes or goes; what changes is the carbon and with it pH
//! and form.

use crate::chemistry::Carbon;
use crate::chemistry::{Aqueous, ChemistryError};
use crate::chemistry::{Composition, Conserved};
use crate::quantities::Celsius;

/// The cation of the bicarbonate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cation {
    /// Na⁺
    Sodium,
    /// K⁺
    Potassium,
}

/// The solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CarbonateState {
    /// pH.
    pub ph: f64,
    /// Inorganic carbon for each equivalent of alkalinity.
    pub carbon_per_alkalinity: f64,
}

/// Temperature of the computation, °C.
const CELSIUS: f64 = 25.0;

/// The state of a solution of so many moles of MHCO3 in a kilogram of water, closed as it was made
/// or open to carbon dioxide.
///
/// ```
/// use waterflight::chemistry::Carbon;
/// use waterflight::chemistry::open_air::{Cation, bicarbonate};
/// // PHREEQC 3.8.6 with phreeqc.dat: 0.1 mol/kg NaHCO3 open to air ends at pH 9.75, with 0.74 of
/// // its carbon left
/// let end = bicarbonate(Cation::Sodium, 0.1, Carbon::AIR).unwrap();
/// assert!((end.ph - 9.75).abs() < 0.01);
/// assert!((end.carbon_per_alkalinity - 0.74).abs() < 0.005);
/// ```
///
/// # Errors
/// As for the species of any water: amounts below zero or too strong for the activity model.
pub fn bicarbonate(
    cation: Cation,
    mol_per_kg: f64,
    carbon: Carbon,
) -> Result<CarbonateState, ChemistryError> {
    let mmol = mol_per_kg * 1000.0;
    let metal = match cation {
        Cation::Sodium => Conserved::Na,
        Cation::Potassium => Conserved::K,
    };
    let mut solution = Composition::PURE_WATER;
    for total in [metal, Conserved::Alkalinity, Conserved::Dic] {
        solution.set_mmol_per_l(total, mmol);
    }
    let at_25 = Aqueous::at(Celsius::new(CELSIUS))?;
    let species = at_25.speciate(&solution, carbon)?;
    Ok(CarbonateState {
        ph: species.ph(),
        carbon_per_alkalinity: species.carbon_mmol_per_kg() / mmol,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fresh_solution_is_near_ph_eight() {
        let fresh = bicarbonate(Cation::Sodium, 0.1, Carbon::Closed);
        assert!(fresh.as_ref().is_ok_and(|s| (8.0..8.4).contains(&s.ph)), "{fresh:?}");
        assert!(fresh.is_ok_and(|s| (s.carbon_per_alkalinity - 1.0).abs() < 1e-9));
    }

    #[test]
    fn pure_carbon_dioxide_keeps_it_bicarbonate() {
        let under = bicarbonate(Cation::Potassium, 0.3, Carbon::Open { co2_atm: 1.0 });
        assert!(under.is_ok_and(|s| s.ph < 8.0 && s.carbon_per_alkalinity > 1.0));
    }
}
