//! The balances of a solution and their derivatives at one guess of the activities.
//!
//! With fixed activity coefficients the molality of a species is `exp(ln k + Σ ν·λ)` in the
//! logarithms λ of the activities of H⁺, CO2, SO4²⁻, Cit³⁻ and Lac⁻. The ions that stand in a group
//! of their own are eliminated exactly: their activity is total over `D = Σ exp(…)` of the group,
//! so that their balances hold at every guess and five unknowns remain at most. What remains is
//! the gradient `Σ ν·m − T` of a convex function, and its Jacobian is symmetric.
//!
//! A mineral in equilibrium *holds* an ion: its activity then follows from λ instead, and the
//! amount of mineral is what the totals do not find in solution.
#![expect(
    clippy::indexing_slicing,
    clippy::needless_range_loop,
    reason = "numeric kernels of fixed size, several arrays at one index"
)]

use crate::chemistry::solution::Totals;
use crate::chemistry::solution::coefficients::Coefficients;
use crate::chemistry::solution::places::{Counts, HALF_CHARGE_SQUARED, LIGANDS, OWN, Places};
use crate::chemistry::solution::totals::OWN_GROUPS;
use crate::chemistry::species::{COUNT, INORGANIC, var};

/// An ion held by a mineral: `ln a = base + Σ shift·λ`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct MineralHeldIon<const L: usize> {
    pub(crate) base: f64,
    pub(crate) shift: [f64; L],
}

impl<const L: usize> MineralHeldIon<L> {
    #[inline]
    pub(crate) fn ln_activity(&self, lambda: &[f64; L]) -> f64 {
        (0..L).fold(self.base, |sum, k| sum + self.shift[k] * lambda[k])
    }
}

/// Exponents below this give molalities that no balance can feel; they are taken as zero.
const NEGLIGIBLE: f64 = -700.0;

/// Step of an exponent up to which the series is taken: our choice; the first term left out is
/// below 1e-14 of the molality.
const SMALL_STEP: f64 = 0.25;

/// 1/10 to 1/1: the series of the exponential from its innermost term.
const RECIPROCALS: [f64; 10] = [
    1.0 / 10.0,
    1.0 / 9.0,
    1.0 / 8.0,
    1.0 / 7.0,
    1.0 / 6.0,
    1.0 / 5.0,
    1.0 / 4.0,
    1.0 / 3.0,
    1.0 / 2.0,
    1.0,
];

/// λ of a constituent that is not there.
pub(crate) const ABSENT: f64 = -1e4;

/// What a guess gives.
#[derive(Debug, Clone)]
pub(crate) struct Balance<const L: usize, const K: usize> {
    /// Molality of every species, mol/kg, once [`Balance::follow`] has settled them.
    pub(crate) molality: [f64; COUNT],
    /// `Σ ν·m − T`, held ions already moved to the other side.
    pub(crate) f: [f64; L],
    /// Its derivatives by λ, lower triangle.
    pub(crate) j: [[f64; L]; L],
    /// Its derivatives by the ionic strength.
    pub(crate) f_strength: [f64; L],
    pub(crate) ionic_strength: f64,
    /// Derivatives of the ionic strength found by λ and by the one assumed.
    pub(crate) strength_lambda: [f64; L],
    pub(crate) strength_strength: f64,
    pub(crate) molality_sum: f64,
    /// ln of the molality of every species at unit activity of its own ion, and that molality.
    exponent: [f64; COUNT],
    at_unit: [f64; COUNT],
    /// Mean counts of each own group per mole of its ion: how its activity answers to λ.
    mean: [[f64; L]; OWN_GROUPS],
    /// Mean slope of each own group: how its activity answers to the ionic strength.
    mean_slope: [f64; OWN_GROUPS],
    /// `Σ exp(…)` of each own group per unit of activity, and its activity.
    sum: [f64; OWN_GROUPS],
    activity: [f64; OWN_GROUPS],
}

/// Sums over one group at unit activity of its ion.
#[derive(Debug, Clone, Copy)]
struct GroupSums<const L: usize, const K: usize> {
    /// Σ of the weights times m.
    w: [f64; K],
    /// Σ m and Σ ν·m with the slope by the ionic strength.
    s: f64,
    gs: [f64; L],
    /// Σ m and Σ ν·m with half the squared charge.
    z: f64,
    gz: [f64; L],
    /// Σ m with both.
    zs: f64,
}

impl<const L: usize, const K: usize> GroupSums<L, K> {
    /// Σ m.
    #[inline]
    fn unit(&self) -> f64 {
        self.w[0]
    }

    /// Σ ν·m.
    #[inline]
    fn g(&self, k: usize) -> f64 {
        self.w[1 + k]
    }

    /// Σ ν·ν·m, l ≤ k.
    #[inline]
    fn h(&self, k: usize, l: usize) -> f64 {
        self.w[1 + L + k * (k + 1) / 2 + l]
    }
}

impl<const L: usize, const K: usize> Balance<L, K> {
    pub(crate) fn new() -> Self {
        Self {
            molality: [0.0; COUNT],
            f: [0.0; L],
            j: [[0.0; L]; L],
            f_strength: [0.0; L],
            ionic_strength: 0.0,
            strength_lambda: [0.0; L],
            strength_strength: 0.0,
            molality_sum: 0.0,
            exponent: [f64::INFINITY; COUNT],
            at_unit: [0.0; COUNT],
            mean: [[0.0; L]; OWN_GROUPS],
            mean_slope: [0.0; OWN_GROUPS],
            sum: [0.0; OWN_GROUPS],
            activity: [0.0; OWN_GROUPS],
        }
    }

    /// Evaluates the balances.
    #[inline]
    pub(crate) fn evaluate(
        &mut self,
        coefficients: &Coefficients,
        totals: &Totals,
        held: &[Option<MineralHeldIon<L>>; OWN_GROUPS],
        lambda: &[f64; L],
    ) {
        self.exponentiate(coefficients, lambda);
        let ligands = self.sums(coefficients, LIGANDS);
        for k in 0..L {
            self.f[k] = ligands.g(k) - totals.balance[k];
            for l in 0..=k {
                self.j[k][l] = ligands.h(k, l);
            }
        }
        self.f_strength = ligands.gs;
        self.ionic_strength = ligands.z;
        self.strength_lambda = ligands.gz;
        self.strength_strength = ligands.zs;
        self.molality_sum = ligands.unit();
        for (own, places) in OWN.into_iter().enumerate() {
            let hold = held[own].as_ref();
            let total = totals.own[own];
            if total <= 0.0 && hold.is_none() {
                continue;
            }
            let sums = self.sums(coefficients, places);
            let activity = if let Some(hold) = hold {
                let activity = hold.ln_activity(lambda).exp();
                self.add_held(&sums, activity, hold, total);
                activity
            } else {
                let per_unit = 1.0 / sums.unit();
                let activity = total * per_unit;
                self.add_eliminated(own, &sums, activity, per_unit);
                activity
            };
            self.sum[own] = sums.unit();
            self.activity[own] = activity;
            self.ionic_strength += activity * sums.z;
            self.molality_sum += activity * sums.unit();
        }
    }

    /// Molalities at unit activity. After a small step they follow by the series of the
    /// exponential, which costs a third of the function itself.
    #[inline]
    fn exponentiate(&mut self, coefficients: &Coefficients, lambda: &[f64; L]) {
        let count = if L == var::INORGANIC { INORGANIC } else { COUNT };
        let mut step = [0.0; COUNT];
        let mut longest = 0.0;
        for i in 0..count {
            let nu = &Counts::<L, K>::NU[i];
            let mut exponent = coefficients.ln_k[i];
            for k in 0..L {
                exponent += nu[k] * lambda[k];
            }
            step[i] = exponent - self.exponent[i];
            self.exponent[i] = exponent;
            let size = step[i].abs();
            longest = if size > longest { size } else { longest };
        }
        if longest <= SMALL_STEP {
            for i in 0..count {
                let x = step[i];
                let mut series = 1.0 + x * RECIPROCALS[0];
                for reciprocal in &RECIPROCALS[1..] {
                    series = 1.0 + x * reciprocal * series;
                }
                self.at_unit[i] *= series;
            }
        } else {
            for i in 0..count {
                let exponent = self.exponent[i];
                // Both ends are computed and one is chosen; an underflow would be slow.
                let m = exponent.max(NEGLIGIBLE).exp();
                self.at_unit[i] = if exponent > NEGLIGIBLE { m } else { 0.0 };
            }
        }
    }

    /// Molalities as so many times those at unit activity.
    #[inline]
    fn settle(&mut self, places: Places, times: impl Fn(usize) -> f64) {
        for run in places.runs::<L>() {
            for i in run {
                self.molality[i] = self.at_unit[i] * times(i);
            }
        }
    }

    /// An ion whose total is given: its own balance holds, and its answer to λ and to the ionic
    /// strength is taken off the derivatives.
    #[inline]
    fn add_eliminated(&mut self, own: usize, sums: &GroupSums<L, K>, activity: f64, per_unit: f64) {
        let mean_slope = sums.s * per_unit;
        self.mean_slope[own] = mean_slope;
        self.strength_strength += activity * (sums.zs - mean_slope * sums.z);
        for k in 0..L {
            let g = sums.g(k);
            let mean = g * per_unit;
            self.mean[own][k] = mean;
            self.f[k] += activity * g;
            self.f_strength[k] += activity * (sums.gs[k] - mean_slope * g);
            self.strength_lambda[k] += activity * (sums.gz[k] - mean * sums.z);
            for l in 0..=k {
                self.j[k][l] += activity * (sums.h(k, l) - mean * sums.g(l));
            }
        }
    }

    /// An ion held by a mineral: its species follow λ by the mineral's law as well, and its total
    /// goes to the balances with which the mineral takes it up.
    #[inline]
    fn add_held(
        &mut self,
        sums: &GroupSums<L, K>,
        activity: f64,
        hold: &MineralHeldIon<L>,
        total: f64,
    ) {
        let s = &hold.shift;
        self.strength_strength += activity * sums.zs;
        for k in 0..L {
            let g = sums.g(k);
            self.f[k] += activity * (g + s[k] * sums.unit()) - s[k] * total;
            self.f_strength[k] += activity * (sums.gs[k] + s[k] * sums.s);
            self.strength_lambda[k] += activity * (sums.gz[k] + s[k] * sums.z);
            for l in 0..=k {
                let crossed = s[k] * sums.g(l) + g * s[l] + s[k] * s[l] * sums.unit();
                self.j[k][l] += activity * (sums.h(k, l) + crossed);
            }
        }
    }

    #[inline]
    fn sums(&self, coefficients: &Coefficients, places: Places) -> GroupSums<L, K> {
        let (mut w, mut gs, mut gz) = ([0.0; K], [0.0; L], [0.0; L]);
        let (mut s, mut z, mut zs) = (0.0, 0.0, 0.0);
        for run in places.runs::<L>() {
            for i in run {
                let m = self.at_unit[i];
                let weights = &Counts::<L, K>::WEIGHTS[i];
                let sloped = coefficients.slope[i] * m;
                let charged = HALF_CHARGE_SQUARED[i] * m;
                s += sloped;
                z += charged;
                zs += coefficients.slope[i] * charged;
                for k in 0..K {
                    w[k] += weights[k] * m;
                }
                for k in 0..L {
                    gs[k] += weights[1 + k] * sloped;
                    gz[k] += weights[1 + k] * charged;
                }
            }
        }
        GroupSums { w, s, gs, z, gz, zs }
    }

    /// The convex function whose gradient the balances are, and the sum of the sizes of its terms.
    pub(crate) fn objective(
        &self,
        totals: &Totals,
        held: &[Option<MineralHeldIon<L>>; OWN_GROUPS],
        lambda: &[f64; L],
    ) -> (f64, f64) {
        let (mut value, mut size) = (0.0, 0.0);
        let mut add = |term: f64| {
            value += term;
            size += term.abs();
        };
        LIGANDS.runs::<L>().into_iter().flatten().for_each(|i| add(self.at_unit[i]));
        for k in 0..L {
            if lambda[k] > ABSENT {
                add(-totals.balance[k] * lambda[k]);
            }
        }
        for own in 0..OWN_GROUPS {
            let total = totals.own[own];
            match held[own].as_ref() {
                Some(hold) => {
                    add(self.activity[own] * self.sum[own]);
                    add(-total * hold.ln_activity(lambda));
                }
                None if total > 0.0 => add(total * self.sum[own].ln()),
                None => {}
            }
        }
        (value, size)
    }

    /// Settles the molalities, moved along a last small step of λ and of the ionic strength, to
    /// first order.
    #[inline]
    pub(crate) fn follow(
        &mut self,
        coefficients: &Coefficients,
        totals: &Totals,
        held: &[Option<MineralHeldIon<L>>; OWN_GROUPS],
        step: &[f64; L],
        strength_step: f64,
    ) {
        let dot = |counts: &[f64; L]| -> f64 { (0..L).map(|k| counts[k] * step[k]).sum() };
        let own_answer =
            |i: usize| 1.0 + dot(&Counts::<L, K>::NU[i]) + coefficients.slope[i] * strength_step;
        self.settle(LIGANDS, own_answer);
        for (own, places) in OWN.into_iter().enumerate() {
            let answer = match held[own].as_ref() {
                Some(hold) => dot(&hold.shift),
                None if totals.own[own] > 0.0 => {
                    -dot(&self.mean[own]) - self.mean_slope[own] * strength_step
                }
                None => continue,
            };
            let activity = self.activity[own];
            self.settle(places, |i| activity * (own_answer(i) + answer));
        }
        self.ionic_strength += dot(&self.strength_lambda) + self.strength_strength * strength_step;
    }
}
