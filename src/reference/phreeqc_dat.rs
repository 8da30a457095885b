//! Aqueous species and minerals as PHREEQC's standard database tabulates them.
//!
//! Parkhurst D. L., Appelo C. A. J., "Description of Input and Examples for PHREEQC Version 3",
//! U.S. Geological Survey Techniques and Methods 6-A43 (2013); the numbers are those of the file
//! `phreeqc.dat` of version 3.8.6 (dated 22 May 2024), as shipped with the registry package
//! `phreeqc` 1.1.1. Where the file gives an analytic expression it overrules `log_k` and
//! `delta_h`, as in that program. All digits are kept.
#![expect(clippy::unreadable_literal, reason = "digits stand as the source tabulates them")]

/// How a log10 K depends on temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LogK {
    /// `A + B·T + C/T + D·log10 T + E/T² + F·T²`, T in K.
    Analytic([f64; 6]),
    /// Value at 25 °C and a constant enthalpy of reaction in kJ/mol.
    VantHoff {
        /// log10 K at 25 °C.
        at_25: f64,
        /// Enthalpy of reaction, kJ/mol.
        delta_h_kj: f64,
    },
}

/// Joules per calorie in that program: enthalpies tabulated in kcal are written here as a
/// product, so that the tabulated figure stays visible.
const KJ_PER_KCAL: f64 = 4.184;

/// Gas constant of that program, kJ/(mol·K).
pub const GAS_CONSTANT_KJ: f64 = 0.0083147;

/// `log γ = −A·z²·√I/(1 + B·a·√I) + b·I`, or what stands for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Gamma {
    /// Ion-size parameter `a` in Å and the linear term `b` in kg/mol (`-gamma a b`).
    Extended {
        /// Ion size, Å.
        a: f64,
        /// Linear term, kg/mol.
        b: f64,
    },
    /// Charged species without `-gamma`: `−A·z²·(√I/(1 + √I) − 0.3·I)`.
    Davies,
}

/// Linear term of uncharged species without `-gamma`, kg/mol.
pub const NEUTRAL_B: f64 = 0.1;

/// Slope of the water activity: `a(H2O) = 1 − 0.017·Σm` (the program's formula for all its
/// Debye–Hückel databases).
pub const WATER_ACTIVITY_SLOPE: f64 = 0.017;

/// `H2O = OH⁻ + H⁺`.
pub const WATER: LogK =
    LogK::Analytic([293.29227, 0.1360833, -10576.913, -123.73158, 0.0, -6.996455e-5]);
/// `CO3²⁻ + H⁺ = HCO3⁻`.
pub const HCO3: LogK = LogK::Analytic([107.8871, 0.03252849, -5151.79, -38.92561, 563713.9, 0.0]);
/// `CO3²⁻ + 2 H⁺ = CO2 + H2O`.
pub const CO2: LogK = LogK::Analytic([464.1965, 0.09344813, -26986.16, -165.75951, 2248628.9, 0.0]);
/// `2 CO2 = (CO2)2`.
pub const CO2_DIMER: LogK = LogK::Analytic([8.68, -0.0103, -2190.0, 0.0, 0.0, 0.0]);
/// `SO4²⁻ + H⁺ = HSO4⁻`.
pub const HSO4: LogK = LogK::Analytic([-56.889, 0.006473, 2307.9, 19.8858, 0.0, 0.0]);
/// `H⁺ + Cl⁻ = HCl`.
pub const HCL: LogK = LogK::Analytic([0.334, -2.684e-3, 1.015, 0.0, 0.0, 0.0]);
/// `Ca²⁺ + H2O = CaOH⁺ + H⁺`.
pub const CAOH: LogK = LogK::VantHoff { at_25: -12.78, delta_h_kj: 0.0 };
/// `Ca²⁺ + CO3²⁻ = CaCO3⁰`.
pub const CACO3: LogK = LogK::Analytic([-1228.732, -0.29944, 35512.75, 485.818, 0.0, 0.0]);
/// `Ca²⁺ + CO3²⁻ + H⁺ = CaHCO3⁺`.
pub const CAHCO3: LogK = LogK::Analytic([-6.009, 3.377e-2, 2044.0, 0.0, 0.0, 0.0]);
/// `Ca²⁺ + SO4²⁻ = CaSO4⁰`.
pub const CASO4: LogK = LogK::VantHoff { at_25: 2.25, delta_h_kj: 1.325 * KJ_PER_KCAL };
/// `Ca²⁺ + HSO4⁻ = CaHSO4⁺`.
pub const CAHSO4: LogK = LogK::VantHoff { at_25: 1.08, delta_h_kj: 0.0 };
/// `Mg²⁺ + H2O = MgOH⁺ + H⁺`.
pub const MGOH: LogK = LogK::VantHoff { at_25: -11.44, delta_h_kj: 15.952 * KJ_PER_KCAL };
/// `Mg²⁺ + CO3²⁻ = MgCO3⁰`.
pub const MGCO3: LogK = LogK::Analytic([0.991, 0.00667, 0.0, 0.0, 0.0, 0.0]);
/// `Mg²⁺ + H⁺ + CO3²⁻ = MgHCO3⁺`.
pub const MGHCO3: LogK = LogK::Analytic([48.6721, 0.03252849, -2614.335, -18.00263, 563713.9, 0.0]);
/// `Mg²⁺ + SO4²⁻ = MgSO4⁰`.
pub const MGSO4: LogK = LogK::Analytic([0.0, 9.64e-3, -136.0, 0.0, 0.0, 0.0]);
/// `SO4²⁻ + MgSO4⁰ = Mg(SO4)2²⁻`.
pub const MG_SO4_2: LogK = LogK::Analytic([0.0, -1.51e-3, 0.0, 0.0, 8.604e4, 0.0]);
/// `Na⁺ + HCO3⁻ = NaHCO3⁰`.
pub const NAHCO3: LogK = LogK::VantHoff { at_25: -0.06, delta_h_kj: 21.0 };
/// `Na⁺ + SO4²⁻ = NaSO4⁻`.
pub const NASO4: LogK = LogK::Analytic([255.903, 0.10057, 0.0, -1.11138e2, -8.5983e5, 0.0]);
/// `K⁺ + HCO3⁻ = KHCO3⁰`.
pub const KHCO3: LogK = LogK::VantHoff { at_25: -0.35, delta_h_kj: 12.0 };
/// `K⁺ + SO4²⁻ = KSO4⁻`.
pub const KSO4: LogK = LogK::Analytic([-3.0246, 9.986e-3, 0.0, 0.0, 1.093e5, 0.0]);
/// `H4SiO4 = H3SiO4⁻ + H⁺`.
pub const H3SIO4: LogK =
    LogK::Analytic([-302.3724, -0.050698, 15669.69, 108.18466, -1119669.0, 0.0]);
/// `H4SiO4 = H2SiO4²⁻ + 2 H⁺`.
pub const H2SIO4: LogK =
    LogK::Analytic([-294.0184, -0.07265, 11204.49, 108.18466, -1119669.0, 0.0]);

/// `CO2(g) = CO2(aq)`, fugacity in atm.
pub const CO2_GAS: LogK = LogK::Analytic([10.5624, -2.3547e-2, -3972.8, 0.0, 5.8746e5, 1.9194e-5]);
/// Calcite, `CaCO3 = Ca²⁺ + CO3²⁻`: this version's own fit, 0–250 °C, naming Ellis 1959 and
/// Plummer & Busenberg 1982. It runs ever further from the latter's equation above 40 °C.
pub const CALCITE: LogK = LogK::Analytic([17.118, -0.046528, -3496.0, 0.0, 0.0, 0.0]);
/// Gypsum, `CaSO4·2H2O = Ca²⁺ + SO4²⁻ + 2 H2O`.
pub const GYPSUM: LogK = LogK::Analytic([93.7, 5.99e-3, -4e3, -35.019, 0.0, 0.0]);
/// Anhydrite, `CaSO4 = Ca²⁺ + SO4²⁻`, 50–160 °C (Blount & Dickson 1973).
pub const ANHYDRITE: LogK = LogK::Analytic([84.9, 0.0, -3135.12, -31.79, 0.0, 0.0]);
/// Amorphous silica, `SiO2 + 2 H2O = H4SiO4` (`SiO2(a)` of the file).
pub const AMORPHOUS_SILICA: LogK = LogK::Analytic([-0.26, 0.0, -731.0, 0.0, 0.0, 0.0]);

/// Activity coefficients (`-gamma`), one constant per line of the file.
pub mod gamma {
    use super::{Gamma, NEUTRAL_B};

    /// H⁺.
    pub const H: Gamma = Gamma::Extended { a: 9.0, b: 0.0 };
    /// OH⁻.
    pub const OH: Gamma = Gamma::Extended { a: 3.5, b: 0.0 };
    /// Ca²⁺.
    pub const CA: Gamma = Gamma::Extended { a: 5.0, b: 0.165 };
    /// Mg²⁺.
    pub const MG: Gamma = Gamma::Extended { a: 5.5, b: 0.2 };
    /// Na⁺ (the second line of the file, which overrules the first: halite solubility).
    pub const NA: Gamma = Gamma::Extended { a: 4.08, b: 0.082 };
    /// K⁺.
    pub const K: Gamma = Gamma::Extended { a: 3.5, b: 0.015 };
    /// Cl⁻ (the second line of the file).
    pub const CL: Gamma = Gamma::Extended { a: 3.63, b: 0.017 };
    /// SO4²⁻.
    pub const SO4: Gamma = Gamma::Extended { a: 5.0, b: -0.04 };
    /// NO3⁻.
    pub const NO3: Gamma = Gamma::Extended { a: 3.0, b: 0.0 };
    /// HCO3⁻ and CO3²⁻.
    pub const CARBONATES: Gamma = Gamma::Extended { a: 5.4, b: 0.0 };
    /// CaHCO3⁺.
    pub const CAHCO3: Gamma = Gamma::Extended { a: 6.0, b: 0.0 };
    /// MgHCO3⁺.
    pub const MGHCO3: Gamma = Gamma::Extended { a: 4.0, b: 0.0 };
    /// MgOH⁺.
    pub const MGOH: Gamma = Gamma::Extended { a: 6.5, b: 0.0 };
    /// Mg(SO4)2²⁻.
    pub const MG_SO4_2: Gamma = Gamma::Extended { a: 7.0, b: 0.047 };
    /// NaSO4⁻.
    pub const NASO4: Gamma = Gamma::Extended { a: 5.5, b: 0.0 };
    /// KSO4⁻.
    pub const KSO4: Gamma = Gamma::Extended { a: 5.4, b: 0.19 };
    /// H3SiO4⁻.
    pub const H3SIO4: Gamma = Gamma::Extended { a: 4.0, b: 0.0 };
    /// H2SiO4²⁻.
    pub const H2SIO4: Gamma = Gamma::Extended { a: 5.4, b: 0.0 };
    /// CO2(aq).
    pub const CO2: Gamma = Gamma::Extended { a: 0.0, b: 0.066 };
    /// MgSO4⁰ and NaHCO3⁰.
    pub const MGSO4_NAHCO3: Gamma = Gamma::Extended { a: 0.0, b: 0.2 };
    /// KHCO3⁰.
    pub const KHCO3: Gamma = Gamma::Extended { a: 0.0, b: 9.4e-3 };
    /// HCl⁰.
    pub const HCL: Gamma = Gamma::Extended { a: 0.0, b: 0.4256 };
    /// Every other uncharged species.
    pub const NEUTRAL: Gamma = Gamma::Extended { a: 0.0, b: NEUTRAL_B };
}

/// Temperature coefficients of the ions' diffusion (second figure of `-dw`), K: mobility goes as
/// `exp(c/T − c/298.15)` over the viscosity of water.
pub mod mobility {
    /// H⁺.
    pub const H: f64 = 838.0;
    /// OH⁻.
    pub const OH: f64 = 478.0;
    /// Ca²⁺.
    pub const CA: f64 = 34.0;
    /// Mg²⁺.
    pub const MG: f64 = -4.0;
    /// Na⁺.
    pub const NA: f64 = 75.0;
    /// K⁺.
    pub const K: f64 = 254.0;
    /// Cl⁻.
    pub const CL: f64 = 216.0;
    /// SO4²⁻.
    pub const SO4: f64 = -114.0;
    /// HCO3⁻.
    pub const HCO3: f64 = -190.0;
    /// CO3²⁻.
    pub const CO3: f64 = -103.0;
    /// NO3⁻.
    pub const NO3: f64 = 104.0;
}
