//! The carbonate system as analysts meet it: titrated alkalinity, carbon from a measured pH.

use crate::chemistry::Carbon;
use crate::chemistry::Species;
use crate::chemistry::equilibrium::{Bracket, bracketed};
use crate::chemistry::solution::{FixedActivities, Problem};
use crate::chemistry::solution::{MILLI, Totals};
use crate::chemistry::speciation::checked;
use crate::chemistry::{Aqueous, ChemistryError};
use crate::chemistry::{Composition, Conserved};

/// End point of an acid titration for total alkalinity: pH 4.5 (ISO 9963-1, from memory). Standard
/// Methods 2320 goes by the amount, 4.9 for 30 mg/L as CaCO3 to 4.3 for 500.
pub const ALKALINITY_ENDPOINT_PH: f64 = 4.5;

/// Least and most carbon dioxide, ln atm, between which a measured pH is explained: our choice,
/// from none at all to far above any bottle.
const LN_CO2_RANGE: Bracket = Bracket { low: -46.0, high: 4.6 };

impl Aqueous {
    /// Alkalinity as a titration with strong acid to an end point finds it, meq/L: acid used, the
    /// carbon dioxide kept in the beaker. Citrate and lactate take up acid on the way, which a
    /// balance of the mineral ions does not see; part of the carbonate is left at the end point
    /// and some acid is needed for the end point itself.
    ///
    /// ```
    /// use waterflight::chemistry::{Aqueous, Composition, Conserved};
    /// use waterflight::chemistry::carbonate::ALKALINITY_ENDPOINT_PH;
    /// use waterflight::quantities::Celsius;
    /// let at_25 = Aqueous::at(Celsius::new(25.0)).unwrap();
    /// let mut citrate = Composition::PURE_WATER;
    /// citrate.set_mmol_per_l(Conserved::K, 3.0);
    /// citrate.set_mmol_per_l(Conserved::Citrate, 1.0);
    /// let found = at_25.titrated_alkalinity(&citrate, ALKALINITY_ENDPOINT_PH).unwrap();
    /// // No carbonate at all, and yet one and a half of the three acid groups are found.
    /// assert!(found > 1.3 && found < 1.7);
    /// ```
    ///
    /// # Errors
    /// As [`Aqueous::speciate_at_ph`].
    pub fn titrated_alkalinity(
        &self,
        water: &Composition,
        endpoint_ph: f64,
    ) -> Result<f64, ChemistryError> {
        let at_endpoint = self.speciate_at_ph(water, Carbon::Closed, endpoint_ph)?;
        let rest = at_endpoint.alkalinity_meq_per_kg();
        Ok(water.mmol_per_l(Conserved::Alkalinity) - rest)
    }

    /// What carbon dioxide gives a water of known alkalinity the pH that was measured.
    ///
    /// ```
    /// use waterflight::chemistry::{Aqueous, Composition, Conserved};
    /// use waterflight::quantities::Celsius;
    /// let at_25 = Aqueous::at(Celsius::new(25.0)).unwrap();
    /// let mut soda = Composition::PURE_WATER;
    /// soda.set_mmol_per_l(Conserved::Na, 1.0);
    /// soda.set_mmol_per_l(Conserved::Alkalinity, 1.0);
    /// // [CO2] = [HCO3⁻]·10^(6.35 − pH), and 1 atm of it dissolves to 34 mmol/L.
    /// let explained = at_25.explain_ph(&soda, 6.35).unwrap();
    /// assert!((explained.co2_atm - 1.0 / 34.0).abs() < 0.003);
    /// ```
    ///
    /// # Errors
    /// [`ChemistryError::Contradiction`] when no amount of carbon dioxide does.
    pub fn explain_ph(&self, water: &Composition, ph: f64) -> Result<ExplainedPh, ChemistryError> {
        let totals = checked(water)?;
        let wanted = water.mmol_per_l(Conserved::Alkalinity) * MILLI;
        let alkalinity = |ln_co2: f64| -> Result<f64, ChemistryError> {
            match self.carbonate_at(&totals, ph, ln_co2) {
                Ok(found) => Ok(found.alkalinity - wanted),
                // Only bicarbonate and carbonate can have made it so strong.
                Err(ChemistryError::TooStrong { limit }) => Ok(limit),
                Err(other) => Err(other),
            }
        };
        let contradiction = ChemistryError::Contradiction {
            ph,
            alkalinity_meq_per_l: water.mmol_per_l(Conserved::Alkalinity),
        };
        let ln_co2 =
            bracketed(LN_CO2_RANGE, CO2_WIDTH, alkalinity).map_err(|error| match error {
                ChemistryError::NoConvergence(_) => contradiction,
                other => other,
            })?;
        let found = self.carbonate_at(&totals, ph, ln_co2)?;
        Ok(ExplainedPh {
            carbon_mmol_per_l: found.carbon / MILLI,
            co2_atm: ln_co2.exp(),
            bicarbonate_meq_per_l: found.bicarbonate / MILLI,
        })
    }

    /// Alkalinity, carbon and bicarbonate, mol/kg, at a pH and a fugacity of carbon dioxide.
    fn carbonate_at(
        &self,
        totals: &Totals,
        ph: f64,
        ln_co2: f64,
    ) -> Result<Carbonate, ChemistryError> {
        let kept = FixedActivities {
            ln_co2: Some(ln_co2 + self.ln_henry),
            ln_h: Some(-ph * std::f64::consts::LN_10),
        };
        let solution = Problem::clear(self, totals, kept).solve(None)?;
        let mut found = Carbonate { alkalinity: 0.0, carbon: 0.0, bicarbonate: 0.0 };
        for (species, m) in Species::ALL.iter().zip(&solution.molality) {
            let [h, c, ..] = species.row().nu;
            found.alkalinity -= f64::from(h) * m;
            found.carbon += f64::from(c) * m;
            if (h, c) == (-1, 1) {
                found.bicarbonate += m;
            }
        }
        Ok(found)
    }
}

/// What carbon dioxide explains a measured pH.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExplainedPh {
    /// Dissolved inorganic carbon, mmol/L.
    pub carbon_mmol_per_l: f64,
    /// Fugacity of carbon dioxide that the water is in equilibrium with, atm.
    pub co2_atm: f64,
    /// The part of the alkalinity that is bicarbonate, pairs included, meq/L.
    pub bicarbonate_meq_per_l: f64,
}

/// Sums over the species, mol/kg.
struct Carbonate {
    alkalinity: f64,
    carbon: f64,
    bicarbonate: f64,
}

/// Width of the bracket of ln CO2: our choice, 1e-12 of the carbon.
const CO2_WIDTH: f64 = 1e-12;
