//! Density of aqueous electrolyte solutions.
//!
//! Laliberté M., "A Model for Calculating the Heat Capacity of Aqueous Solutions, with Updated
//! Density and Viscosity Data", J. Chem. Eng. Data 54 (2009) 1725–1760, density coefficients;
//! the form of the model is that of Laliberté M., Cooper W. E., J. Chem. Eng. Data 49 (2004)
//! 1141–1151, equations 4–11. Transcribed as tabulated by the registry package `chemicals`
//! 1.5.2, all digits kept.
//!
//! Left out: CaSO4, whose row holds at 25 °C and up to 0.1 % only, less than any gypsum stock
//! has; the estimate for salts without coefficients serves it better, at such strengths with an
//! error below 0.03 %.
//!
//! Each row holds for 0 up to `max_mass_fraction` (anhydrous salt) and its own temperatures.
#![expect(clippy::unreadable_literal, reason = "digits stand as the source tabulates them")]

/// One salt's row: `v_app = (w + c2 + c3·t) / ((c0·w + c1)·exp(1e-6·(t + c4)²))` in m³/kg,
/// with `w` the mass fraction of all solutes together and `t` in °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DensityRow {
    /// Formula of the anhydrous salt.
    pub formula: &'static str,
    /// The coefficients `c0` to `c4`.
    pub c: [f64; 5],
    /// Lowest temperature of the correlated data, °C.
    pub min_celsius: f64,
    /// Highest temperature of the correlated data, °C.
    pub max_celsius: f64,
    /// Highest mass fraction of anhydrous salt in the correlated data.
    pub max_mass_fraction: f64,
}

/// The rows of the salts that matter to brewing water.
pub const DENSITY_ROWS: &[DensityRow] = &[
    DensityRow {
        formula: "MgSO4",
        c: [
            98.1201663080777,
            59.265764731786,
            -0.0303404982114453,
            0.000503619228557116,
            1763.7594229147,
        ],
        min_celsius: 0.0,
        max_celsius: 125.0,
        max_mass_fraction: 0.268169549776151,
    },
    DensityRow {
        formula: "MgCl2",
        c: [
            -0.0215001423271867,
            0.0441202083909434,
            1.53227586827304,
            -0.0098078506056196,
            -3478.36496883693,
        ],
        min_celsius: 0.0,
        max_celsius: 98.67,
        max_mass_fraction: 0.323755961314361,
    },
    DensityRow {
        formula: "CaCl2",
        c: [
            -9.72893747074295,
            14.7005352975276,
            4.19033341468332,
            0.0397403624277021,
            2708.12778894614,
        ],
        min_celsius: 15.0,
        max_celsius: 126.7,
        max_mass_fraction: 0.5132,
    },
    DensityRow {
        formula: "NaHCO3",
        c: [
            0.0377378060615898,
            0.00710029652458366,
            0.0735733388535116,
            0.00168369765511221,
            3291.38382252025,
        ],
        min_celsius: 0.0,
        max_celsius: 125.0,
        max_mass_fraction: 0.126441643582641,
    },
    DensityRow {
        formula: "KHCO3",
        c: [
            0.0458479253730966,
            0.0749127808255568,
            0.505766905030703,
            0.00643951863958203,
            3163.65175558093,
        ],
        min_celsius: 5.0,
        max_celsius: 95.0,
        max_mass_fraction: 0.343778550607287,
    },
    DensityRow {
        formula: "Na2CO3",
        c: [
            5.45486543455015e-07,
            1.72154929405038e-07,
            -0.0825850207323492,
            0.00168822949783412,
            4705.39822185746,
        ],
        min_celsius: 0.0,
        max_celsius: 100.14,
        max_mass_fraction: 0.209376238305078,
    },
    DensityRow {
        formula: "K2CO3",
        c: [
            2290.10867876218,
            1038.77363895405,
            0.109769327294915,
            0.000497783340935823,
            -74.0786862142127,
        ],
        min_celsius: 5.0,
        max_celsius: 95.0,
        max_mass_fraction: 0.360581132643253,
    },
    DensityRow {
        formula: "NaCl",
        c: [
            -0.00324112223655149,
            0.0636354335906616,
            1.01371399467365,
            0.0145951015210159,
            3317.34854426537,
        ],
        min_celsius: 0.0,
        max_celsius: 140.0,
        max_mass_fraction: 0.26589930421877,
    },
    DensityRow {
        formula: "KCl",
        c: [
            -0.855928945959145,
            6.04073571306402,
            2.81787416217166,
            0.0253924645877338,
            2681.61723465886,
        ],
        min_celsius: 5.0,
        max_celsius: 125.0,
        max_mass_fraction: 0.264280379722009,
    },
    DensityRow {
        formula: "Na2SO4",
        c: [
            4.45025449497252e-06,
            9.12086519621226e-06,
            0.0840358370073922,
            0.00465767525381795,
            4349.50513887423,
        ],
        min_celsius: 0.0,
        max_celsius: 125.0,
        max_mass_fraction: 0.325190633645995,
    },
    DensityRow {
        formula: "K2SO4",
        c: [
            7.10599369467468e-06,
            4.6555866279207e-05,
            0.349566841181191,
            0.00751053641501126,
            4200.09377806549,
        ],
        min_celsius: 0.0,
        max_celsius: 98.67,
        max_mass_fraction: 0.1515,
    },
    DensityRow {
        formula: "KNO3",
        c: [
            1.49068709973892,
            6.67292354651383,
            1.47150749460911,
            0.0155872679453073,
            2539.22687484937,
        ],
        min_celsius: 5.0,
        max_celsius: 95.0,
        max_mass_fraction: 0.283965696256165,
    },
    DensityRow {
        formula: "NaNO3",
        c: [
            22.3499264791804,
            66.4478689005725,
            0.989888301509443,
            0.00947165097909636,
            1971.5514625204,
        ],
        min_celsius: 0.0,
        max_celsius: 100.0,
        max_mass_fraction: 0.489193052084002,
    },
    DensityRow {
        formula: "Ca(NO3)2",
        c: [
            57.3363374529272,
            538.054269301373,
            1.00008670445074,
            0.00720231361346264,
            1438.41364559148,
        ],
        min_celsius: 25.0,
        max_celsius: 60.0,
        max_mass_fraction: 0.76815,
    },
    DensityRow {
        formula: "Mg(NO3)2",
        c: [
            0.967814929691928,
            5.540434135986,
            1.10374669742622,
            0.0123340782160061,
            2589.61875022366,
        ],
        min_celsius: 5.0,
        max_celsius: 95.0,
        max_mass_fraction: 0.439273244744001,
    },
];
