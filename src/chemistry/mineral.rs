//! The minerals that precipitate here: what they are made of, and what they take from a water.

use crate::chemistry::formula;
use crate::chemistry::{Composition, Conserved};

/// A mineral that precipitates in brewing waters, concentrates or boilers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mineral {
    /// CaCO3, the common one.
    Calcite,
    /// CaCO3, the form that magnesium and heat favour.
    Aragonite,
    /// CaSO4·2H2O.
    Gypsum,
    /// CaSO4; the stable form above about 50 °C.
    Anhydrite,
    /// Mg(OH)2.
    Brucite,
    /// MgCO3·3H2O, the magnesium carbonate that grows at the temperatures of rooms and fridges.
    Nesquehonite,
    /// SiO2, the form that comes out of hot, concentrated waters as a glassy crust.
    AmorphousSilica,
}

impl Mineral {
    /// All of them.
    pub const ALL: [Mineral; 7] = [
        Mineral::Calcite,
        Mineral::Aragonite,
        Mineral::Gypsum,
        Mineral::Anhydrite,
        Mineral::Brucite,
        Mineral::Nesquehonite,
        Mineral::AmorphousSilica,
    ];

    /// Key in reports.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Mineral::Calcite => "calcite",
            Mineral::Aragonite => "aragonite",
            Mineral::Gypsum => "gypsum",
            Mineral::Anhydrite => "anhydrite",
            Mineral::Brucite => "brucite",
            Mineral::Nesquehonite => "nesquehonite",
            Mineral::AmorphousSilica => "silica",
        }
    }

    /// Formula.
    #[must_use]
    pub fn formula(self) -> &'static str {
        match self {
            Mineral::Calcite | Mineral::Aragonite => "CaCO3",
            Mineral::Gypsum => "CaSO4·2H2O",
            Mineral::Anhydrite => "CaSO4",
            Mineral::Brucite => "Mg(OH)2",
            Mineral::Nesquehonite => "MgCO3·3H2O",
            Mineral::AmorphousSilica => "SiO2",
        }
    }

    /// Molar mass, g/mol, water of crystallisation included.
    #[must_use]
    pub fn g_per_mol(self) -> f64 {
        let elements: &[(&str, u32)] = match self {
            Mineral::Calcite | Mineral::Aragonite => &[("Ca", 1), ("C", 1), ("O", 3)],
            Mineral::Gypsum => &[("Ca", 1), ("S", 1), ("O", 6), ("H", 4)],
            Mineral::Anhydrite => &[("Ca", 1), ("S", 1), ("O", 4)],
            Mineral::Brucite => &[("Mg", 1), ("O", 2), ("H", 2)],
            Mineral::Nesquehonite => &[("Mg", 1), ("C", 1), ("O", 6), ("H", 6)],
            Mineral::AmorphousSilica => &[("Si", 1), ("O", 2)],
        };
        formula::mass_of(elements)
    }

    /// What a mole of it takes out of the conserved totals, mol (alkalinity: eq).
    #[must_use]
    pub fn takes(self) -> &'static [(Conserved, f64)] {
        match self {
            Mineral::Calcite | Mineral::Aragonite => {
                &[(Conserved::Ca, 1.0), (Conserved::Dic, 1.0), (Conserved::Alkalinity, 2.0)]
            }
            Mineral::Gypsum | Mineral::Anhydrite => &[(Conserved::Ca, 1.0), (Conserved::SO4, 1.0)],
            Mineral::Brucite => &[(Conserved::Mg, 1.0), (Conserved::Alkalinity, 2.0)],
            Mineral::Nesquehonite => {
                &[(Conserved::Mg, 1.0), (Conserved::Dic, 1.0), (Conserved::Alkalinity, 2.0)]
            }
            Mineral::AmorphousSilica => &[(Conserved::SiO2, 1.0)],
        }
    }

    /// Whether a water was measured for all that the mineral is made of.
    #[must_use]
    pub fn is_measured(self, water: &Composition) -> bool {
        self.takes().iter().all(|(conserved, _)| water.is_measured(*conserved))
    }

    /// The water less so many mmol/L of the mineral (more, when negative).
    #[must_use]
    pub fn taken_from(self, water: &Composition, mmol_per_l: f64) -> Composition {
        let mut rest = *water;
        for (conserved, per_mole) in self.takes() {
            rest.add_mmol_per_l(*conserved, -per_mole * mmol_per_l);
        }
        rest
    }
}
