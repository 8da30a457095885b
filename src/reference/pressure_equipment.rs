//! What counts as pressure.
//!
//! Directive 2014/68/EU on pressure equipment, article 1: it covers what is made for more than
//! 0.5 bar above the pressure of the air (from memory).

/// Pressure above that of the air from which a vessel counts as pressure equipment, bar.
pub const PRESSURE_EQUIPMENT_BAR: f64 = 0.5;
