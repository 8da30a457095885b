//! A pure compound with its hydrate water, and what it releases.

use thiserror::Error;

use crate::chemistry::ion::IonCounts;
use crate::chemistry::{Composition, Conserved, Formula, Ion, ion};
use crate::quantities::Fraction;
use crate::stock::{Solubility, bottle_pressure};

/// A salt as a pure compound.
#[derive(Debug, Clone, PartialEq)]
pub struct Salt {
    /// Full name, hydrate included.
    pub name: String,
    /// Name of the compound when the hydrate is left out; the same for all its hydrates.
    pub compound: String,
    /// Names of the trade that mean this salt with this hydrate water and no other.
    pub also: Vec<String>,
    /// Formula with hydrate water.
    pub formula: Formula,
    /// Ions of one formula unit.
    pub ions: IonCounts,
    /// Moles of CO2 that one mole takes up to dissolve as bicarbonate; 0 for ordinary salts.
    pub carbonation_mol_co2: f64,
    /// Number in the Codex International Numbering System for food additives.
    pub ins: Option<String>,
    /// How much of it water takes up, as far as it is known.
    pub solubility: Solubility,
    /// What to mind while it dissolves, where it gets warm.
    pub dissolving: Option<String>,
    /// What else to mind when handling it.
    pub cautions: Vec<String>,
    /// What it looks like, where another salt looks or is called alike.
    pub looks: Option<String>,
    /// Where the facts about it come from.
    pub source: String,
}

/// Why a formula and the ions stated for it cannot both be right.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SaltError {
    /// More than one reading, or none.
    #[error("the ions of {formula} cannot be read off its formula")]
    Ambiguous {
        /// The formula.
        formula: String,
    },
    /// An element that no ion known here holds.
    #[error("{formula} holds {element}, and no ion followed here does")]
    Foreign {
        /// The formula.
        formula: String,
        /// The element.
        element: &'static str,
    },
    /// A stated symbol is no ion known here.
    #[error("`{symbol}` is not an ion known here")]
    UnknownIon {
        /// The symbol as written.
        symbol: String,
    },
    /// The stated charges do not cancel.
    #[error("the ions stated for {formula} carry a charge of {charge:+}")]
    Charge {
        /// The formula.
        formula: String,
        /// Sum of charges.
        charge: i64,
    },
    /// The stated ions hold other atoms than the formula.
    #[error(
        "the ions stated for {formula} hold {stated} {element}, the formula holds {formula_count}"
    )]
    Atoms {
        /// The formula.
        formula: String,
        /// The element in question.
        element: &'static str,
        /// Atoms in the stated ions.
        stated: u32,
        /// Atoms in the formula.
        formula_count: u32,
    },
}

impl Salt {
    /// The ions of a formula: read off it, or as stated and then checked for charge and atoms.
    ///
    /// # Errors
    /// When nothing is stated and the formula allows no single reading, or what is stated
    /// contradicts the formula.
    pub fn ions_of(formula: &Formula, stated: &[(String, u32)]) -> Result<IonCounts, SaltError> {
        let known = |element: &str| {
            Ion::ALL.iter().flat_map(|ion| ion.elements()).any(|(symbol, _)| *symbol == element)
        };
        if let Some((element, _)) = formula.anhydrous_elements().find(|(e, _)| !known(e)) {
            return Err(SaltError::Foreign { formula: formula.to_string(), element });
        }
        if stated.is_empty() {
            return ion::derive(formula)
                .ok_or_else(|| SaltError::Ambiguous { formula: formula.to_string() });
        }
        let mut ions = IonCounts::new();
        for (symbol, n) in stated {
            let ion = Ion::from_symbol(symbol)
                .ok_or_else(|| SaltError::UnknownIon { symbol: symbol.clone() })?;
            ions.push((ion, *n));
        }
        let charge: i64 = ions.iter().map(|(i, n)| i64::from(i.charge()) * i64::from(*n)).sum();
        if charge != 0 {
            return Err(SaltError::Charge { formula: formula.to_string(), charge });
        }
        check_atoms(formula, &ions)?;
        Ok(ions)
    }

    /// What to mind while it is dissolved: heat, and the carbon dioxide that it needs.
    #[must_use]
    pub fn dissolving_cautions(&self) -> Vec<String> {
        let gas =
            (self.carbonation_mol_co2 > 0.0).then(|| bottle_pressure::UNDER_PRESSURE.to_owned());
        self.dissolving.iter().cloned().chain(gas).collect()
    }

    /// Everything to mind where it is weighed and dissolved.
    #[must_use]
    pub fn all_cautions(&self) -> Vec<String> {
        let mut all = self.dissolving_cautions();
        // Heat comes first and gas last, as the steps of the work do.
        let behind_heat = usize::from(self.dissolving.is_some());
        all.splice(behind_heat..behind_heat, self.cautions.iter().cloned());
        all
    }

    /// Equivalents of cations (and of anions) in one mole.
    #[must_use]
    pub fn equivalents_per_mole(&self) -> f64 {
        self.ions
            .iter()
            .filter(|(ion, _)| ion.charge() > 0)
            .map(|(ion, n)| f64::from(ion.charge()) * f64::from(*n))
            .sum()
    }

    /// Grams in a milliequivalent.
    #[must_use]
    pub fn g_per_meq(&self) -> f64 {
        self.formula.molar_mass().value() / self.equivalents_per_mole() / 1000.0
    }

    /// What one milliequivalent adds to a litre, mmol/L. Both ions follow from the whole numbers
    /// of the formula, so the charges cancel exactly.
    #[must_use]
    pub fn composition_per_meq(&self) -> Composition {
        let equivalents = self.equivalents_per_mole();
        let mut composition = Composition::PURE_WATER;
        for (ion, n) in &self.ions {
            for (conserved, share) in ion.conserves() {
                composition.add_mmol_per_l(*conserved, share * f64::from(*n) / equivalents);
            }
        }
        composition.add_mmol_per_l(Conserved::Dic, self.carbonation_mol_co2 / equivalents);
        composition
    }

    /// Mass fraction of the salt that stays when its hydrate water is gone.
    #[must_use]
    pub fn anhydrous_fraction(&self) -> Fraction {
        Fraction::new(self.formula.anhydrous_molar_mass() / self.formula.molar_mass())
    }

    /// Milligrams of each ion released by one gram.
    pub fn mg_per_g(&self) -> impl Iterator<Item = (Ion, f64)> {
        let molar = self.formula.molar_mass().value();
        self.ions
            .iter()
            .map(move |(ion, n)| (*ion, 1000.0 * ion.g_per_mol() * f64::from(*n) / molar))
    }
}

fn check_atoms(formula: &Formula, ions: &IonCounts) -> Result<(), SaltError> {
    let mut elements: Vec<&'static str> = formula.anhydrous_elements().map(|(s, _)| s).collect();
    elements.extend(ions.iter().flat_map(|(ion, _)| ion.elements()).map(|(s, _)| *s));
    for element in elements {
        let stated = ions
            .iter()
            .flat_map(|(ion, n)| {
                ion.elements().iter().map(move |(s, k)| (*s, k.saturating_mul(*n)))
            })
            .filter(|(s, _)| *s == element)
            .fold(0_u32, |sum, (_, n)| sum.saturating_add(n));
        let formula_count = formula.count(element);
        if stated != formula_count {
            return Err(SaltError::Atoms {
                formula: formula.to_string(),
                element,
                stated,
                formula_count,
            });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ions_of(formula: &str, stated: &[(&str, u32)]) -> Option<Result<IonCounts, SaltError>> {
        let stated: Vec<_> = stated.iter().map(|(s, n)| ((*s).to_owned(), *n)).collect();
        Formula::parse(formula).ok().map(|f| Salt::ions_of(&f, &stated))
    }

    #[test]
    fn stated_ions_are_checked_for_charge_and_atoms() {
        assert!(matches!(ions_of("MgCl2", &[("Mg", 1), ("Cl", 2)]), Some(Ok(_))));
        assert!(matches!(
            ions_of("MgCl2", &[("Mg", 1), ("Cl", 1)]),
            Some(Err(SaltError::Charge { charge: 1, .. }))
        ));
        assert!(matches!(
            ions_of("MgCl2", &[("Mg", 1), ("SO4", 1)]),
            Some(Err(SaltError::Atoms { .. }))
        ));
        assert!(matches!(
            ions_of("MgCl2", &[("Mg", 1), ("Unobtainium", 1)]),
            Some(Err(SaltError::UnknownIon { .. }))
        ));
    }
}
