//! Conventional factors of water analysis: how hardness, alkalinity and solids are written.

/// Molar mass behind "as CaCO3", g/mol: the conventional figure of hardness and alkalinity
/// reports (ISO 6059, Standard Methods 2340 and 2320; from memory). It is a convention of the
/// unit, not a molar mass of the atomic-weight table in force.
pub const CACO3_G_PER_MOL: f64 = 100.0869;

/// Milligrams of CaCO3 per milliequivalent: half of the molar mass, since calcium carbonate
/// carries two equivalents per mole.
pub const CACO3_MG_PER_MEQ: f64 = CACO3_G_PER_MOL / 2.0;

/// Molar masses of bicarbonate, and of the nitrogen of nitrate, g/mol, from the atomic weights of 2021
/// (1.008 + 12.011 + 3 · 15.999; 14.007).
pub const BICARBONATE_G_PER_MOL: f64 = 61.016;
/// See [`BICARBONATE_G_PER_MOL`].
pub const NITROGEN_G_PER_MOL: f64 = 14.007;

/// One German degree (°dH) is 10 mg/L of CaO (DIN 38409-6, from memory).
pub const GERMAN_DEGREE_CAO_MG_PER_L: f64 = 10.0;

/// Molar mass of CaO, g/mol, from the atomic weights of 2021 (40.078 + 15.999).
pub const CAO_G_PER_MOL: f64 = 56.077;

/// One French degree (°fH) is 10 mg/L of CaCO3 (NF T 90-003, from memory).
pub const FRENCH_DEGREE_CACO3_MG_PER_L: f64 = 10.0;

/// One grain, in mg: the international avoirdupois grain is 64.79891 mg exactly.
pub const GRAIN_MG: f64 = 64.798_91;

/// One imperial gallon, in L: 4.54609 L exactly. One English degree (°e, Clark) is a grain of
/// CaCO3 per imperial gallon.
pub const IMPERIAL_GALLON_L: f64 = 4.546_09;

/// One US gallon, in L: 3.785411784 L exactly (231 cubic inches).
pub const US_GALLON_L: f64 = 3.785_411_784;

/// Fluid ounces in a US gallon, and in an imperial gallon, by definition (NIST Handbook 44, appendix C;
/// Weights and Measures Act 1985, schedule 1; from memory).
pub const US_FLUID_OUNCES_PER_GALLON: f64 = 128.0;
/// See [`US_FLUID_OUNCES_PER_GALLON`].
pub const IMPERIAL_FLUID_OUNCES_PER_GALLON: f64 = 160.0;

/// Share of the bicarbonate mass that stays when water is evaporated to dryness: two HCO3⁻ leave
/// one CO3²⁻. Standard Methods 1030 E writes it as 0.6 × alkalinity as CaCO3 (from memory);
/// the factor here is M(CO3) / 2 M(HCO3) = 60.008 / 122.032, the same to 0.1 %.
pub const BICARBONATE_RESIDUE_SHARE: f64 = 60.008 / 122.032;

/// Charge-balance limits of Standard Methods 1030 E (from memory): anion sum from, up to
/// (meq/L), and the acceptable difference, absolute in meq/L or relative in %.
pub const CHARGE_BALANCE_LIMITS: &[ChargeBalanceLimit] = &[
    ChargeBalanceLimit {
        up_to_anions_meq_per_l: 3.0,
        difference_meq_per_l: Some(0.2),
        difference_percent: None,
    },
    ChargeBalanceLimit {
        up_to_anions_meq_per_l: 10.0,
        difference_meq_per_l: None,
        difference_percent: Some(2.0),
    },
    ChargeBalanceLimit {
        up_to_anions_meq_per_l: f64::INFINITY,
        difference_meq_per_l: None,
        difference_percent: Some(5.0),
    },
];

/// Conductivity of the ions as a part of the measured one within which the two agree: 0.9 to 1.1
/// (Standard Methods 1030 E, from memory).
pub const CONDUCTIVITY_WITHIN: f64 = 0.1;

/// Measured dissolved solids as a multiple of the sum of the ions, at most (Standard Methods 1030 E,
/// from memory: from 1 to 1.2).
pub const SOLIDS_OVER_SUM: f64 = 1.2;

/// One row of the charge-balance criteria.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChargeBalanceLimit {
    /// The row holds up to this sum of anions, meq/L. The published table ends at 800 meq/L,
    /// far above any brewing water; the last row is used beyond it as well.
    pub up_to_anions_meq_per_l: f64,
    /// Acceptable absolute difference, meq/L.
    pub difference_meq_per_l: Option<f64>,
    /// Acceptable relative difference, % of the sum of cations and anions.
    pub difference_percent: Option<f64>,
}
