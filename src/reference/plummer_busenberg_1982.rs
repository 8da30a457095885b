//! Solubility of calcium carbonate.
//!
//! Plummer L. N., Busenberg E., "The solubilities of calcite, aragonite and vaterite in CO2-H2O
//! solutions between 0 and 90 °C, and an evaluation of the aqueous model for the system
//! CaCO3-CO2-H2O", Geochim. Cosmochim. Acta 46 (1982) 1011–1040. The equations hold from 0 to
//! 90 °C. Transcribed from the databases of the registry package `phreeqc` 1.1.1: aragonite
//! stands in `phreeqc.dat` and `wateq4f.dat`, calcite in `wateq4f.dat`.
#![expect(clippy::unreadable_literal, reason = "digits stand as the source tabulates them")]

use crate::reference::phreeqc_dat::LogK;

/// Calcite, `CaCO3 = Ca²⁺ + CO3²⁻`; log K = −8.48 at 25 °C.
pub const CALCITE: LogK = LogK::Analytic([-171.9065, -0.077993, 2839.319, 71.595, 0.0, 0.0]);

/// Aragonite, `CaCO3 = Ca²⁺ + CO3²⁻`; log K = −8.336 at 25 °C.
pub const ARAGONITE: LogK = LogK::Analytic([-171.9773, -0.077993, 2903.293, 71.595, 0.0, 0.0]);
