//! The totals that mixing conserves: their charges, names and masses.

use std::sync::LazyLock;

use crate::chemistry::formula;

/// A conserved total.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Conserved {
    /// Calcium.
    Ca,
    /// Magnesium.
    Mg,
    /// Sodium.
    Na,
    /// Potassium.
    K,
    /// Chloride.
    Cl,
    /// Sulfate.
    SO4,
    /// Nitrate.
    NO3,
    /// Dissolved silica.
    SiO2,
    /// Dissolved inorganic carbon.
    Dic,
    /// Carbonate alkalinity: the excess of strong bases, counted after the charges of lactate
    /// and citrate. An acid titration also finds part of the citrate.
    Alkalinity,
    /// Lactate.
    Lactate,
    /// Citrate.
    Citrate,
}

impl Conserved {
    /// Every conserved total, in the order in which they are stored and printed.
    pub const ALL: [Conserved; 12] = [
        Conserved::Ca,
        Conserved::Mg,
        Conserved::Na,
        Conserved::K,
        Conserved::Cl,
        Conserved::SO4,
        Conserved::NO3,
        Conserved::SiO2,
        Conserved::Dic,
        Conserved::Alkalinity,
        Conserved::Lactate,
        Conserved::Citrate,
    ];

    /// Charge that one unit of this total brings to the balance; alkalinity counts as an anion
    /// and carries the charge of the carbon species, so carbon itself and silica count nothing.
    #[must_use]
    pub fn charge(self) -> i32 {
        match self {
            Conserved::Ca | Conserved::Mg => 2,
            Conserved::Na | Conserved::K => 1,
            Conserved::Cl | Conserved::NO3 | Conserved::Alkalinity | Conserved::Lactate => -1,
            Conserved::SO4 => -2,
            Conserved::Citrate => -3,
            Conserved::SiO2 | Conserved::Dic => 0,
        }
    }

    /// Key in reports; alkalinity is written as bicarbonate, carbon has no key of its own there.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Conserved::Ca => "Ca",
            Conserved::Mg => "Mg",
            Conserved::Na => "Na",
            Conserved::K => "K",
            Conserved::Cl => "Cl",
            Conserved::SO4 => "SO4",
            Conserved::NO3 => "NO3",
            Conserved::SiO2 => "SiO2",
            Conserved::Dic => "DIC",
            Conserved::Alkalinity => "HCO3",
            Conserved::Lactate => "lactate",
            Conserved::Citrate => "citrate",
        }
    }

    /// The name in running text.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Conserved::Ca => "calcium",
            Conserved::Mg => "magnesium",
            Conserved::Na => "sodium",
            Conserved::K => "potassium",
            Conserved::Cl => "chloride",
            Conserved::SO4 => "sulfate",
            Conserved::NO3 => "nitrate",
            Conserved::SiO2 => "silica",
            Conserved::Dic => "inorganic carbon",
            Conserved::Alkalinity => "alkalinity",
            Conserved::Lactate => "lactate",
            Conserved::Citrate => "citrate",
        }
    }

    /// Molar mass, g/mol, of the form in which the total is reported: alkalinity as HCO3⁻,
    /// carbon as CO2.
    #[must_use]
    #[expect(clippy::indexing_slicing, reason = "the array has one place per variant")]
    pub fn g_per_mol(self) -> f64 {
        static ALL: LazyLock<[f64; Conserved::ALL.len()]> =
            LazyLock::new(|| Conserved::ALL.map(Conserved::summed_g_per_mol));
        ALL[self.index()]
    }

    /// The same from its elements.
    fn summed_g_per_mol(self) -> f64 {
        let elements: &[(&str, u32)] = match self {
            Conserved::Ca => &[("Ca", 1)],
            Conserved::Mg => &[("Mg", 1)],
            Conserved::Na => &[("Na", 1)],
            Conserved::K => &[("K", 1)],
            Conserved::Cl => &[("Cl", 1)],
            Conserved::SO4 => &[("S", 1), ("O", 4)],
            Conserved::NO3 => &[("N", 1), ("O", 3)],
            Conserved::SiO2 => &[("Si", 1), ("O", 2)],
            Conserved::Dic => &[("C", 1), ("O", 2)],
            Conserved::Alkalinity => &[("H", 1), ("C", 1), ("O", 3)],
            Conserved::Lactate => &[("C", 3), ("H", 5), ("O", 3)],
            Conserved::Citrate => &[("C", 6), ("H", 5), ("O", 7)],
        };
        formula::mass_of(elements)
    }

    pub(super) const fn index(self) -> usize {
        self as usize
    }
}
