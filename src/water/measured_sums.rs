//! Sums over all constituents that an analysis gives beside the parts: conductivity and dissolved
//! solids, and what a sum agrees with.

use crate::quantities::Celsius;
use crate::reference::meter_scales::AT_25_OVER_20_CELSIUS;
use crate::reference::water_hardness::SOLIDS_OVER_SUM;
use crate::water::Measure;

/// Sums over all constituents that were measured beside them.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Sums {
    /// Conductivity at 25 °C, µS/cm.
    pub(crate) us_per_cm: Option<f64>,
    /// Dissolved solids of one kind, mg/L.
    pub(crate) solids: Option<(Measure, f64)>,
}

/// Temperature at which pH and conductivity of an analysis are taken to be measured, °C (common
/// practice).
pub(crate) const ANALYSIS_CELSIUS: f64 = 25.0;

/// Dissolved solids as measured, as a multiple of the sum of the ions, that agree. The lower end is
/// 0.9 and not the published 1, our choice: what a dry residue loses and a rounded report leaves out.
pub(crate) const SOLIDS_OF_SUM: [f64; 2] = [0.9, SOLIDS_OVER_SUM];

/// Conductivity at 25 °C as a multiple of that at the temperature that a report refers to: 25 or
/// 20 °C, and nothing for others, since no report does.
#[must_use]
pub fn at_25_over(reported: Celsius) -> Option<f64> {
    let is = |celsius: f64| (reported.value() - celsius).abs() < 0.05;
    if is(ANALYSIS_CELSIUS) { Some(1.0) } else { is(20.0).then_some(AT_25_OVER_20_CELSIUS) }
}
