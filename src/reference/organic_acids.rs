//! Citric and lactic acid and their pairs.
//!
//! Citrate: Martell A. E., Smith R. M., NIST Critically Selected Stability Constants of Metal
//! Complexes (NIST 46.2) and the SC database 2.62, as in the file `minteq.v4.dat` of the registry
//! package `phreeqc` 1.1.1. Its species with two sodium ions or with sodium and a proton are left
//! out: below 10 mmol/L of sodium they hold less than 1 % of the citrate.
//!
//! Lactate: the same compilation, at zero ionic strength, from memory.

use crate::reference::phreeqc_dat::LogK;

/// `H⁺ + Cit³⁻ = HCit²⁻`.
pub const HCIT: LogK = LogK::VantHoff { at_25: 6.396, delta_h_kj: 3.3472 };
/// `2 H⁺ + Cit³⁻ = H2Cit⁻`.
pub const H2CIT: LogK = LogK::VantHoff { at_25: 11.157, delta_h_kj: 1.297 };
/// `3 H⁺ + Cit³⁻ = H3Cit`.
pub const H3CIT: LogK = LogK::VantHoff { at_25: 14.285, delta_h_kj: -2.7614 };
/// `Ca²⁺ + Cit³⁻ = CaCit⁻`.
pub const CACIT: LogK = LogK::VantHoff { at_25: 4.87, delta_h_kj: -8.368 };
/// `Ca²⁺ + H⁺ + Cit³⁻ = CaHCit`.
pub const CAHCIT: LogK = LogK::VantHoff { at_25: 9.26, delta_h_kj: -0.8368 };
/// `Ca²⁺ + 2 H⁺ + Cit³⁻ = CaH2Cit⁺`.
pub const CAH2CIT: LogK = LogK::VantHoff { at_25: 12.257, delta_h_kj: 0.0 };
/// `Mg²⁺ + Cit³⁻ = MgCit⁻`.
pub const MGCIT: LogK = LogK::VantHoff { at_25: 4.89, delta_h_kj: 8.368 };
/// `Mg²⁺ + H⁺ + Cit³⁻ = MgHCit`.
pub const MGHCIT: LogK = LogK::VantHoff { at_25: 8.91, delta_h_kj: 3.3472 };
/// `Mg²⁺ + 2 H⁺ + Cit³⁻ = MgH2Cit⁺`.
pub const MGH2CIT: LogK = LogK::VantHoff { at_25: 12.2, delta_h_kj: 0.0 };
/// `Na⁺ + Cit³⁻ = NaCit²⁻`.
pub const NACIT: LogK = LogK::VantHoff { at_25: 1.03, delta_h_kj: -2.8033 };
/// `K⁺ + Cit³⁻ = KCit²⁻`.
pub const KCIT: LogK = LogK::VantHoff { at_25: 1.1, delta_h_kj: 5.4392 };

/// `H⁺ + Lac⁻ = HLac` (from memory).
pub const HLAC: LogK = LogK::VantHoff { at_25: 3.86, delta_h_kj: 0.33 };
/// `Ca²⁺ + Lac⁻ = CaLac⁺` (from memory).
pub const CALAC: LogK = LogK::VantHoff { at_25: 1.45, delta_h_kj: 0.0 };
/// `Mg²⁺ + Lac⁻ = MgLac⁺` (from memory).
pub const MGLAC: LogK = LogK::VantHoff { at_25: 1.37, delta_h_kj: 0.0 };
