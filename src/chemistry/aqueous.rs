//! Everything that depends on temperature only: constants of formation and of minerals, and the
//! coefficients of the activity model. Made once per temperature and used for any number of waters.
#![expect(clippy::indexing_slicing, reason = "tables with one place per species or mineral")]

use thiserror::Error;

use crate::chemistry::Mineral;
use crate::chemistry::Species;
use crate::chemistry::equilibrium::NoConvergence;
use crate::chemistry::solvent::Solvent;
use crate::chemistry::species::{COUNT, ROWS};
use crate::quantities::Celsius;
use crate::reference::phreeqc_dat as db;
use crate::reference::phreeqc_dat::{GAS_CONSTANT_KJ, Gamma, LogK};
use crate::reference::physical_constants::ZERO_CELSIUS_IN_KELVIN;
use crate::reference::plummer_busenberg_1982;
use crate::reference::wateq4f;

/// Which published solubility of calcite is used. Above 40 °C the two part ways: by 0.30 in the
/// saturation index at 93 °C and by 0.51 at 125 °C, more than anything else in a boiler index.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CalciteConstant {
    /// The fit of PHREEQC 3.8.6's standard database, 0–250 °C: less soluble when hot.
    #[default]
    PhreeqcDat,
    /// Plummer & Busenberg 1982, measured from 0 to 90 °C: more soluble when hot.
    PlummerBusenberg1982,
}

impl CalciteConstant {
    /// Both.
    pub const ALL: [CalciteConstant; 2] =
        [CalciteConstant::PhreeqcDat, CalciteConstant::PlummerBusenberg1982];

    /// Name with source.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            CalciteConstant::PhreeqcDat => "PHREEQC 3.8.6 phreeqc.dat",
            CalciteConstant::PlummerBusenberg1982 => "Plummer & Busenberg 1982",
        }
    }
}

/// Why a water has no answer.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum ChemistryError {
    /// Colder or hotter than the constants hold.
    #[error(
        "{celsius} °C is outside the range of the constants, {MIN_CELSIUS} to {MAX_CELSIUS} °C"
    )]
    Temperature {
        /// Temperature asked for.
        celsius: f64,
    },
    /// A total that no water can have.
    #[error("{what} of {} mmol/L is not an amount a water can hold",
        crate::quantities::show::three_figures(*.mmol_per_l))]
    Amount {
        /// Key of the total.
        what: &'static str,
        /// Its value.
        mmol_per_l: f64,
    },
    /// A pressure of carbon dioxide that is not one.
    #[error(
        "{atm} atm is not a pressure of carbon dioxide; give more than 0 and at most {MAX_CO2_ATM}"
    )]
    CarbonDioxide {
        /// Pressure asked for.
        atm: f64,
    },
    /// A pH outside the scale the model can reach.
    #[error("pH {ph} is outside 0 to 14")]
    Ph {
        /// pH asked for.
        ph: f64,
    },
    /// A pH that no amount of carbon dioxide gives to this alkalinity.
    #[error("pH {ph} and an alkalinity of {alkalinity_meq_per_l} meq/L contradict each other")]
    Contradiction {
        /// pH measured.
        ph: f64,
        /// Alkalinity, meq/L.
        alkalinity_meq_per_l: f64,
    },
    /// Stronger than the activity model can say anything about.
    #[error("too strong for the activity model: its ionic strength is above {limit} mol/kg")]
    TooStrong {
        /// The limit, mol/kg.
        limit: f64,
    },
    /// The solver ended without a solution.
    #[error(transparent)]
    NoConvergence(#[from] NoConvergence),
}

impl ChemistryError {
    /// Whether it is said of a water that is too strong to be computed.
    #[must_use]
    pub fn is_of_too_strong_a_water(&self) -> bool {
        match self {
            Self::TooStrong { .. } => true,
            // A total below zero, or none at all, is another mistake.
            Self::Amount { mmol_per_l, .. } => *mmol_per_l > 0.0,
            _ => false,
        }
    }
}

/// Lowest temperature of the constants, °C.
pub const MIN_CELSIUS: f64 = 0.0;
/// Highest temperature of the constants, °C: our choice. The pair constants are measured to
/// 90–200 °C; a steam boiler works at up to about 130 °C.
pub const MAX_CELSIUS: f64 = 130.0;
/// Highest pressure of carbon dioxide, atm: our choice; above it fugacity and pressure part.
pub const MAX_CO2_ATM: f64 = 10.0;

/// Constants of all species and minerals at one temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct Aqueous {
    temperature: Celsius,
    solvent: Solvent,
    calcite: CalciteConstant,
    /// ln K of formation of each species.
    pub(crate) ln_k: [f64; COUNT],
    /// Molecules of water in each formation.
    pub(crate) water: [f64; COUNT],
    /// `A·z²`, `B·a` and `b` of `ln γ = −A·z²·√I/(1 + B·a·√I) + b·I`.
    pub(crate) gamma: [[f64; COUNT]; 3],
    /// ln K of each mineral.
    minerals: [f64; Mineral::ALL.len()],
    /// ln K of CO2(g) = CO2(aq).
    pub(crate) ln_henry: f64,
}

impl Aqueous {
    /// Constants at a temperature, with the default calcite constant.
    ///
    /// ```
    /// use waterflight::chemistry::{Aqueous, Mineral};
    /// use waterflight::quantities::Celsius;
    /// let at_25 = Aqueous::at(Celsius::new(25.0)).unwrap();
    /// // Plummer & Busenberg 1982: log K of aragonite is −8.336 at 25 °C.
    /// assert!((at_25.log_k(Mineral::Aragonite) + 8.336).abs() < 0.001);
    /// assert!(Aqueous::at(Celsius::new(150.0)).is_err());
    /// ```
    ///
    /// # Errors
    /// Outside 0 to 130 °C.
    pub fn at(temperature: Celsius) -> Result<Self, ChemistryError> {
        Self::with_calcite(temperature, CalciteConstant::default())
    }

    /// Constants at a temperature, with the calcite constant named.
    ///
    /// # Errors
    /// Outside 0 to 130 °C.
    pub fn with_calcite(
        temperature: Celsius,
        calcite: CalciteConstant,
    ) -> Result<Self, ChemistryError> {
        let celsius = temperature.value();
        if !(MIN_CELSIUS..=MAX_CELSIUS).contains(&celsius) {
            return Err(ChemistryError::Temperature { celsius });
        }
        let solvent = Solvent::at(temperature);
        let t = Kelvin::new(celsius + ZERO_CELSIUS_IN_KELVIN);
        let mut ln_k = [0.0; COUNT];
        let mut water = [0.0; COUNT];
        let mut gamma = [[0.0; COUNT]; 3];
        for (i, row) in ROWS.iter().enumerate() {
            ln_k[i] = row.formation.iter().map(|(sign, k)| sign * t.ln_k(*k)).sum();
            water[i] = f64::from(row.water);
            let z2 = f64::from(row.charge) * f64::from(row.charge);
            let az2 = solvent.debye_a_ln * z2;
            let (size, linear) = match row.gamma {
                Gamma::Extended { a, b } => {
                    (solvent.debye_b_per_angstrom * a, b * std::f64::consts::LN_10)
                }
                Gamma::Davies => (1.0, DAVIES_LINEAR * az2),
            };
            gamma[0][i] = az2;
            gamma[1][i] = size;
            gamma[2][i] = linear;
        }
        let minerals = Mineral::ALL.map(|m| t.ln_k(constant_of(m, calcite)));
        Ok(Self {
            temperature,
            solvent,
            calcite,
            ln_k,
            water,
            gamma,
            minerals,
            ln_henry: t.ln_k(db::CO2_GAS),
        })
    }

    /// The temperature that all constants here are of.
    #[must_use]
    pub fn temperature(&self) -> Celsius {
        self.temperature
    }

    /// Water itself at this temperature.
    #[must_use]
    pub fn solvent(&self) -> &Solvent {
        &self.solvent
    }

    /// log10 K of a mineral's dissolution.
    #[must_use]
    pub fn log_k(&self, mineral: Mineral) -> f64 {
        self.ln_k_mineral(mineral) / std::f64::consts::LN_10
    }

    /// ln K of `CO2(aq) + H2O = CO3²⁻ + 2 H⁺`.
    pub(crate) fn ln_k_co3(&self) -> f64 {
        self.ln_k[Species::CO3.index()]
    }

    pub(crate) fn ln_k_mineral(&self, mineral: Mineral) -> f64 {
        self.minerals[mineral as usize]
    }
}

/// The linear term of the Davies equation as a share of A·z².
const DAVIES_LINEAR: f64 = 0.3;

fn constant_of(mineral: Mineral, calcite: CalciteConstant) -> LogK {
    match (mineral, calcite) {
        (Mineral::Calcite, CalciteConstant::PhreeqcDat) => db::CALCITE,
        (Mineral::Calcite, CalciteConstant::PlummerBusenberg1982) => {
            plummer_busenberg_1982::CALCITE
        }
        (Mineral::Aragonite, _) => plummer_busenberg_1982::ARAGONITE,
        (Mineral::Gypsum, _) => db::GYPSUM,
        (Mineral::Anhydrite, _) => db::ANHYDRITE,
        (Mineral::Brucite, _) => wateq4f::BRUCITE,
        (Mineral::Nesquehonite, _) => wateq4f::NESQUEHONITE,
        (Mineral::AmorphousSilica, _) => db::AMORPHOUS_SILICA,
    }
}

/// A temperature with its logarithm, so that a table of constants takes one logarithm.
#[derive(Debug, Clone, Copy)]
struct Kelvin {
    t: f64,
    log10_t: f64,
}

impl Kelvin {
    fn new(t: f64) -> Self {
        Self { t, log10_t: t.log10() }
    }

    fn ln_k(self, constant: LogK) -> f64 {
        let t = self.t;
        let log10 = match constant {
            LogK::Analytic([a, b, c, d, e, f]) => {
                a + b * t + c / t + d * self.log10_t + e / (t * t) + f * t * t
            }
            LogK::VantHoff { at_25, delta_h_kj } => {
                let t_25 = ZERO_CELSIUS_IN_KELVIN + 25.0;
                let slope = delta_h_kj / (GAS_CONSTANT_KJ * std::f64::consts::LN_10);
                at_25 + slope * (1.0 / t_25 - 1.0 / t)
            }
        };
        log10 * std::f64::consts::LN_10
    }
}
