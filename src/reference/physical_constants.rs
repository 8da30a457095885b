//! Constants of physics.
//!
//! CODATA 2018 adjustment (Tiesinga E. et al., Rev. Mod. Phys. 93 (2021) 025010); those without
//! an uncertainty are exact by the definition of the SI (from memory).

/// Elementary charge, C.
pub const ELEMENTARY_CHARGE: f64 = 1.602_176_634e-19;
/// Boltzmann constant, J/K.
pub const BOLTZMANN: f64 = 1.380_649e-23;
/// Avogadro constant, 1/mol.
pub const AVOGADRO: f64 = 6.022_140_76e23;
/// Electric constant, F/m.
pub const VACUUM_PERMITTIVITY: f64 = 8.854_187_812_8e-12;
/// Faraday constant, C/mol.
pub const FARADAY: f64 = ELEMENTARY_CHARGE * AVOGADRO;
/// 0 °C in K, exact.
pub const ZERO_CELSIUS_IN_KELVIN: f64 = 273.15;
/// One atmosphere in bar, exact.
pub const ATMOSPHERE_BAR: f64 = 1.013_25;
