//! Limiting ionic conductivities in water at 25 °C.
//!
//! Rumble J. (ed.), CRC Handbook of Chemistry and Physics, "Ionic conductivity and diffusion at
//! infinite dilution", as in the file `CRC conductivity infinite dilution.tsv` of the registry
//! package `chemicals` 1.5.2. Per equivalent, S·cm²/mol. Those of the organic ions and of
//! H3SiO4⁻ (taken as that of H2PO4⁻) are from memory.

/// H⁺.
pub const H: f64 = 349.65;
/// ½ Ca²⁺.
pub const CA: f64 = 59.47;
/// ½ Mg²⁺.
pub const MG: f64 = 53.0;
/// Na⁺.
pub const NA: f64 = 50.08;
/// K⁺.
pub const K: f64 = 73.48;
/// OH⁻.
pub const OH: f64 = 198.0;
/// Cl⁻.
pub const CL: f64 = 76.31;
/// ½ SO4²⁻.
pub const SO4: f64 = 80.0;
/// HSO4⁻.
pub const HSO4: f64 = 52.0;
/// HCO3⁻.
pub const HCO3: f64 = 44.5;
/// ½ CO3²⁻.
pub const CO3: f64 = 69.3;
/// NO3⁻.
pub const NO3: f64 = 71.42;
/// H3SiO4⁻ (from memory: H2PO4⁻).
pub const H3SIO4: f64 = 36.0;
/// Lactate⁻ (from memory).
pub const LACTATE: f64 = 38.8;
/// ⅓ citrate³⁻ (from memory).
pub const CITRATE: f64 = 70.2;
/// Singly charged citrate species (from memory: H2Cit⁻).
pub const CITRATE_SINGLE: f64 = 30.0;
/// ½ HCit²⁻ (from memory, between the two).
pub const CITRATE_DOUBLE: f64 = 50.0;
