//! What a water consists of: species, pH, ionic strength.
//!
//! A litre of solution is taken as a kilogram of water, as analyses of drinking water are read:
//! up to 0.003 in a saturation index and 0.3 % in conductivity for brewing waters.

use crate::chemistry::Species;
use crate::chemistry::aqueous::MAX_CO2_ATM;
use crate::chemistry::solution::{FixedActivities, Problem, Solution};
use crate::chemistry::solution::{MILLI, Totals};
use crate::chemistry::species::var;
use crate::chemistry::{Aqueous, ChemistryError};
use crate::chemistry::{Composition, Conserved};

/// What happens to the carbon dioxide of a water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Carbon {
    /// None comes or goes: carbon and alkalinity are those of the water.
    Closed,
    /// The water breathes: alkalinity stays, carbon follows the fugacity of CO2 outside, in atm.
    Open {
        /// Fugacity of carbon dioxide, atm.
        co2_atm: f64,
    },
}

/// Fugacity of carbon dioxide in outdoor air, atm: 10^−3.38, 417 ppm, about that of 2022 (global
/// mean of NOAA; from memory). It rises by about 2.5 ppm a year, which is 0.003 in pH.
pub const AIR_CO2_ATM: f64 = 4.168_693_834_703_355e-4;

impl Carbon {
    /// In equilibrium with outdoor air.
    pub const AIR: Carbon = Carbon::Open { co2_atm: AIR_CO2_ATM };
}

/// Up to where the activity model is backed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Validity {
    /// Ionic strength up to [`VALID_IONIC_STRENGTH`].
    Backed,
    /// Stronger: the direction is right, the numbers are an extrapolation.
    Extrapolated,
}

/// Ionic strength up to which extended Debye–Hückel models are trusted, mol/kg: our choice, on the
/// careful side of the 0.7 of sea water that is usually named as their end (from memory).
pub const VALID_IONIC_STRENGTH: f64 = 0.5;

/// Amounts below zero by no more than this are rounding and count as none, mmol/L: our choice.
pub const ROUNDING_MMOL_PER_L: f64 = 1e-9;

/// A water in equilibrium with itself at one temperature.
#[derive(Debug, Clone, Copy)]
pub struct Speciation<'a> {
    pub(crate) at: &'a Aqueous,
    pub(crate) solution: Solution,
    pub(crate) totals: Totals,
    pub(crate) carbon: Carbon,
}

impl Aqueous {
    /// The species of a water.
    ///
    /// ```
    /// use waterflight::chemistry::{Aqueous, Carbon, Composition};
    /// use waterflight::quantities::Celsius;
    /// let at_25 = Aqueous::at(Celsius::new(25.0)).unwrap();
    /// let rain = at_25.speciate(&Composition::PURE_WATER, Carbon::AIR).unwrap();
    /// // Pure water in equilibrium with air: pH 5.6 (from memory).
    /// assert!((rain.ph() - 5.6).abs() < 0.05);
    /// ```
    ///
    /// # Errors
    /// Amounts that are negative or not numbers, a pressure of CO2 that is none, or a water too
    /// strong for the activity model.
    pub fn speciate(
        &self,
        water: &Composition,
        carbon: Carbon,
    ) -> Result<Speciation<'_>, ChemistryError> {
        let totals = checked(water)?;
        let kept = self.kept(carbon)?;
        let problem = Problem::clear(self, &totals, kept);
        let solution = problem.solve(None)?;
        Ok(Speciation { at: self, solution, totals, carbon })
    }

    /// The species of a water whose pH is brought to a value with a strong acid or base; its
    /// alkalinity is then [`Speciation::alkalinity_meq_per_kg`], whatever it was before.
    ///
    /// # Errors
    /// As [`Aqueous::speciate`], and for a pH outside 0 to 14.
    pub fn speciate_at_ph(
        &self,
        water: &Composition,
        carbon: Carbon,
        ph: f64,
    ) -> Result<Speciation<'_>, ChemistryError> {
        if !(0.0..=14.0).contains(&ph) {
            return Err(ChemistryError::Ph { ph });
        }
        let mut totals = checked(water)?;
        let kept =
            FixedActivities { ln_h: Some(-ph * std::f64::consts::LN_10), ..self.kept(carbon)? };
        let problem = Problem::clear(self, &totals, kept);
        let solution = problem.solve(None)?;
        totals.balance[var::H] = -alkalinity_of(&solution);
        Ok(Speciation { at: self, solution, totals, carbon })
    }

    pub(crate) fn kept(&self, carbon: Carbon) -> Result<FixedActivities, ChemistryError> {
        match carbon {
            Carbon::Closed => Ok(FixedActivities::default()),
            Carbon::Open { co2_atm } if co2_atm > 0.0 && co2_atm <= MAX_CO2_ATM => {
                Ok(FixedActivities { ln_co2: Some(co2_atm.ln() + self.ln_henry), ln_h: None })
            }
            Carbon::Open { co2_atm } => Err(ChemistryError::CarbonDioxide { atm: co2_atm }),
        }
    }
}

/// The totals of a water, after the check that they can be.
pub(crate) fn checked(water: &Composition) -> Result<Totals, ChemistryError> {
    let mut clean = *water;
    for total in Conserved::ALL {
        let mmol_per_l = water.mmol_per_l(total);
        let may_be_negative = total == Conserved::Alkalinity;
        if !mmol_per_l.is_finite()
            || mmol_per_l.abs() > MOST_MMOL_PER_L
            || (mmol_per_l < -ROUNDING_MMOL_PER_L && !may_be_negative)
        {
            return Err(ChemistryError::Amount { what: total.key(), mmol_per_l });
        }
        // Amounts too small for the arithmetic of their products count as none, too.
        if mmol_per_l.abs() < LEAST_MMOL_PER_L || (mmol_per_l < 0.0 && !may_be_negative) {
            clean.set_mmol_per_l(total, 0.0);
        }
    }
    Ok(Totals::of(&clean))
}

/// Amounts beyond this are typing errors, mmol/L: our choice; a salt of 10 mol/L is beyond the activity
/// model anyway.
const MOST_MMOL_PER_L: f64 = 1e4;

/// Amounts below this are none, mmol/L: our choice; 1e-15 mol/L is ten million times less than the H⁺
/// and OH⁻ of water itself.
const LEAST_MMOL_PER_L: f64 = 1e-12;

fn alkalinity_of(solution: &Solution) -> f64 {
    Species::ALL
        .iter()
        .zip(&solution.molality)
        .map(|(species, m)| {
            let [h, ..] = species.row().nu;
            -f64::from(h) * m
        })
        .sum()
}

impl<'a> Speciation<'a> {
    /// The same solution with its minerals judged by other constants of the same temperature: the
    /// species do not depend on them.
    #[must_use]
    pub(crate) fn with_constants<'b>(&self, other: &'b Aqueous) -> Speciation<'b> {
        Speciation { at: other, ..*self }
    }

    /// pH, −log10 of the activity of H⁺.
    #[must_use]
    pub fn ph(&self) -> f64 {
        let [ln_h, ..] = self.solution.lambda;
        -ln_h / std::f64::consts::LN_10
    }

    /// Ionic strength, mol/kg.
    #[must_use]
    pub fn ionic_strength_mol_per_kg(&self) -> f64 {
        self.solution.ionic_strength
    }

    /// Whether the activity model is backed at this strength.
    #[must_use]
    pub fn validity(&self) -> Validity {
        if self.solution.ionic_strength <= VALID_IONIC_STRENGTH {
            Validity::Backed
        } else {
            Validity::Extrapolated
        }
    }

    /// Molality of a species, mmol/kg.
    #[must_use]
    #[expect(clippy::indexing_slicing, reason = "the array has one place per species")]
    pub fn mmol_per_kg(&self, species: Species) -> f64 {
        self.solution.molality[species.index()] / MILLI
    }

    /// Dissolved inorganic carbon, mmol/kg, over all its species.
    #[must_use]
    pub fn carbon_mmol_per_kg(&self) -> f64 {
        self.counted(var::C) / MILLI
    }

    /// Alkalinity, meq/kg, over all species; free lactate and citrate count nothing.
    #[must_use]
    pub fn alkalinity_meq_per_kg(&self) -> f64 {
        -self.counted(var::H) / MILLI
    }

    /// Fugacity of carbon dioxide that this water would keep above it, atm; 0 without carbon.
    #[must_use]
    pub fn co2_atm(&self) -> f64 {
        let [_, ln_co2, ..] = self.solution.lambda;
        (ln_co2 - self.at.ln_henry).exp()
    }

    /// What was asked of the carbon dioxide.
    #[must_use]
    pub fn carbon(&self) -> Carbon {
        self.carbon
    }

    /// The constants this rests on.
    #[must_use]
    pub fn aqueous(&self) -> &'a Aqueous {
        self.at
    }

    /// Newton steps it took.
    #[must_use]
    pub fn steps(&self) -> usize {
        self.solution.steps
    }

    fn counted(&self, balance: usize) -> f64 {
        let species = Species::ALL.iter().zip(&self.solution.molality);
        species.map(|(s, m)| s.row().nu.get(balance).map_or(0.0, |n| f64::from(*n) * m)).sum()
    }
}
