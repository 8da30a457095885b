//! Water as a solvent: permittivity, density and viscosity against temperature.
//!
//! Up to 100 °C the water stands under one atmosphere, above under its own vapour pressure.

use crate::quantities::Celsius;
use crate::reference::bradley_pitzer_1979::{REFERENCE_BAR, U};
use crate::reference::iapws_viscosity_2011;
use crate::reference::physical_constants::{
    ATMOSPHERE_BAR, AVOGADRO, BOLTZMANN, ELEMENTARY_CHARGE, VACUUM_PERMITTIVITY,
    ZERO_CELSIUS_IN_KELVIN,
};
use crate::reference::wagner_pruss_2002::{
    CRITICAL_G_PER_ML, CRITICAL_KELVIN, TERMS, VAPOUR_PRESSURE,
};

/// What the laws of dilute solutions need to know of water at one temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solvent {
    /// Temperature, K.
    pub kelvin: f64,
    /// Relative permittivity.
    pub permittivity: f64,
    /// Density of the saturated liquid, g/mL.
    pub g_per_ml: f64,
    /// Viscosity, mPa·s.
    pub viscosity_mpa_s: f64,
    /// Bjerrum's length twice over, `e²/(4πε₀ε·k·T)`, m.
    pub coupling_m: f64,
    /// Debye–Hückel `A` in natural logarithms, (kg/mol)^½.
    pub debye_a_ln: f64,
    /// Debye–Hückel `B`, 1/Å·(kg/mol)^½.
    pub debye_b_per_angstrom: f64,
}

impl Solvent {
    /// Water at a temperature.
    ///
    /// `κ² = 8π·N_A·ρ·λ·I` with the coupling length `λ`; `B = κ/√I` and `A = λ·B/2`.
    ///
    /// ```
    /// use waterflight::chemistry::solvent::Solvent;
    /// use waterflight::quantities::Celsius;
    /// let water = Solvent::at(Celsius::new(25.0));
    /// // Archer & Wang 1990 (J. Phys. Chem. Ref. Data 19, 371): ε = 78.38, A = 0.5100 in
    /// // decimal logarithms (from memory); viscosity 0.8900 mPa·s.
    /// assert!((water.permittivity - 78.38).abs() < 0.01);
    /// assert!((water.debye_a_ln / std::f64::consts::LN_10 - 0.5100).abs() < 1e-4);
    /// assert!((water.viscosity_mpa_s - 0.8900).abs() < 1e-4);
    /// ```
    #[must_use]
    pub fn at(temperature: Celsius) -> Self {
        let kelvin = temperature.value() + ZERO_CELSIUS_IN_KELVIN;
        let permittivity = permittivity(kelvin);
        let g_per_ml = saturated_density(kelvin);
        let four_pi_eps = 4.0 * std::f64::consts::PI * VACUUM_PERMITTIVITY * permittivity;
        let coupling_m = ELEMENTARY_CHARGE * ELEMENTARY_CHARGE / (four_pi_eps * BOLTZMANN * kelvin);
        let molecules_per_m3 = AVOGADRO * g_per_ml * METRIC_PER_KG_PER_L;
        let b_per_m = (8.0 * std::f64::consts::PI * molecules_per_m3 * coupling_m).sqrt();
        Self {
            kelvin,
            permittivity,
            g_per_ml,
            viscosity_mpa_s: viscosity(kelvin),
            coupling_m,
            debye_a_ln: 0.5 * b_per_m * coupling_m,
            debye_b_per_angstrom: b_per_m * ANGSTROM_M,
        }
    }
}

/// Kilograms per litre to kilograms per cubic metre.
const METRIC_PER_KG_PER_L: f64 = 1000.0;

/// One ångström in metres.
const ANGSTROM_M: f64 = 1e-10;

/// Micropascal seconds in a millipascal second.
const MICRO_PER_MILLI: f64 = 1000.0;

/// Pressure over the water, bar: one atmosphere, or the vapour pressure above 100 °C.
fn pressure_bar(kelvin: f64) -> f64 {
    let [a, b, c] = VAPOUR_PRESSURE;
    (a - b / (kelvin + c)).exp().max(1.0) * ATMOSPHERE_BAR
}

/// Relative permittivity (Bradley & Pitzer 1979).
fn permittivity(kelvin: f64) -> f64 {
    let [u1, u2, u3, u4, u5, u6, u7, u8, u9] = U;
    let at_reference = u1 * (kelvin * (u2 + kelvin * u3)).exp();
    let c = u4 + u5 / (u6 + kelvin);
    let b = u7 + u8 / kelvin + u9 * kelvin;
    at_reference + c * ((b + pressure_bar(kelvin)) / (b + REFERENCE_BAR)).ln()
}

/// Density of the saturated liquid, g/mL (Wagner & Pruß 2002).
fn saturated_density(kelvin: f64) -> f64 {
    let root = (1.0 - kelvin / CRITICAL_KELVIN).cbrt();
    let sum: f64 = TERMS.iter().map(|(b, n)| b * root.powi(*n)).sum();
    CRITICAL_G_PER_ML * (1.0 + sum)
}

/// Viscosity, mPa·s (IAPWS SR6-08).
fn viscosity(kelvin: f64) -> f64 {
    let ratio = kelvin / iapws_viscosity_2011::REDUCING_KELVIN;
    let micro: f64 = iapws_viscosity_2011::TERMS.iter().map(|(a, b)| a * ratio.powf(*b)).sum();
    micro / MICRO_PER_MILLI
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `DH_A`, `DH_B` and `EPS_R` as PHREEQC 3.8.6 prints them for pure water.
    #[test]
    fn the_constants_are_those_of_the_program_whose_database_is_used() {
        for (celsius, a, b, eps) in [
            (0.01, 0.490_840_3, 0.324_622_2, 87.852_435),
            (25.0, 0.510_024_8, 0.328_490_6, 78.384_418),
            (93.0, 0.589_531_0, 0.340_804_9, 57.289_221),
            (125.0, 0.641_631_3, 0.347_596_6, 49.371_475),
            (130.0, 0.650_722_5, 0.348_710_5, 48.232_006),
        ] {
            let water = Solvent::at(Celsius::new(celsius));
            assert!((water.debye_a_ln / std::f64::consts::LN_10 / a - 1.0).abs() < 1e-4);
            assert!((water.debye_b_per_angstrom / b - 1.0).abs() < 1e-4);
            assert!((water.permittivity - eps).abs() < 1e-4);
        }
    }
}
