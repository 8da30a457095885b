//! The dissolved species, how they form and what each counts in the balances.
//!
//! Every species is written as formed from H⁺, water, CO2(aq), SO4²⁻, citrate³⁻, lactate⁻ and one
//! of the ions that are each in a group of their own (Ca²⁺, Mg²⁺, Na⁺, K⁺, Cl⁻, H4SiO4, NO3⁻).
//! With CO2 as the carbon of reference a species' count of H⁺ is what it takes off the alkalinity,
//! so that the proton balance *is* the alkalinity.

use crate::reference::organic_acids as organic;
use crate::reference::phreeqc_dat as db;
use crate::reference::phreeqc_dat::{Gamma, LogK, gamma};

/// The balances that are solved for; what else there is follows from them.
pub(crate) mod var {
    /// Protons, against H2O, CO2, SO4²⁻, Cit³⁻ and Lac⁻: minus the alkalinity.
    pub(crate) const H: usize = 0;
    /// Inorganic carbon.
    pub(crate) const C: usize = 1;
    /// Sulfate.
    pub(crate) const S: usize = 2;
    /// Citrate.
    pub(crate) const CIT: usize = 3;
    /// Lactate.
    pub(crate) const LAC: usize = 4;
    /// How many there are; without organic acids the first three.
    pub(crate) const ALL: usize = 5;
    /// How many there are without organic acids.
    pub(crate) const INORGANIC: usize = 3;
}

/// The single ion that a species contains besides what the balances count, if any.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Group {
    /// None of them.
    Ligand,
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
    /// Silica.
    Si,
    /// Nitrate.
    N,
}

/// A dissolved species.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Species {
    /// H⁺
    H,
    /// OH⁻
    OH,
    /// CO2
    CO2,
    /// (CO2)2
    CO2Dimer,
    /// HCO3⁻
    HCO3,
    /// CO3²⁻
    CO3,
    /// SO4²⁻
    SO4,
    /// HSO4⁻
    HSO4,
    /// Ca²⁺
    Ca,
    /// CaOH⁺
    CaOH,
    /// CaHCO3⁺
    CaHCO3,
    /// CaCO3
    CaCO3,
    /// CaSO4
    CaSO4,
    /// CaHSO4⁺
    CaHSO4,
    /// Mg²⁺
    Mg,
    /// MgOH⁺
    MgOH,
    /// MgHCO3⁺
    MgHCO3,
    /// MgCO3
    MgCO3,
    /// MgSO4
    MgSO4,
    /// Mg(SO4)2²⁻
    MgSO42,
    /// Na⁺
    Na,
    /// NaHCO3
    NaHCO3,
    /// NaSO4⁻
    NaSO4,
    /// K⁺
    K,
    /// KHCO3
    KHCO3,
    /// KSO4⁻
    KSO4,
    /// Cl⁻
    Cl,
    /// HCl
    HCl,
    /// H4SiO4
    H4SiO4,
    /// H3SiO4⁻
    H3SiO4,
    /// H2SiO4²⁻
    H2SiO4,
    /// NO3⁻
    NO3,
    /// Cit³⁻
    Cit,
    /// HCit²⁻
    HCit,
    /// H2Cit⁻
    H2Cit,
    /// H3Cit
    H3Cit,
    /// Lac⁻
    Lac,
    /// HLac
    HLac,
    /// CaCit⁻
    CaCit,
    /// CaHCit
    CaHCit,
    /// CaH2Cit⁺
    CaH2Cit,
    /// CaLac⁺
    CaLac,
    /// MgCit⁻
    MgCit,
    /// MgHCit
    MgHCit,
    /// MgH2Cit⁺
    MgH2Cit,
    /// MgLac⁺
    MgLac,
    /// NaCit²⁻
    NaCit,
    /// KCit²⁻
    KCit,
}

/// Number of species, and of those without citrate and lactate, which stand first.
pub(crate) const COUNT: usize = 48;
pub(crate) const INORGANIC: usize = 32;

/// What a species is made of and how it behaves.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row {
    pub(crate) name: &'static str,
    pub(crate) charge: i8,
    pub(crate) group: Group,
    /// Counts in the balances, in the order of [`var`].
    pub(crate) nu: [i8; var::ALL],
    /// Molecules of water taken up on formation.
    pub(crate) water: i8,
    /// Constants whose logarithms, with these signs, add up to that of the formation.
    pub(crate) formation: &'static [(f64, LogK)],
    pub(crate) gamma: Gamma,
}

impl Species {
    /// Every species, group by group: first the inorganic, then the organic.
    pub const ALL: [Species; COUNT] = [
        Species::H,
        Species::OH,
        Species::CO2,
        Species::CO2Dimer,
        Species::HCO3,
        Species::CO3,
        Species::SO4,
        Species::HSO4,
        Species::Ca,
        Species::CaOH,
        Species::CaHCO3,
        Species::CaCO3,
        Species::CaSO4,
        Species::CaHSO4,
        Species::Mg,
        Species::MgOH,
        Species::MgHCO3,
        Species::MgCO3,
        Species::MgSO4,
        Species::MgSO42,
        Species::Na,
        Species::NaHCO3,
        Species::NaSO4,
        Species::K,
        Species::KHCO3,
        Species::KSO4,
        Species::Cl,
        Species::HCl,
        Species::H4SiO4,
        Species::H3SiO4,
        Species::H2SiO4,
        Species::NO3,
        Species::Cit,
        Species::HCit,
        Species::H2Cit,
        Species::H3Cit,
        Species::Lac,
        Species::HLac,
        Species::CaCit,
        Species::CaHCit,
        Species::CaH2Cit,
        Species::CaLac,
        Species::MgCit,
        Species::MgHCit,
        Species::MgH2Cit,
        Species::MgLac,
        Species::NaCit,
        Species::KCit,
    ];

    /// Formula with its charge, as PHREEQC writes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.row().name
    }

    /// Charge number.
    #[must_use]
    pub fn charge(self) -> i32 {
        i32::from(self.row().charge)
    }

    pub(crate) const fn index(self) -> usize {
        self as usize
    }

    #[expect(clippy::indexing_slicing, reason = "the table has one row per variant")]
    pub(crate) fn row(self) -> &'static Row {
        &ROWS[self.index()]
    }
}

const fn row(
    name: &'static str,
    charge: i8,
    group: Group,
    nu: [i8; var::ALL],
    water: i8,
    formation: &'static [(f64, LogK)],
    gamma: Gamma,
) -> Row {
    Row { name, charge, group, nu, water, formation, gamma }
}

/// One row per variant of [`Species`], in its order.
#[rustfmt::skip]
pub(crate) const ROWS: [Row; COUNT] = [
    //  name, charge, group, [H, C, S, Cit, Lac], water, formation, activity coefficient
    row("H+", 1, Group::Ligand, [1, 0, 0, 0, 0], 0, &[], gamma::H),
    row("OH-", -1, Group::Ligand, [-1, 0, 0, 0, 0], 1, &[(1.0, db::WATER)], gamma::OH),
    row("CO2", 0, Group::Ligand, [0, 1, 0, 0, 0], 0, &[], gamma::CO2),
    row("(CO2)2", 0, Group::Ligand, [0, 2, 0, 0, 0], 0, &[(1.0, db::CO2_DIMER)], gamma::NEUTRAL),
    row("HCO3-", -1, Group::Ligand, [-1, 1, 0, 0, 0], 1, &[(1.0, db::HCO3), (-1.0, db::CO2)], gamma::CARBONATES),
    row("CO3-2", -2, Group::Ligand, [-2, 1, 0, 0, 0], 1, &[(-1.0, db::CO2)], gamma::CARBONATES),
    row("SO4-2", -2, Group::Ligand, [0, 0, 1, 0, 0], 0, &[], gamma::SO4),
    row("HSO4-", -1, Group::Ligand, [1, 0, 1, 0, 0], 0, &[(1.0, db::HSO4)], Gamma::Davies),
    row("Ca+2", 2, Group::Ca, [0, 0, 0, 0, 0], 0, &[], gamma::CA),
    row("CaOH+", 1, Group::Ca, [-1, 0, 0, 0, 0], 1, &[(1.0, db::CAOH)], Gamma::Davies),
    row("CaHCO3+", 1, Group::Ca, [-1, 1, 0, 0, 0], 1, &[(1.0, db::CAHCO3), (-1.0, db::CO2)], gamma::CAHCO3),
    row("CaCO3", 0, Group::Ca, [-2, 1, 0, 0, 0], 1, &[(1.0, db::CACO3), (-1.0, db::CO2)], gamma::NEUTRAL),
    row("CaSO4", 0, Group::Ca, [0, 0, 1, 0, 0], 0, &[(1.0, db::CASO4)], gamma::NEUTRAL),
    row("CaHSO4+", 1, Group::Ca, [1, 0, 1, 0, 0], 0, &[(1.0, db::CAHSO4), (1.0, db::HSO4)], Gamma::Davies),
    row("Mg+2", 2, Group::Mg, [0, 0, 0, 0, 0], 0, &[], gamma::MG),
    row("MgOH+", 1, Group::Mg, [-1, 0, 0, 0, 0], 1, &[(1.0, db::MGOH)], gamma::MGOH),
    row("MgHCO3+", 1, Group::Mg, [-1, 1, 0, 0, 0], 1, &[(1.0, db::MGHCO3), (-1.0, db::CO2)], gamma::MGHCO3),
    row("MgCO3", 0, Group::Mg, [-2, 1, 0, 0, 0], 1, &[(1.0, db::MGCO3), (-1.0, db::CO2)], gamma::NEUTRAL),
    row("MgSO4", 0, Group::Mg, [0, 0, 1, 0, 0], 0, &[(1.0, db::MGSO4)], gamma::MGSO4_NAHCO3),
    row("Mg(SO4)2-2", -2, Group::Mg, [0, 0, 2, 0, 0], 0, &[(1.0, db::MG_SO4_2), (1.0, db::MGSO4)], gamma::MG_SO4_2),
    row("Na+", 1, Group::Na, [0, 0, 0, 0, 0], 0, &[], gamma::NA),
    row("NaHCO3", 0, Group::Na, [-1, 1, 0, 0, 0], 1, &[(1.0, db::NAHCO3), (1.0, db::HCO3), (-1.0, db::CO2)], gamma::MGSO4_NAHCO3),
    row("NaSO4-", -1, Group::Na, [0, 0, 1, 0, 0], 0, &[(1.0, db::NASO4)], gamma::NASO4),
    row("K+", 1, Group::K, [0, 0, 0, 0, 0], 0, &[], gamma::K),
    row("KHCO3", 0, Group::K, [-1, 1, 0, 0, 0], 1, &[(1.0, db::KHCO3), (1.0, db::HCO3), (-1.0, db::CO2)], gamma::KHCO3),
    row("KSO4-", -1, Group::K, [0, 0, 1, 0, 0], 0, &[(1.0, db::KSO4)], gamma::KSO4),
    row("Cl-", -1, Group::Cl, [0, 0, 0, 0, 0], 0, &[], gamma::CL),
    row("HCl", 0, Group::Cl, [1, 0, 0, 0, 0], 0, &[(1.0, db::HCL)], gamma::HCL),
    row("H4SiO4", 0, Group::Si, [0, 0, 0, 0, 0], 0, &[], gamma::NEUTRAL),
    row("H3SiO4-", -1, Group::Si, [-1, 0, 0, 0, 0], 0, &[(1.0, db::H3SIO4)], gamma::H3SIO4),
    row("H2SiO4-2", -2, Group::Si, [-2, 0, 0, 0, 0], 0, &[(1.0, db::H2SIO4)], gamma::H2SIO4),
    row("NO3-", -1, Group::N, [0, 0, 0, 0, 0], 0, &[], gamma::NO3),
    row("Cit-3", -3, Group::Ligand, [0, 0, 0, 1, 0], 0, &[], Gamma::Davies),
    row("HCit-2", -2, Group::Ligand, [1, 0, 0, 1, 0], 0, &[(1.0, organic::HCIT)], Gamma::Davies),
    row("H2Cit-", -1, Group::Ligand, [2, 0, 0, 1, 0], 0, &[(1.0, organic::H2CIT)], Gamma::Davies),
    row("H3Cit", 0, Group::Ligand, [3, 0, 0, 1, 0], 0, &[(1.0, organic::H3CIT)], gamma::NEUTRAL),
    row("Lac-", -1, Group::Ligand, [0, 0, 0, 0, 1], 0, &[], Gamma::Davies),
    row("HLac", 0, Group::Ligand, [1, 0, 0, 0, 1], 0, &[(1.0, organic::HLAC)], gamma::NEUTRAL),
    row("CaCit-", -1, Group::Ca, [0, 0, 0, 1, 0], 0, &[(1.0, organic::CACIT)], Gamma::Davies),
    row("CaHCit", 0, Group::Ca, [1, 0, 0, 1, 0], 0, &[(1.0, organic::CAHCIT)], gamma::NEUTRAL),
    row("CaH2Cit+", 1, Group::Ca, [2, 0, 0, 1, 0], 0, &[(1.0, organic::CAH2CIT)], Gamma::Davies),
    row("CaLac+", 1, Group::Ca, [0, 0, 0, 0, 1], 0, &[(1.0, organic::CALAC)], Gamma::Davies),
    row("MgCit-", -1, Group::Mg, [0, 0, 0, 1, 0], 0, &[(1.0, organic::MGCIT)], Gamma::Davies),
    row("MgHCit", 0, Group::Mg, [1, 0, 0, 1, 0], 0, &[(1.0, organic::MGHCIT)], gamma::NEUTRAL),
    row("MgH2Cit+", 1, Group::Mg, [2, 0, 0, 1, 0], 0, &[(1.0, organic::MGH2CIT)], Gamma::Davies),
    row("MgLac+", 1, Group::Mg, [0, 0, 0, 0, 1], 0, &[(1.0, organic::MGLAC)], Gamma::Davies),
    row("NaCit-2", -2, Group::Na, [0, 0, 0, 1, 0], 0, &[(1.0, organic::NACIT)], Gamma::Davies),
    row("KCit-2", -2, Group::K, [0, 0, 0, 1, 0], 0, &[(1.0, organic::KCIT)], Gamma::Davies),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn charges_follow_from_the_formation() {
        for species in Species::ALL {
            let row = species.row();
            let own = match row.group {
                Group::Ca | Group::Mg => 2,
                Group::Na | Group::K => 1,
                Group::Cl | Group::N => -1,
                Group::Ligand | Group::Si => 0,
            };
            let [h, _, s, cit, lac] = row.nu;
            assert_eq!(row.charge, own + h - 2 * s - 3 * cit - lac, "{}", row.name);
        }
    }

    #[test]
    fn the_inorganic_species_stand_first_and_groups_are_contiguous() {
        let organic = |row: &Row| row.nu[var::CIT] + row.nu[var::LAC] > 0;
        let (first, last) = ROWS.split_at(INORGANIC);
        assert!(!first.iter().any(organic) && last.iter().all(organic));
        for part in [first, last] {
            let mut seen: Vec<Group> = Vec::new();
            for row in part {
                if seen.last() != Some(&row.group) {
                    assert!(!seen.contains(&row.group), "{}", row.name);
                    seen.push(row.group);
                }
            }
        }
    }
}
