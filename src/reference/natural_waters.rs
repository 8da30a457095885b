//! What natural and drinking waters hold, for what an analysis leaves open.

/// Mean composition of river water, mg/L, under the keys of reports (alkalinity as HCO3): Livingstone
/// D. A., "Chemical composition of rivers and lakes", USGS Professional Paper 440-G (1963), from memory.
pub const RIVER_WATER_MG_PER_L: [(&str, f64); 8] = [
    ("Ca", 15.0),
    ("Mg", 4.1),
    ("Na", 6.3),
    ("K", 2.3),
    ("HCO3", 58.4),
    ("SO4", 11.2),
    ("Cl", 7.8),
    ("NO3", 1.0),
];

/// Highest potassium of a drinking water, mg/L: Directive 80/778/EEC, annex I (from memory); later
/// directives set none.
pub const POTASSIUM_LIMIT_MG_PER_L: f64 = 12.0;

/// Silica of natural waters, mg/L: mostly 1 to 30, up to 100 not unusual (Standard Methods
/// 4500-SiO2 A, from memory).
pub const SILICA_UP_TO_MG_PER_L: f64 = 100.0;
