//! Viscosity of liquid water at 0.1 MPa.
//!
//! International Association for the Properties of Water and Steam, "Revised Supplementary
//! Release on Properties of Liquid Water at 0.1 MPa", IAPWS SR6-08(2011), the equation for
//! viscosity, 253–383 K: `η = Σ aᵢ·(T/300 K)^bᵢ` in µPa·s (from memory; it gives the 890.0 µPa·s
//! of 25 °C and agrees with the `chemicals` 1.5.2 formulation to 0.1 % up to 130 °C).

/// The pairs aᵢ, bᵢ.
pub const TERMS: [(f64, f64); 4] =
    [(280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.459_03, -40.0)];

/// Temperature that the equation divides by, K.
pub const REDUCING_KELVIN: f64 = 300.0;
