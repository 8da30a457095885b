//! Conductivity of a diluted salt, as a meter shows it, and the way back from a reading to the
//! concentration. The conductivity is that of the model of all waters
//! ([`Conductor`](crate::chemistry::Conductor)): a diluted stock is a water like any
//! other.
//!
//! There is no equation for single salts beside the model of ions: two models of one conductivity
//! disagree sooner or later, and published rows made a right stock of soda ash look twice too weak.
//! Rows are evidence in tests, never expectations; one that does not end at the sum of its ions is
//! refused there (`tests/laws_readings.rs`).

use crate::chemistry::Aqueous;
use crate::chemistry::Carbon;
use crate::chemistry::speciation::AIR_CO2_ATM;
use crate::chemistry::{Composition, Conserved};
use crate::chemistry::{Conductivity, Conductor};
use crate::quantities::Celsius;

/// Highest concentration that a reading is understood for, eq/L: the model was fitted to measured
/// single salts up to there.
pub const STRONGEST_EQ_PER_L: f64 = 0.1;

/// A diluted salt, as a check of a stock meets it.
#[derive(Debug, Clone)]
pub struct SaltInWater {
    aqueous: Aqueous,
    conductor: Conductor,
    per_meq: Composition,
    /// What a meter divides the conductivity of the sample by, to compensate its temperature.
    divisor: f64,
}

impl SaltInWater {
    /// A salt by what a milliequivalent of it adds to a litre, in a sample of a temperature, for a meter
    /// that divides its conductivity by `divisor`: 1 at 25 °C and where it does not compensate. `None`
    /// where the model has no answer for it.
    ///
    /// ```
    /// use waterflight::chemistry::{Composition, Conserved};
    /// use waterflight::chemistry::single_salt::SaltInWater;
    /// use waterflight::quantities::Celsius;
    /// let mut per_meq = Composition::PURE_WATER;
    /// per_meq.set_mmol_per_l(Conserved::K, 1.0);
    /// per_meq.set_mmol_per_l(Conserved::Cl, 1.0);
    /// // 0.01 mol/L KCl, the calibration solution of meters: 1413 µS/cm at 25 °C
    /// let kcl = SaltInWater::new(&per_meq, Celsius::new(25.0), 1.0).unwrap();
    /// let read = kcl.conductivity(10.0).unwrap().us_per_cm;
    /// assert!((read / 1413.0 - 1.0).abs() < 0.005);
    /// assert!((kcl.meq_per_l(read).unwrap() - 10.0).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn new(per_meq: &Composition, sample: Celsius, divisor: f64) -> Option<Self> {
        let aqueous = Aqueous::at(sample).ok()?;
        let conductor = Conductor::at(&aqueous);
        let salt = Self { aqueous, conductor, per_meq: *per_meq, divisor };
        salt.conductivity(1000.0 * STRONGEST_EQ_PER_L)?;
        Some(salt)
    }

    /// Conductivity that a meter shows of so many meq/L; `None` where the model has no answer.
    #[must_use]
    pub fn conductivity(&self, meq_per_l: f64) -> Option<Conductivity> {
        let water = self.per_meq * meq_per_l;
        let species = self.aqueous.speciate(&water, Carbon::Closed).ok()?;
        let Conductivity { us_per_cm, standard_uncertainty, between, ends } =
            self.conductor.conductivity(&species);
        let shown = |us_per_cm: f64| us_per_cm / self.divisor;
        Some(Conductivity {
            us_per_cm: shown(us_per_cm),
            standard_uncertainty: shown(standard_uncertainty),
            between: between.map(|ends| ends.map(shown)),
            ends: ends.map(shown),
        })
    }

    /// Part of the conductivity of so many meq/L that is lost when the water brought as much carbon
    /// dioxide as it takes up from the air: 0 for neutral salts, some per cent for a weak dilution of
    /// a carbonate or hydroxide, whose hydroxide it turns into bicarbonate.
    #[must_use]
    pub fn lost_to_carbon_dioxide(&self, meq_per_l: f64) -> f64 {
        let Some(without) = self.conductivity(meq_per_l) else { return 0.0 };
        let mut water = self.per_meq * meq_per_l;
        water.add_mmol_per_l(Conserved::Dic, self.carbon_dioxide_of_air_mmol_per_l());
        self.aqueous.speciate(&water, Carbon::Closed).map_or(0.0, |species| {
            let with = self.conductor.conductivity(&species).us_per_cm / self.divisor;
            (1.0 - with / without.us_per_cm).max(0.0)
        })
    }

    /// Carbon of pure water in equilibrium with air, mmol/L.
    fn carbon_dioxide_of_air_mmol_per_l(&self) -> f64 {
        let open = Carbon::Open { co2_atm: AIR_CO2_ATM };
        self.aqueous
            .speciate(&Composition::PURE_WATER, open)
            .map_or(0.0, |species| species.carbon_mmol_per_kg())
    }

    /// The concentration, meq/L, that shows a conductivity; `None` beyond [`STRONGEST_EQ_PER_L`].
    ///
    /// Conductivity grows as a power between 0.7 and 1 of the concentration, so correcting the
    /// concentration by the factor that the conductivity is off by takes away most of an error in
    /// each round.
    #[must_use]
    pub fn meq_per_l(&self, us_per_cm: f64) -> Option<f64> {
        /// Our choice: three tenths of an error are left after a round at worst, so these end at
        /// rounding.
        const ROUNDS: usize = 40;
        let strongest = 1000.0 * STRONGEST_EQ_PER_L;
        let most = self.conductivity(strongest)?.us_per_cm;
        if us_per_cm > most {
            return None;
        }
        if us_per_cm <= 0.0 {
            return Some(0.0);
        }
        let mut meq_per_l = strongest * us_per_cm / most;
        for _ in 0..ROUNDS {
            let shown = self.conductivity(meq_per_l)?.us_per_cm;
            let next = (meq_per_l * us_per_cm / shown).min(strongest);
            let settled = (next / meq_per_l - 1.0).abs() < f64::EPSILON;
            meq_per_l = next;
            if settled {
                break;
            }
        }
        Some(meq_per_l)
    }
}
