//! Density of saturated liquid water.
//!
//! Wagner W., Pruß A., "The IAPWS Formulation 1995 for the thermodynamic properties of ordinary
//! water substance for general and scientific use", J. Phys. Chem. Ref. Data 31 (2002) 387–535,
//! equation 2.6: `ρ/ρc = 1 + Σ bᵢ·ϑ^(nᵢ/3)`, `ϑ = 1 − T/Tc`.
#![expect(clippy::unreadable_literal, reason = "digits stand as the source tabulates them")]

/// Critical temperature, K.
pub const CRITICAL_KELVIN: f64 = 647.096;

/// Critical density, g/mL.
pub const CRITICAL_G_PER_ML: f64 = 0.322;

/// Coefficients bᵢ with the numerators nᵢ of their exponents.
pub const TERMS: [(f64, i32); 6] = [
    (1.99274064, 1),
    (1.09965342, 2),
    (-0.510839303, 5),
    (-1.75493479, 16),
    (-45.5170352, 43),
    (-6.7469445e5, 110),
];

/// Vapour pressure as PHREEQC takes it, in atm: `exp(A − B/(T + C))`, T in K.
pub const VAPOUR_PRESSURE: [f64; 3] = [11.6702, 3816.44, -46.13];
