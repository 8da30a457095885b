//! Conductivity of single salts in water: McCleskey R. B., Electrical Conductivity of
//! Electrolytes Found in Natural Waters from (5 to 90) °C, J. Chem. Eng. Data 56 (2011) 317–327,
//! its equation and table of coefficients, as `chemicals` 1.5.2 transcribes them. Valid from 5 to
//! 90 °C and up to about 1 mol/kg.
//!
//! Equivalent conductivity, S cm²/eq: `Λ = Λ°(t) − A(t)·√m / (1 + B·√m)`, `t` in °C, `m` in
//! mol/kg; `Λ°(t) = c1·t² + c2·t + c3` and `A(t) = d1·t² + d2·t + d3`.

/// Coefficients of one salt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConductivityRow {
    /// Anhydrous formula.
    pub formula: &'static str,
    /// `c1`, `c2`, `c3` of the limiting conductivity.
    pub limit: [f64; 3],
    /// `d1`, `d2`, `d3` of the slope.
    pub slope: [f64; 3],
    /// `B`.
    pub b: f64,
}

/// The salts that stocks are made of.
pub const CONDUCTIVITY_ROWS: &[ConductivityRow] = &[
    ConductivityRow {
        formula: "KCl",
        limit: [0.009_385, 2.533, 81.17],
        slope: [0.0139, 1.886, 44.11],
        b: 1.7,
    },
    ConductivityRow {
        formula: "NaCl",
        limit: [0.008_967, 2.196, 67.03],
        slope: [0.00726, 1.762, 44.55],
        b: 1.3,
    },
    ConductivityRow {
        formula: "CaCl2",
        limit: [0.01124, 2.224, 72.36],
        slope: [0.03918, 3.905, 137.7],
        b: 3.8,
    },
    ConductivityRow {
        formula: "MgCl2",
        limit: [0.009_534, 2.247, 68.19],
        slope: [0.02469, 4.374, 129.8],
        b: 3.1,
    },
    ConductivityRow {
        formula: "Na2SO4",
        limit: [0.009_501, 2.317, 66.58],
        slope: [0.02388, 4.509, 135.5],
        b: 2.2,
    },
    ConductivityRow {
        formula: "K2SO4",
        limit: [0.008_819, 2.872, 83.72],
        slope: [0.03799, 9.784, 247.1],
        b: 5.3,
    },
    ConductivityRow {
        formula: "CaSO4",
        limit: [0.01192, 2.564, 73.3],
        slope: [0.2402, 19.78, 644.4],
        b: 9.6,
    },
    ConductivityRow {
        formula: "KHCO3",
        limit: [0.007_807, 2.04, 63.03],
        slope: [0.00661, 1.577, 38.58],
        b: 0.9,
    },
    ConductivityRow {
        formula: "K2CO3",
        limit: [0.01145, 2.726, 68.62],
        slope: [0.02438, 5.18, 81.12],
        b: 2.1,
    },
    ConductivityRow {
        formula: "NaHCO3",
        limit: [0.0126, 1.543, 52.09],
        slope: [0.02793, 0.4556, 52.94],
        b: 1.1,
    },
    ConductivityRow {
        formula: "Na2CO3",
        limit: [0.02296, 5.211, 147.0],
        slope: [0.05707, 22.22, 455.8],
        b: 4.8,
    },
    ConductivityRow {
        formula: "KNO3",
        limit: [0.009_117, 2.309, 80.33],
        slope: [0.00909, 1.099, 49.12],
        b: 0.7,
    },
];
