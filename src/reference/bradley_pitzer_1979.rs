//! Relative permittivity of water.
//!
//! Bradley D. J., Pitzer K. S., "Thermodynamics of electrolytes. 12. Dielectric properties of
//! water and Debye–Hückel parameters to 350 °C and 1 kbar", J. Phys. Chem. 83 (1979) 1599–1603:
//! `ε = ε₁₀₀₀ + C·ln((B + p)/(B + 1000))`, `ε₁₀₀₀ = U1·exp(U2·T + U3·T²)`, `C = U4 + U5/(U6 + T)`,
//! `B = U7 + U8/T + U9·T`, with p in bar and T in K. The same constants as PHREEQC uses.

/// The constants U1 to U9.
pub const U: [f64; 9] =
    [3.4279e2, -5.0866e-3, 9.469e-7, -2.0525, 3.1159e3, -1.8289e2, -8.0325e3, 4.2142e6, 2.1417];

/// Pressure of the reference term, bar.
pub const REFERENCE_BAR: f64 = 1000.0;
