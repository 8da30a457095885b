//! The ions that salts release, and how each counts among the conserved totals.

use crate::chemistry::Conserved;
use crate::chemistry::{Formula, formula};

/// An ion (or dissolved carbon dioxide) that a salt brings into solution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ion {
    /// Ca²⁺
    Calcium,
    /// Mg²⁺
    Magnesium,
    /// Na⁺
    Sodium,
    /// K⁺
    Potassium,
    /// Cl⁻
    Chloride,
    /// SO4²⁻
    Sulfate,
    /// NO3⁻
    Nitrate,
    /// HCO3⁻
    Bicarbonate,
    /// CO3²⁻
    Carbonate,
    /// OH⁻
    Hydroxide,
    /// C3H5O3⁻
    Lactate,
    /// C6H5O7³⁻
    Citrate,
}

impl Ion {
    /// Every ion known here.
    pub const ALL: [Ion; 12] = [
        Ion::Calcium,
        Ion::Magnesium,
        Ion::Sodium,
        Ion::Potassium,
        Ion::Chloride,
        Ion::Sulfate,
        Ion::Nitrate,
        Ion::Bicarbonate,
        Ion::Carbonate,
        Ion::Hydroxide,
        Ion::Lactate,
        Ion::Citrate,
    ];

    /// Symbol without its charge, as files write it.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Ion::Calcium => "Ca",
            Ion::Magnesium => "Mg",
            Ion::Sodium => "Na",
            Ion::Potassium => "K",
            Ion::Chloride => "Cl",
            Ion::Sulfate => "SO4",
            Ion::Nitrate => "NO3",
            Ion::Bicarbonate => "HCO3",
            Ion::Carbonate => "CO3",
            Ion::Hydroxide => "OH",
            Ion::Lactate => "lactate",
            Ion::Citrate => "citrate",
        }
    }

    /// The ion of that symbol, whatever the case.
    #[must_use]
    pub fn from_symbol(symbol: &str) -> Option<Self> {
        Ion::ALL.into_iter().find(|ion| ion.symbol().eq_ignore_ascii_case(symbol.trim()))
    }

    /// Charge number.
    #[must_use]
    pub fn charge(self) -> i32 {
        match self {
            Ion::Calcium | Ion::Magnesium => 2,
            Ion::Sodium | Ion::Potassium => 1,
            Ion::Chloride | Ion::Nitrate | Ion::Bicarbonate | Ion::Hydroxide | Ion::Lactate => -1,
            Ion::Sulfate | Ion::Carbonate => -2,
            Ion::Citrate => -3,
        }
    }

    /// Elements of one ion.
    #[must_use]
    pub fn elements(self) -> &'static [(&'static str, u32)] {
        match self {
            Ion::Calcium => &[("Ca", 1)],
            Ion::Magnesium => &[("Mg", 1)],
            Ion::Sodium => &[("Na", 1)],
            Ion::Potassium => &[("K", 1)],
            Ion::Chloride => &[("Cl", 1)],
            Ion::Sulfate => &[("S", 1), ("O", 4)],
            Ion::Nitrate => &[("N", 1), ("O", 3)],
            Ion::Bicarbonate => &[("H", 1), ("C", 1), ("O", 3)],
            Ion::Carbonate => &[("C", 1), ("O", 3)],
            Ion::Hydroxide => &[("O", 1), ("H", 1)],
            Ion::Lactate => &[("C", 3), ("H", 5), ("O", 3)],
            Ion::Citrate => &[("C", 6), ("H", 5), ("O", 7)],
        }
    }

    /// Molar mass, g/mol.
    #[must_use]
    pub fn g_per_mol(self) -> f64 {
        formula::mass_of(self.elements())
    }

    /// What one mole of the ion adds to the conserved totals, mol (alkalinity: eq).
    #[must_use]
    pub fn conserves(self) -> &'static [(Conserved, f64)] {
        match self {
            Ion::Calcium => &[(Conserved::Ca, 1.0)],
            Ion::Magnesium => &[(Conserved::Mg, 1.0)],
            Ion::Sodium => &[(Conserved::Na, 1.0)],
            Ion::Potassium => &[(Conserved::K, 1.0)],
            Ion::Chloride => &[(Conserved::Cl, 1.0)],
            Ion::Sulfate => &[(Conserved::SO4, 1.0)],
            Ion::Nitrate => &[(Conserved::NO3, 1.0)],
            Ion::Bicarbonate => &[(Conserved::Dic, 1.0), (Conserved::Alkalinity, 1.0)],
            Ion::Carbonate => &[(Conserved::Dic, 1.0), (Conserved::Alkalinity, 2.0)],
            Ion::Hydroxide => &[(Conserved::Alkalinity, 1.0)],
            Ion::Lactate => &[(Conserved::Lactate, 1.0)],
            Ion::Citrate => &[(Conserved::Citrate, 1.0)],
        }
    }
}

/// Ions with how many of each one formula unit holds.
pub type IonCounts = Vec<(Ion, u32)>;

/// The ions of a salt, read off its formula, when only one reading is possible.
///
/// The metals, chloride, sulfate and nitrate follow from their elements; what carbon, hydrogen
/// and oxygen are left must be bicarbonate, carbonate, hydroxide, lactate and citrate in exactly
/// one neutral combination. `None` means that the formula must be accompanied by its ions.
///
/// ```
/// use waterflight::chemistry::{Formula, Ion, ion};
/// let salt = Formula::parse("Ca(C3H5O3)2·5H2O").unwrap();
/// assert_eq!(ion::derive(&salt), Some(vec![(Ion::Calcium, 1), (Ion::Lactate, 2)]));
/// ```
#[must_use]
pub fn derive(formula: &Formula) -> Option<IonCounts> {
    let known = ["Ca", "Mg", "Na", "K", "Cl", "S", "N", "C", "H", "O"];
    if formula.anhydrous_elements().any(|(symbol, _)| !known.contains(&symbol)) {
        return None;
    }
    let count = |symbol: &str| i64::from(formula.count(symbol));
    let simple = [
        (Ion::Calcium, count("Ca")),
        (Ion::Magnesium, count("Mg")),
        (Ion::Sodium, count("Na")),
        (Ion::Potassium, count("K")),
        (Ion::Chloride, count("Cl")),
        (Ion::Sulfate, count("S")),
        (Ion::Nitrate, count("N")),
    ];
    let charge: i64 = simple.iter().map(|(ion, n)| i64::from(ion.charge()) * n).sum();
    let (carbon, hydrogen) = (count("C"), count("H"));
    let oxygen = count("O") - 4 * count("S") - 3 * count("N");
    let mut readings = (0..=carbon / 6).flat_map(|citrate| {
        (0..=(carbon - 6 * citrate) / 3).filter_map(move |lactate| {
            let c = carbon - 6 * citrate - 3 * lactate;
            let h = hydrogen - 5 * citrate - 5 * lactate;
            let o = oxygen - 7 * citrate - 3 * lactate;
            let hydroxide = o - 3 * c;
            let bicarbonate = h - hydroxide;
            let carbonate = c - bicarbonate;
            let anions = bicarbonate + 2 * carbonate + hydroxide + lactate + 3 * citrate;
            let possible = hydroxide >= 0 && bicarbonate >= 0 && carbonate >= 0;
            (possible && anions == charge).then_some([
                (Ion::Bicarbonate, bicarbonate),
                (Ion::Carbonate, carbonate),
                (Ion::Hydroxide, hydroxide),
                (Ion::Lactate, lactate),
                (Ion::Citrate, citrate),
            ])
        })
    });
    let only = readings.next()?;
    if readings.next().is_some() {
        return None;
    }
    let ions: IonCounts = simple
        .into_iter()
        .chain(only)
        .filter(|(_, n)| *n > 0)
        .filter_map(|(ion, n)| u32::try_from(n).ok().map(|n| (ion, n)))
        .collect();
    (ions.len() > 1).then_some(ions)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ions(text: &str) -> Option<IonCounts> {
        derive(&Formula::parse(text).ok()?)
    }

    #[test]
    fn formulae_with_one_reading_are_read() {
        assert_eq!(ions("NaHCO3"), Some(vec![(Ion::Sodium, 1), (Ion::Bicarbonate, 1)]));
        assert_eq!(ions("Mg(OH)2"), Some(vec![(Ion::Magnesium, 1), (Ion::Hydroxide, 2)]));
        assert_eq!(ions("K3C6H5O7·H2O"), Some(vec![(Ion::Potassium, 3), (Ion::Citrate, 1)]));
        assert_eq!(ions("KNO3"), Some(vec![(Ion::Potassium, 1), (Ion::Nitrate, 1)]));
        assert_eq!(
            ions("CaMg(CO3)2"),
            Some(vec![(Ion::Calcium, 1), (Ion::Magnesium, 1), (Ion::Carbonate, 2)])
        );
    }

    #[test]
    fn charged_foreign_or_salt_free_formulae_are_not() {
        assert_eq!(ions("NaCl2"), None);
        assert_eq!(ions("FeSO4"), None);
        assert_eq!(ions("H2O"), None);
        assert_eq!(ions("C12H22O11"), None);
    }
}
