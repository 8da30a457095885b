//! Equilibrium constants of carbonic acid at 25 °C, as the file `phreeqc.dat` of PHREEQC 3.8.6
//! tabulates them (Parkhurst and Appelo 2013, USGS Techniques and Methods 6-A43), and the carbon
//! dioxide of the air. Activities on the molal scale.

/// log K of H2O = OH⁻ + H⁺.
pub const LOG_K_WATER: f64 = -14.0;

/// log K of CO3²⁻ + H⁺ = HCO3⁻.
pub const LOG_K_BICARBONATE: f64 = 10.329;

/// log K of CO3²⁻ + 2 H⁺ = CO2 + H2O.
pub const LOG_K_CO2: f64 = 16.681;

/// log K of CO2(g) = CO2, mol/kg/atm.
pub const LOG_K_HENRY: f64 = -1.468;

/// log K of Na⁺ + HCO3⁻ = NaHCO3.
pub const LOG_K_NAHCO3: f64 = -0.06;

/// log K of K⁺ + HCO3⁻ = KHCO3.
pub const LOG_K_KHCO3: f64 = -0.35;

/// Debye–Hückel A and B (per ångström) of water at 25 °C.
pub const DEBYE_HUCKEL: (f64, f64) = (0.5108, 0.3287);

/// Size in ångström and linear term of log γ = −A z²√I/(1 + B a √I) + b I: Na⁺.
pub const GAMMA_NA: (f64, f64) = (4.08, 0.082);
/// K⁺.
pub const GAMMA_K: (f64, f64) = (3.5, 0.015);
/// HCO3⁻ and CO3²⁻.
pub const GAMMA_CARBONATES: (f64, f64) = (5.4, 0.0);
/// H⁺.
pub const GAMMA_H: (f64, f64) = (9.0, 0.0);
/// OH⁻.
pub const GAMMA_OH: (f64, f64) = (3.5, 0.0);
/// Linear term alone, of the uncharged CO2, NaHCO3 and KHCO3.
pub const GAMMA_CO2: f64 = 0.066;
/// See [`GAMMA_CO2`].
pub const GAMMA_NAHCO3: f64 = 0.2;
/// See [`GAMMA_CO2`].
pub const GAMMA_KHCO3: f64 = 9.4e-3;

/// Carbon dioxide of the air, atm: 10^−3.38 = 417 ppm, the mean of about 2022 (from memory).
pub const AIR_CO2_ATM: f64 = 4.169e-4;
