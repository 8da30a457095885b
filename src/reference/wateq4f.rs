//! Brucite and nesquehonite, which PHREEQC's standard database leaves out.
//!
//! Ball J. W., Nordstrom D. K., "User's manual for WATEQ4F", U.S. Geological Survey Open-File
//! Report 91-183 (1991), as in the file `wateq4f.dat` of the registry package `phreeqc` 1.1.1.

use crate::reference::phreeqc_dat::LogK;

/// Brucite, `Mg(OH)2 + 2 H⁺ = Mg²⁺ + 2 H2O`: log K 16.84, ΔH −27.1 kcal/mol.
pub const BRUCITE: LogK = LogK::VantHoff { at_25: 16.84, delta_h_kj: -27.1 * 4.184 };

/// Nesquehonite, `MgCO3·3H2O = Mg²⁺ + CO3²⁻ + 3 H2O`: log K −5.621, ΔH −5.789 kcal/mol.
pub const NESQUEHONITE: LogK = LogK::VantHoff { at_25: -5.621, delta_h_kj: -5.789 * 4.184 };

/// How far the other databases of that package are above [`NESQUEHONITE`], log10 K at 25 °C:
/// `minteq.dat` 0, `llnl.dat` 0.29, `pitzer.dat` 0.45, `sit.dat` 0.52, `minteq.v4.dat` 0.95. A
/// water less oversaturated than this may stay clear after all.
pub const NESQUEHONITE_SPREAD: f64 = 0.95;
