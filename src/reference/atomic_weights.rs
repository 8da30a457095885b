//! Standard atomic weights of the CIAAW, table of 2021.
//!
//! Prohaska T. et al., "Standard atomic weights of the elements 2021 (IUPAC Technical Report)",
//! Pure Appl. Chem. 94 (2022) 573–600. Where the table gives an interval (H, C, N, O, Mg, Si, S,
//! Cl …), the conventional value of the same report is taken. Checked against the registry
//! packages `periodictable` and `molmass` in `tests/oracle`.

/// Year of the table, printed beside every molar mass.
pub const TABLE_YEAR: u16 = 2021;

/// Symbol and relative atomic mass (numerically g/mol).
pub const ATOMIC_WEIGHTS: &[(&str, f64)] = &[
    ("H", 1.008),
    ("Li", 6.94),
    ("B", 10.81),
    ("C", 12.011),
    ("N", 14.007),
    ("O", 15.999),
    ("F", 18.998_403_162),
    ("Na", 22.989_769_28),
    ("Mg", 24.305),
    ("Al", 26.981_538_4),
    ("Si", 28.085),
    ("P", 30.973_761_998),
    ("S", 32.06),
    ("Cl", 35.45),
    ("K", 39.0983),
    ("Ca", 40.078),
    ("Mn", 54.938_043),
    ("Fe", 55.845),
    ("Cu", 63.546),
    ("Zn", 65.38),
    ("Se", 78.971),
    ("Br", 79.904),
    ("Sr", 87.62),
    ("I", 126.904_47),
    ("Ba", 137.327),
];
