//! The state of a water, and mixing.
//!
//! The state of a water is the total of each constituent that no mixing, dilution or change of
//! temperature alters: the metals, the strong-acid anions, silica, dissolved inorganic carbon
//! and alkalinity. Mixing is exact and linear on these. pH, species and conductivity are derived
//! from the state and are never mixed. What was not measured of a water is part of its state
//! ([`crate::chemistry::unknown`]) and goes with it into every mixture.

use std::ops::{Add, AddAssign, Mul};

use crate::chemistry::unknown::Unknown;
use crate::chemistry::{Bounds, Conserved, ConservedSet, UnmeasuredTotal};

/// Totals per litre of solution: mmol/L of each constituent, meq/L of alkalinity.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Composition {
    mmol_per_l: [f64; Conserved::ALL.len()],
    unknown: Unknown,
}

impl Composition {
    /// Pure water.
    pub const PURE_WATER: Composition =
        Composition { mmol_per_l: [0.0; Conserved::ALL.len()], unknown: Unknown::NONE };

    /// The total of one constituent, mmol/L (alkalinity: meq/L); of one that was not measured, an
    /// estimate that is good for the chemistry of the others and for nothing else.
    #[must_use]
    #[expect(clippy::indexing_slicing, reason = "the array has one place per variant")]
    pub fn mmol_per_l(&self, of: Conserved) -> f64 {
        self.mmol_per_l[of.index()]
    }

    /// The total of one constituent, mg/L in the form named by [`Conserved::key`].
    #[must_use]
    pub fn mg_per_l(&self, of: Conserved) -> f64 {
        self.mmol_per_l(of) * of.g_per_mol()
    }

    /// Sets one total, mmol/L (alkalinity: meq/L).
    #[expect(clippy::indexing_slicing, reason = "the array has one place per variant")]
    pub fn set_mmol_per_l(&mut self, of: Conserved, value: f64) {
        self.mmol_per_l[of.index()] = value;
    }

    /// Adds to one total, mmol/L (alkalinity: meq/L).
    pub fn add_mmol_per_l(&mut self, of: Conserved, value: f64) {
        self.set_mmol_per_l(of, self.mmol_per_l(of) + value);
    }

    /// Adds so much of another water; what is added is not written down on its own.
    pub(crate) fn add_times(&mut self, other: &Self, share: f64) {
        for (mine, theirs) in self.mmol_per_l.iter_mut().zip(&other.mmol_per_l) {
            *mine += theirs * share;
        }
        self.unknown.add_times(&other.unknown, share);
    }

    /// The water with none of some totals.
    #[must_use]
    pub(crate) fn without(&self, totals: &[Conserved]) -> Self {
        let mut rest = *self;
        for total in totals {
            rest.set_mmol_per_l(*total, 0.0);
        }
        rest
    }

    /// What nobody measured of this water, or of a water that went into it.
    #[must_use]
    pub fn not_measured(&self) -> ConservedSet {
        self.unknown.not_measured
    }

    /// What was assumed of this water, or of a water that went into it, and not measured.
    #[must_use]
    pub fn assumed(&self) -> ConservedSet {
        self.unknown.assumed
    }

    /// Whether a total is known.
    #[must_use]
    pub fn is_measured(&self, of: Conserved) -> bool {
        !self.unknown.not_measured.contains(of)
    }

    /// Whether an ion was not measured; silica, which carries no charge, is none.
    #[must_use]
    pub fn lacks_ions(&self) -> bool {
        self.unknown.not_measured.iter().any(|c| c.charge() != 0)
    }

    /// The total of one constituent, mg/L in the form named by [`Conserved::key`]; `None` where it
    /// was not measured.
    #[must_use]
    pub fn measured_mg_per_l(&self, of: Conserved) -> Option<f64> {
        self.is_measured(of).then(|| self.mg_per_l(of))
    }

    /// Bounds of a total, mmol/L (alkalinity: meq/L); both are the total itself where it is known.
    #[must_use]
    pub fn bounds_mmol_per_l(&self, of: Conserved) -> Bounds {
        self.unknown.between(of, self.mmol_per_l(of))
    }

    /// The same in mg/L, in the form named by [`Conserved::key`].
    #[must_use]
    pub fn bounds_mg_per_l(&self, of: Conserved) -> Bounds {
        let Bounds { at_least, at_most } = self.bounds_mmol_per_l(of);
        let g_per_mol = of.g_per_mol();
        Bounds { at_least: at_least * g_per_mol, at_most: at_most.map(|most| most * g_per_mol) }
    }

    /// Bounds of what [`Composition::dot`] gives.
    #[must_use]
    pub fn bounds_of(&self, coefficients: &[f64; Conserved::ALL.len()]) -> Bounds {
        self.unknown.sum_between(coefficients, &self.mmol_per_l)
    }

    /// Says that a total was not measured, with its estimate, mmol/L, and what is open of it.
    pub fn leave_unmeasured(&mut self, of: Conserved, estimate: f64, open: UnmeasuredTotal) {
        self.set_mmol_per_l(of, estimate);
        self.unknown.not_measured.insert(of);
        self.unknown.set(of, open);
    }

    /// Says that a total was found to be no more than twice its half, mmol/L.
    pub fn set_below_limit(&mut self, of: Conserved, half: f64) {
        self.set_mmol_per_l(of, half);
        let open =
            UnmeasuredTotal { below: half, above: Some(half), to_least: -half, to_most: half };
        self.unknown.set(of, open);
    }

    /// Says that of so much of the hardness, mmol/L, either way from the estimates, it is open whether
    /// it is calcium or magnesium: what the one has more the other has less.
    pub fn set_calcium_or_magnesium(&mut self, either: f64) {
        self.unknown.set_calcium_or_magnesium(either);
    }

    /// Whether it is open what of a known hardness is calcium and what magnesium.
    #[must_use]
    pub fn leaves_calcium_or_magnesium(&self) -> bool {
        self.unknown.leaves_calcium_or_magnesium()
    }

    /// Totals that were looked for and are only known by limits.
    #[must_use]
    pub fn known_by_limits(&self) -> ConservedSet {
        let is_open = |c: &Conserved| {
            let Bounds { at_least, at_most } = self.bounds_mmol_per_l(*c);
            at_most.is_none_or(|most| most > at_least)
        };
        Conserved::ALL.into_iter().filter(|c| self.is_measured(*c) && is_open(c)).collect()
    }

    /// Says that a total is assumed.
    pub fn mark_assumed(&mut self, of: Conserved) {
        self.unknown.assumed.insert(of);
    }

    /// The possible waters with the least and with the most salt that was not measured; `None`
    /// where they are the same. In them everything counts as known.
    #[must_use]
    pub fn extremes(&self) -> Option<[Composition; 2]> {
        self.corners(ConservedSet::NONE).try_into().ok()
    }

    /// The possible waters at every combination of the least and the most: of the salt that was not
    /// measured, which goes together, and of each of some totals that is only known by limits, which
    /// goes its own way. None where they are the same. In them everything counts as known.
    ///
    /// ```
    /// use waterflight::chemistry::{Composition, Conserved, UnmeasuredTotal};
    /// let mut water = Composition::PURE_WATER;
    /// let salt = UnmeasuredTotal { to_least: -1.0, to_most: 1.0, ..UnmeasuredTotal::default() };
    /// water.leave_unmeasured(Conserved::Na, 1.0, salt);
    /// water.set_below_limit(Conserved::SO4, 0.25);
    /// let sulfate = [Conserved::SO4].into_iter().collect();
    /// let most_sulfate = water.corners(sulfate).into_iter().filter(|w| w.mmol_per_l(Conserved::SO4) > 0.4);
    /// let salts: Vec<f64> = most_sulfate.map(|w| w.mmol_per_l(Conserved::Na)).collect();
    /// assert_eq!(salts, [0.0, 2.0]);
    /// ```
    #[must_use]
    pub fn corners(&self, apart: ConservedSet) -> Vec<Composition> {
        let own = self.known_by_limits().iter().filter(|c| apart.contains(*c)).collect();
        let changes = self.unknown.changes_to_corners(own).into_iter();
        let corner = |change: [f64; Conserved::ALL.len()]| {
            let mut mmol_per_l = self.mmol_per_l;
            for (amount, change) in mmol_per_l.iter_mut().zip(change) {
                *amount = (*amount + change).max(0.0);
            }
            Composition { mmol_per_l, unknown: Unknown::NONE }
        };
        changes.map(corner).collect()
    }

    /// Sum of the positive charges that were measured, meq/L.
    #[must_use]
    pub fn cations_meq_per_l(&self) -> f64 {
        self.charge_sum(|z| z > 0)
    }

    /// Sum of the negative charges that were measured, meq/L, alkalinity included.
    #[must_use]
    pub fn anions_meq_per_l(&self) -> f64 {
        self.charge_sum(|z| z < 0)
    }

    fn charge_sum(&self, takes: impl Fn(i32) -> bool) -> f64 {
        Conserved::ALL
            .into_iter()
            .filter(|c| takes(c.charge()) && self.is_measured(*c))
            .map(|c| self.mmol_per_l(c) * f64::from(c.charge().abs()))
            .sum()
    }

    /// All totals in the order of [`Conserved::ALL`], as [`Composition::mmol_per_l`] gives them.
    pub(crate) fn totals(&self) -> [f64; Conserved::ALL.len()] {
        self.mmol_per_l
    }

    /// The scalar product with one coefficient per total: any measure that is linear.
    #[must_use]
    pub fn dot(&self, coefficients: &[f64; Conserved::ALL.len()]) -> f64 {
        self.mmol_per_l.iter().zip(coefficients).map(|(a, b)| a * b).sum()
    }
}

impl Add for Composition {
    type Output = Self;
    fn add(mut self, other: Self) -> Self {
        self += other;
        self
    }
}

impl AddAssign for Composition {
    fn add_assign(&mut self, other: Self) {
        for (mine, theirs) in self.mmol_per_l.iter_mut().zip(other.mmol_per_l) {
            *mine += theirs;
        }
        self.unknown.add(&other.unknown);
    }
}

/// Dilution or concentration: every total times a share.
impl Mul<f64> for Composition {
    type Output = Self;
    fn mul(mut self, share: f64) -> Self {
        for total in &mut self.mmol_per_l {
            *total *= share;
        }
        self.unknown.scale(share);
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_charges_of_a_neutral_salt_cancel() {
        let mut water = Composition::PURE_WATER;
        water.set_mmol_per_l(Conserved::Ca, 1.5);
        water.set_mmol_per_l(Conserved::Citrate, 1.0);
        assert!((water.cations_meq_per_l() - water.anions_meq_per_l()).abs() < 1e-15);
    }
}
