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

use crate::chemistry::aqueous::Aqueous;
use crate::chemistry::composition::{Composition, Conserved};
use crate::chemistry::species::{COUNT, Group, INORGANIC, ROWS, var};
use crate::reference::phreeqc_dat::WATER_ACTIVITY_SLOPE;

/// Ions with a group of their own, in the order of the species table.
pub(crate) const OWN_GROUPS: usize = 7;

/// Where calcium and magnesium stand among them.
pub(crate) const CA: usize = 0;
pub(crate) const MG: usize = 1;

/// A group's places in the species table: its inorganic species and its organic ones.
#[derive(Debug, Clone, Copy)]
struct Places {
    inorganic: (usize, usize),
    organic: (usize, usize),
}

/// Places of the ligands and of each own group, read off the species table.
const LIGANDS: Places = places_of(Group::Ligand);
const OWN: [Places; OWN_GROUPS] = [
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

/// Counts of the species table as numbers to calculate with, for `L` balances: `L` itself, and `K`
/// weights per species (1, every ν, and every product ν·ν of the lower triangle), so that the sums
/// of m, ν·m and ν·ν·m are one row times m.
struct Counts<const L: usize, const K: usize>;

impl<const L: usize, const K: usize> Counts<L, K> {
    const NU: [[f64; L]; COUNT] = {
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
    const WEIGHTS: [[f64; K]; COUNT] = {
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
const HALF_CHARGE_SQUARED: [f64; COUNT] = {
    let mut z2 = [0.0; COUNT];
    let mut i = 0;
    while i < COUNT {
        z2[i] = 0.5 * (ROWS[i].charge as f64) * (ROWS[i].charge as f64);
        i += 1;
    }
    z2
};

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

/// An ion held by a mineral: `ln a = base + Σ shift·λ`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Held<const L: usize> {
    pub(crate) base: f64,
    pub(crate) shift: [f64; L],
}

/// Activity coefficients folded into the constants of formation.
#[derive(Debug, Clone)]
pub(crate) struct Coefficients {
    /// ln K + n·ln a(H2O) − ln γ of every species.
    pub(crate) ln_k: [f64; COUNT],
    /// Its derivative by the ionic strength, the water activity kept.
    pub(crate) slope: [f64; COUNT],
    pub(crate) ln_water: f64,
}

impl Coefficients {
    pub(crate) fn new() -> Self {
        Self { ln_k: [0.0; COUNT], slope: [0.0; COUNT], ln_water: 0.0 }
    }

    /// For the first so many species, at an ionic strength and a sum of molalities.
    #[inline]
    pub(crate) fn set(
        &mut self,
        at: &Aqueous,
        species: usize,
        ionic_strength: f64,
        molality_sum: f64,
    ) {
        let root = ionic_strength.sqrt();
        let half_per_root = 0.5 / root.max(LEAST_ROOT);
        // The linear formula ends at an activity of 0; far before that the model is refused.
        self.ln_water = (1.0 - WATER_ACTIVITY_SLOPE * molality_sum).max(LEAST_WATER_ACTIVITY).ln();
        let [az2, size, linear] = &at.gamma;
        for i in 0..species {
            let screen = 1.0 / (1.0 + size[i] * root);
            let limit = az2[i] * screen;
            let ln_gamma = linear[i] * ionic_strength - limit * root;
            self.ln_k[i] = at.ln_k[i] + at.water[i] * self.ln_water - ln_gamma;
            self.slope[i] = limit * screen * half_per_root - linear[i];
        }
    }
}

/// Floor of the water activity while a solver is still far from its solution: our choice, never
/// reached by an accepted answer.
const LEAST_WATER_ACTIVITY: f64 = 0.5;

/// Floor of √I in the slope of the Debye–Hückel law, which has none at 0: our choice, far below the
/// 3e-4 of the purest water.
const LEAST_ROOT: f64 = 1e-6;

/// Exponents below this give molalities that no balance can feel; they are taken as zero.
const NOTHING: f64 = -700.0;

/// Step of an exponent up to which the series of six terms is taken: our choice; its error is below
/// 1e-15 of the molality.
const SMALL_STEP: f64 = 0.02;

/// λ of a constituent that is not there.
pub(crate) const ABSENT: f64 = -1e4;

/// What a guess gives.
#[derive(Debug, Clone)]
pub(crate) struct Balance<const L: usize, const K: usize> {
    /// Molality of every species, mol/kg.
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
    /// `Σ exp(…)` of each own group per unit of activity.
    sum: [f64; OWN_GROUPS],
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
        }
    }

    /// Evaluates the balances.
    #[inline]
    pub(crate) fn evaluate(
        &mut self,
        coefficients: &Coefficients,
        totals: &Totals,
        held: &[Option<Held<L>>; 2],
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
        self.scale(LIGANDS, 1.0);
        for (own, places) in OWN.into_iter().enumerate() {
            let hold = held.get(own).and_then(Option::as_ref);
            let total = totals.own[own];
            if total <= 0.0 && hold.is_none() {
                continue;
            }
            let sums = self.sums(coefficients, places);
            let activity = match hold {
                None => total / sums.unit(),
                Some(hold) => hold.ln_activity(lambda).exp(),
            };
            match hold {
                None => self.add_eliminated(own, &sums, activity),
                Some(hold) => self.add_held(&sums, activity, hold, total),
            }
            self.sum[own] = sums.unit();
            self.ionic_strength += activity * sums.z;
            self.molality_sum += activity * sums.unit();
            self.scale(places, activity);
        }
    }

    /// Molalities at unit activity. After a small step they follow by the series of the
    /// exponential, which costs a third of the function itself.
    #[inline]
    fn exponentiate(&mut self, coefficients: &Coefficients, lambda: &[f64; L]) {
        let count = if L == var::INORGANIC { INORGANIC } else { COUNT };
        let mut step = [0.0; COUNT];
        let mut longest = 0.0_f64;
        for i in 0..count {
            let nu = &Counts::<L, K>::NU[i];
            let mut exponent = coefficients.ln_k[i];
            for k in 0..L {
                exponent += nu[k] * lambda[k];
            }
            step[i] = exponent - self.exponent[i];
            self.exponent[i] = exponent;
            longest = longest.max(step[i].abs());
        }
        if longest <= SMALL_STEP {
            for i in 0..count {
                let x = step[i];
                let high =
                    1.0 + x * (1.0 / 4.0) * (1.0 + x * (1.0 / 5.0) * (1.0 + x * (1.0 / 6.0)));
                let series = 1.0 + x * (1.0 + x * (1.0 / 2.0) * (1.0 + x * (1.0 / 3.0) * high));
                self.at_unit[i] *= series;
            }
        } else {
            for i in 0..count {
                let exponent = self.exponent[i];
                self.at_unit[i] = if exponent > NOTHING { exponent.exp() } else { 0.0 };
            }
        }
    }

    #[inline]
    fn scale(&mut self, places: Places, activity: f64) {
        for run in places.runs::<L>() {
            for i in run {
                self.molality[i] = self.at_unit[i] * activity;
            }
        }
    }

    /// An ion whose total is given: its own balance holds, and its answer to λ and to the ionic
    /// strength is taken off the derivatives.
    #[inline]
    fn add_eliminated(&mut self, own: usize, sums: &GroupSums<L, K>, activity: f64) {
        let per_unit = 1.0 / sums.unit();
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
    fn add_held(&mut self, sums: &GroupSums<L, K>, activity: f64, hold: &Held<L>, total: f64) {
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
        held: &[Option<Held<L>>; 2],
        lambda: &[f64; L],
    ) -> (f64, f64) {
        let (mut value, mut size) = (0.0, 0.0);
        let mut add = |term: f64| {
            value += term;
            size += term.abs();
        };
        LIGANDS.runs::<L>().into_iter().flatten().for_each(|i| add(self.molality[i]));
        for k in 0..L {
            if lambda[k] > ABSENT {
                add(-totals.balance[k] * lambda[k]);
            }
        }
        for (own, places) in OWN.into_iter().enumerate() {
            let total = totals.own[own];
            match held.get(own).and_then(Option::as_ref) {
                Some(hold) => {
                    places.runs::<L>().into_iter().flatten().for_each(|i| add(self.molality[i]));
                    add(-total * hold.ln_activity(lambda));
                }
                None if total > 0.0 => add(total * self.sum[own].ln()),
                None => {}
            }
        }
        (value, size)
    }

    /// Moves the molalities along a last small step of λ and of the ionic strength, to first
    /// order.
    #[inline]
    pub(crate) fn follow(
        &mut self,
        coefficients: &Coefficients,
        totals: &Totals,
        held: &[Option<Held<L>>; 2],
        step: &[f64; L],
        strength_step: f64,
    ) {
        let dot = |counts: &[f64; L]| -> f64 { (0..L).map(|k| counts[k] * step[k]).sum() };
        let own_answer =
            |i: usize| 1.0 + dot(&Counts::<L, K>::NU[i]) + coefficients.slope[i] * strength_step;
        for i in LIGANDS.runs::<L>().into_iter().flatten() {
            self.molality[i] *= own_answer(i);
        }
        for (own, places) in OWN.into_iter().enumerate() {
            let answer = match held.get(own).and_then(Option::as_ref) {
                Some(hold) => dot(&hold.shift),
                None if totals.own[own] > 0.0 => {
                    -dot(&self.mean[own]) - self.mean_slope[own] * strength_step
                }
                None => continue,
            };
            for i in places.runs::<L>().into_iter().flatten() {
                self.molality[i] *= own_answer(i) + answer;
            }
        }
        self.ionic_strength += dot(&self.strength_lambda) + self.strength_strength * strength_step;
    }
}

impl Places {
    /// The places that matter with so many balances.
    #[inline]
    fn runs<const L: usize>(self) -> [std::ops::Range<usize>; 2] {
        let organic = if L == var::INORGANIC { 0..0 } else { self.organic.0..self.organic.1 };
        [self.inorganic.0..self.inorganic.1, organic]
    }
}

impl<const L: usize> Held<L> {
    #[inline]
    pub(crate) fn ln_activity(&self, lambda: &[f64; L]) -> f64 {
        (0..L).fold(self.base, |sum, k| sum + self.shift[k] * lambda[k])
    }
}
