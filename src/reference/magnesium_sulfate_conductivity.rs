//! Conductivity of magnesium sulfate at 25 °C, which the table of McCleskey 2011 lacks.

/// Limiting equivalent conductivities of ½ Mg²⁺ and ½ SO4²⁻, S cm²/eq: CRC Handbook of Chemistry
/// and Physics, Ionic Conductivity and Diffusion at Infinite Dilution, as `chemicals` 1.5.2
/// transcribes it.
pub const LIMITING: (f64, f64) = (53.0, 80.0);

/// Association constant of the ion pair, L/mol: log K 2.23, Nair and Nancollas 1958, J. Chem. Soc.
/// 3706 (from memory).
pub const ASSOCIATION: f64 = 170.0;

/// Numbers of Onsager's limiting law with an ion size, at 25 °C, as Robinson and Stokes 1959,
/// Electrolyte Solutions, equation 7.36, write it (from memory): relaxation 2.801·10⁶/(εT)^1.5
/// and electrophoresis 41.25/(η·√(εT)) with ε = 78.36 and η = 0.008903 P.
pub const RELAXATION: f64 = 0.784_5;
/// See [`RELAXATION`].
pub const ELECTROPHORESIS: f64 = 30.31;
/// Debye–Hückel A and B (per ångström), 25 °C.
pub const DEBYE_HUCKEL: (f64, f64) = (0.5108, 0.3287);

/// Ion size, ångström. Our choice, between the sizes in crystals and the distance of Bjerrum; it
/// moves the conductivity by 1 % at 0.001 and 2 % at 0.005 eq/L, and the stated uncertainty covers
/// that.
pub const SIZE: f64 = 6.0;
