//! Where each group stands in the species table, and the table as numbers to calculate with.
#![expect(clippy::indexing_slicing, reason = "tables read at compile time")]

use crate::chemistry::solution::totals::OWN_GROUPS;
use crate::chemistry::species::{COUNT, Group, INORGANIC, ROWS, var};

/// A group's places in the species table: its inorganic species and its organic ones.
#[derive(Debug, Clone, Copy)]
pub(super) struct Places {
    inorganic: (usize, usize),
    organic: (usize, usize),
}

/// Places of the ligands and of each own group, read off the species table.
pub(super) const LIGANDS: Places = places_of(Group::Ligand);
pub(super) const OWN: [Places; OWN_GROUPS] = [
    places_of(Group::Ca),
    places_of(Group::Mg),
    places_of(Group::Na),
    places_of(Group::K),
    places_of(Group::Cl),
    places_of(Group::Si),
    places_of(Group::N),
];

const fn places_of(group: Group) -> Places {
    Places { inorganic: run_of(group, 0, INORGANIC), organic: run_of(group, INORGANIC, COUNT) }
}

/// Where a group begins and ends within a part of the species table.
const fn run_of(group: Group, from: usize, to: usize) -> (usize, usize) {
    let mut run = (to, to);
    let mut i = from;
    while i < to {
        if ROWS[i].group as u8 == group as u8 {
            if run.0 == to {
                run.0 = i;
            }
            run.1 = i + 1;
        }
        i += 1;
    }
    run
}

impl Places {
    /// The places that matter with so many balances.
    #[inline]
    pub(super) fn runs<const L: usize>(self) -> [std::ops::Range<usize>; 2] {
        let organic = if L == var::INORGANIC { 0..0 } else { self.organic.0..self.organic.1 };
        [self.inorganic.0..self.inorganic.1, organic]
    }
}

/// Counts of the species table as numbers to calculate with, for `L` balances: `L` itself, and `K`
/// weights per species (1, every ν, and every product ν·ν of the lower triangle), so that the sums
/// of m, ν·m and ν·ν·m are one row times m.
pub(super) struct Counts<const L: usize, const K: usize>;

impl<const L: usize, const K: usize> Counts<L, K> {
    pub(super) const NU: [[f64; L]; COUNT] = {
        let mut nu = [[0.0; L]; COUNT];
        let mut i = 0;
        while i < COUNT {
            let mut k = 0;
            while k < L {
                nu[i][k] = ROWS[i].nu[k] as f64;
                k += 1;
            }
            i += 1;
        }
        nu
    };
    pub(super) const WEIGHTS: [[f64; K]; COUNT] = {
        let mut weights = [[1.0; K]; COUNT];
        let mut i = 0;
        while i < COUNT {
            let mut at = 1;
            let mut k = 0;
            while k < L {
                weights[i][1 + k] = Self::NU[i][k];
                let mut l = 0;
                while l <= k {
                    weights[i][1 + L + at - 1] = Self::NU[i][k] * Self::NU[i][l];
                    at += 1;
                    l += 1;
                }
                k += 1;
            }
            i += 1;
        }
        weights
    };
}

/// Weights per species without and with the balances of the organic acids.
pub(crate) const INORGANIC_WEIGHTS: usize = weights_for(var::INORGANIC);
pub(crate) const ALL_WEIGHTS: usize = weights_for(var::ALL);

const fn weights_for(balances: usize) -> usize {
    1 + balances + balances * (balances + 1) / 2
}

/// Half the squared charge: what a molality adds to the ionic strength.
pub(super) const HALF_CHARGE_SQUARED: [f64; COUNT] = {
    let mut z2 = [0.0; COUNT];
    let mut i = 0;
    while i < COUNT {
        z2[i] = 0.5 * (ROWS[i].charge as f64) * (ROWS[i].charge as f64);
        i += 1;
    }
    z2
};
