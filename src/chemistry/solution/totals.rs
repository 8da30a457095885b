//! What a solution is made of, in the unit and the order that its balances use.
#![expect(clippy::indexing_slicing, reason = "one place per balance or ion")]

use crate::chemistry::species::var;
use crate::chemistry::{Composition, Conserved};

/// Ions with a group of their own, in the order of the species table.
pub(crate) const OWN_GROUPS: usize = 7;

/// Where those that a mineral can hold stand among them: calcium, magnesium and silica.
pub(crate) const CA: usize = 0;
pub(crate) const MG: usize = 1;
pub(crate) const SI: usize = 5;

/// Totals in mol per kg of water.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Totals {
    /// In the order of [`var`]; protons are minus the alkalinity.
    pub(crate) balance: [f64; var::ALL],
    pub(crate) own: [f64; OWN_GROUPS],
}

/// Millimoles in a mole.
pub(crate) const MILLI: f64 = 1e-3;

impl Totals {
    /// A litre of solution counts as a kilogram of water.
    pub(crate) fn of(water: &Composition) -> Self {
        let get = |c: Conserved| water.mmol_per_l(c) * MILLI;
        Self {
            balance: [
                -get(Conserved::Alkalinity),
                get(Conserved::Dic),
                get(Conserved::SO4),
                get(Conserved::Citrate),
                get(Conserved::Lactate),
            ],
            own: [
                get(Conserved::Ca),
                get(Conserved::Mg),
                get(Conserved::Na),
                get(Conserved::K),
                get(Conserved::Cl),
                get(Conserved::SiO2),
                get(Conserved::NO3),
            ],
        }
    }

    /// Total of an ion with a group of its own.
    pub(crate) fn own_of(&self, own: usize) -> f64 {
        self.own[own]
    }

    /// Total of a balance.
    pub(crate) fn balance_of(&self, balance: usize) -> f64 {
        self.balance[balance]
    }

    /// Whether no citrate and no lactate is there.
    pub(crate) fn inorganic(&self) -> bool {
        self.balance[var::CIT] <= 0.0 && self.balance[var::LAC] <= 0.0
    }
}
