//! Brucite, which PHREEQC's standard database leaves out.
//!
//! Ball J. W., Nordstrom D. K., "User's manual for WATEQ4F", U.S. Geological Survey Open-File
//! Report 91-183 (1991), as in the file `wateq4f.dat` of the registry package `phreeqc` 1.1.1.

use crate::reference::phreeqc_dat::LogK;

/// Brucite, `Mg(OH)2 + 2 H⁺ = Mg²⁺ + 2 H2O`: log K 16.84, ΔH −27.1 kcal/mol.
pub const BRUCITE: LogK = LogK::VantHoff { at_25: 16.84, delta_h_kj: -27.1 * 4.184 };
