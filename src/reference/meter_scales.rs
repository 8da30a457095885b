//! How cheap meters turn conductivity into ppm.
//!
//! The factors are common practice of the makers of meters; Standard Methods 2510 A gives 0.55 to
//! 0.7 as the range of dissolved solids over conductivity in natural waters (from memory).

/// The "500" or NaCl-type scale: ppm per µS/cm.
pub const NACL_FACTOR: f64 = 0.5;
/// The factor of many laboratory and agricultural tables.
pub const MIDDLE_FACTOR: f64 = 0.64;
/// The "700" or natural-water scale.
pub const NATURAL_FACTOR: f64 = 0.7;
/// Temperature compensation that most meters apply, per kelvin from 25 °C (common practice; ISO 7888
/// asks for a table instead).
pub const COMPENSATION_PER_KELVIN: f64 = 0.02;
/// Accuracy that makers of hand-held meters state, as a part of the reading: ±2 % (common practice),
/// read as the largest error either way like every other ± of a maker.
pub const METER_ERROR: f64 = 0.02;

/// Conductivity of natural waters at 25 °C as a multiple of that at 20 °C (ISO 7888, table of
/// correction factors; from memory).
pub const AT_25_OVER_20_CELSIUS: f64 = 1.116;
