//! A closed bottle that is not full: carbon dioxide shares itself out between the liquid, what
//! precipitates in it and the gas above.

use crate::chemistry::Carbon;
use crate::chemistry::Mineral;
use crate::chemistry::aqueous::MAX_CO2_ATM;
use crate::chemistry::equilibrium::{Bracket, bracketed};
use crate::chemistry::{Aqueous, ChemistryError};
use crate::chemistry::{Composition, Conserved};
use crate::reference::physical_constants::{
    ATMOSPHERE_BAR, AVOGADRO, BOLTZMANN, ZERO_CELSIUS_IN_KELVIN,
};

/// Least pressure that is looked for, ln atm: our choice, a thousandth of what is in air.
const LN_LEAST: f64 = -16.0;

/// Width of the bracket of the logarithm of the pressure: our choice, a millionth of it.
const WIDTH: f64 = 1e-6;

/// Pascals in a bar and litres in a cubic metre; moles in a litre follow in millimoles.
const MMOL_PER_BAR_LITRE: f64 = 1e5;

impl Aqueous {
    /// Pressure of carbon dioxide over a water in a closed vessel with so many litres of gas for
    /// each kilogram of water, atm, once those of the minerals have precipitated that can; 0
    /// without carbon, `None` above the pressures that the model takes.
    ///
    /// Without gas it is that of [`Aqueous::precipitate`] in a closed water. The gas is taken as
    /// ideal and its fugacity as its pressure, 1 % apart at 2 atm.
    ///
    /// ```
    /// use waterflight::chemistry::{Aqueous, Composition, Conserved};
    /// use waterflight::quantities::Celsius;
    /// let at_25 = Aqueous::at(Celsius::new(25.0)).unwrap();
    /// let mut soda = Composition::PURE_WATER;
    /// for total in [Conserved::Na, Conserved::Alkalinity, Conserved::Dic] {
    ///     soda.set_mmol_per_l(total, 300.0);
    /// }
    /// let full = at_25.co2_over(&soda, 0.0, &[]).unwrap();
    /// let half_full = at_25.co2_over(&soda, 1.0, &[]).unwrap();
    /// assert!(half_full < full);
    /// ```
    ///
    /// # Errors
    /// As [`Aqueous::precipitate`].
    pub fn co2_over(
        &self,
        water: &Composition,
        litres_per_kg: f64,
        minerals: &[Mineral],
    ) -> Result<Option<f64>, ChemistryError> {
        let full = self.precipitate(water, Carbon::Closed, minerals)?.rest.co2_atm();
        if litres_per_kg <= 0.0 || full.ln() <= LN_LEAST {
            return Ok(Some(full));
        }
        let kelvin = self.temperature().value() + ZERO_CELSIUS_IN_KELVIN;
        let gas_mmol_per_atm =
            MMOL_PER_BAR_LITRE * ATMOSPHERE_BAR * litres_per_kg / (BOLTZMANN * AVOGADRO * kelvin);
        let missing = |ln_atm: f64| -> Result<f64, ChemistryError> {
            let co2_atm = ln_atm.exp();
            let under = self.precipitate(water, Carbon::Open { co2_atm }, minerals)?;
            let solid: f64 = minerals.iter().map(|m| carbon_of(*m) * under.mmol_per_kg(*m)).sum();
            let dissolved = under.rest.carbon_mmol_per_kg();
            let held = dissolved + solid + gas_mmol_per_atm * co2_atm;
            Ok(held - water.mmol_per_l(Conserved::Dic))
        };
        let high = full.min(MAX_CO2_ATM).ln();
        if missing(high)? < 0.0 {
            return Ok((full < MAX_CO2_ATM).then_some(full));
        }
        Ok(Some(bracketed(Bracket { low: LN_LEAST, high }, WIDTH, missing)?.exp()))
    }
}

/// Carbon in a mole of a mineral.
fn carbon_of(mineral: Mineral) -> f64 {
    let takes = mineral.takes().iter();
    takes.filter(|(total, _)| *total == Conserved::Dic).map(|(_, moles)| moles).sum()
}
