//! Newton on the balances, with activity coefficients that follow the ionic strength.
//!
//! The fast way renews the coefficients after every step. Should it not settle, the sure way
//! takes over: at a fixed ionic strength the balances are the gradient of a convex function, so a
//! line search must reach their zero; the ionic strength that reproduces itself is bracketed.
//!
//! Above 400 lines: the fast and the sure way share every derivative.
#![expect(
    clippy::indexing_slicing,
    clippy::needless_range_loop,
    reason = "numeric kernels of fixed size, several arrays at one index"
)]

use crate::chemistry::ChemistryError;
use crate::chemistry::Mineral;
use crate::chemistry::Species;
use crate::chemistry::equilibrium::{Bracket, Cholesky, NoConvergence, bracketed};
use crate::chemistry::solution::ABSENT;
use crate::chemistry::solution::balance::{Balance, MineralHeldIon};
use crate::chemistry::solution::coefficients::Coefficients;
use crate::chemistry::solution::places::{ALL_WEIGHTS, INORGANIC_WEIGHTS};
use crate::chemistry::solution::totals::OWN_GROUPS;
use crate::chemistry::solution::{CA, MG, SI};
use crate::chemistry::solution::{Precision, Problem, Solution};
use crate::chemistry::species::{COUNT, INORGANIC, var};

/// Highest ionic strength for which there is an answer at all, mol/kg: our choice. The linear
/// terms of the activity model were fitted to salts up to several mol/kg; beyond this nothing
/// supports them.
const MAX_IONIC_STRENGTH: f64 = 4.0;

/// Ionic strength at which iterates are cut, mol/kg: our choice, above every accepted answer.
pub(super) const IONIC_STRENGTH_CAP: f64 = 8.0;

/// Longest step of a logarithm of activity: our choice; longer ones overshoot where the
/// exponentials are still far from linear.
const LONGEST_STEP: f64 = 3.0;

/// Width of the bracket, mol/kg, at which the sure way takes the ionic strength as found: our
/// choice, far below what any index feels.
const SETTLED: f64 = 1e-13;

/// Change of the sum of molalities, mol/kg, that the water activity may lag behind: our choice, less
/// than 1e-6 in pH.
const CROWD_SETTLED: f64 = 1e-4;

/// Steps of the fast way before the sure one takes over: our choice; brewing waters take 2 to 6.
const FAST_STEPS: usize = 40;

/// Steps of the sure way at one ionic strength, and halvings of one step: our choice, several
/// times what the worst random waters of the tests need.
const SURE_STEPS: usize = 400;
const HALVINGS: usize = 40;

/// Share of the promised decrease that a step of the sure way must bring (Armijo's rule).
const ARMIJO: f64 = 1e-4;

/// Rounding errors that the sum of some forty terms may have gathered: our choice.
const ROUNDINGS: f64 = 16.0;

impl Problem<'_> {
    /// Solves, from an earlier solution of a similar problem if there is one.
    pub(crate) fn solve(&self, start: Option<&Solution>) -> Result<Solution, ChemistryError> {
        if self.totals.inorganic() {
            Search::<{ var::INORGANIC }, INORGANIC_WEIGHTS>::new(self).run(start)
        } else {
            Search::<{ var::ALL }, ALL_WEIGHTS>::new(self).run(start)
        }
    }
}

/// The state of a search with `L` balances and `K` weights per species.
pub(super) struct Search<'a, const L: usize, const K: usize> {
    pub(super) problem: &'a Problem<'a>,
    pub(super) coefficients: Coefficients,
    pub(super) balance: Balance<L, K>,
    pub(super) lambda: [f64; L],
    pub(super) held: [Option<MineralHeldIon<L>>; OWN_GROUPS],
    /// λ of sulfate as base and counts of the others, when two minerals share calcium.
    pub(super) tied: Option<MineralHeldIon<L>>,
    pub(super) free: [bool; L],
    /// Sum of molalities that the water activity is taken at.
    pub(super) crowd: f64,
    /// Change of the ionic strength in the last step, which the coefficients have not followed.
    last_change: f64,
}

impl<'a, const L: usize, const K: usize> Search<'a, L, K> {
    /// Species that matter with so many balances.
    pub(super) const SPECIES: usize = if L == var::INORGANIC { INORGANIC } else { COUNT };

    pub(super) fn new(problem: &'a Problem<'a>) -> Self {
        let solids = problem.solids;
        let tied = solids.carbonate.is_some() && solids.sulfate.is_some();
        let mut free = [false; L];
        for k in 0..L {
            free[k] = match k {
                var::H => problem.kept.ln_h.is_none(),
                var::C => {
                    let brought = solids.carbonate.is_some() || solids.magnesium_carbonate;
                    let has = problem.totals.balance[k] > 0.0 || brought;
                    has && problem.kept.ln_co2.is_none() && !solids.hold_co2()
                }
                var::S => {
                    let has = problem.totals.balance[k] > 0.0 || solids.sulfate.is_some();
                    has && !tied
                }
                _ => problem.totals.balance[k] > 0.0,
            };
        }
        Self {
            problem,
            coefficients: Coefficients::new(),
            balance: Balance::new(),
            lambda: [ABSENT; L],
            held: [None; OWN_GROUPS],
            tied: None,
            free,
            crowd: 0.0,
            last_change: 0.0,
        }
    }

    pub(super) fn run(mut self, start: Option<&Solution>) -> Result<Solution, ChemistryError> {
        let ionic_strength = self.guess(start);
        let guess = self.lambda;
        let steps = match self.fast(ionic_strength) {
            Some(steps) => steps,
            None => self.sure(guess)?,
        };
        if self.balance.ionic_strength > MAX_IONIC_STRENGTH {
            return Err(ChemistryError::TooStrong { limit: MAX_IONIC_STRENGTH });
        }
        Ok(self.solution(steps))
    }

    /// The fast way: Newton on λ and the ionic strength together, the coefficients renewed at
    /// every step. `None` when it does not settle.
    fn fast(&mut self, first: f64) -> Option<usize> {
        let totals = self.problem.totals;
        let last_step = self.problem.precision.last_step();
        let mut ionic_strength = first;
        for step in 1..=FAST_STEPS {
            self.renew(ionic_strength);
            self.balance.evaluate(&self.coefficients, totals, &self.held, &self.lambda);
            let factor = self.factor()?;
            let by_balance = self.spread(factor.solve(self.reduced(&self.balance.f)));
            let by_strength = self.spread(factor.solve(self.reduced(&self.balance.f_strength)));
            // With δλ = −b − s·δI the ionic strength found and the one assumed must meet.
            let along = &self.balance.strength_lambda;
            let dot = |v: &[f64; L]| -> f64 { along.iter().zip(v).map(|(a, b)| a * b).sum() };
            let missing = self.balance.ionic_strength - ionic_strength;
            let slope = self.balance.strength_strength - 1.0 - dot(&by_strength);
            let wanted = (dot(&by_balance) - missing) / slope;
            let change = believed(wanted, missing, slope, ionic_strength);
            let mut delta = [0.0; L];
            for k in 0..L {
                delta[k] = -by_balance[k] - by_strength[k] * change;
            }
            let longest = delta.iter().fold(0.0_f64, |a, d| a.max(d.abs()));
            if !(longest + change).is_finite() {
                return None;
            }
            let crowded = (self.balance.molality_sum - self.crowd).abs();
            let settled = change.abs() <= last_step * ionic_strength && crowded <= CROWD_SETTLED;
            if longest < last_step && settled {
                self.balance.follow(&self.coefficients, totals, &self.held, &delta, change);
                self.last_change = change;
                self.advance(&delta, 1.0);
                return Some(step);
            }
            self.advance(&delta, (LONGEST_STEP / longest).min(1.0));
            self.crowd = self.balance.molality_sum;
            ionic_strength = (ionic_strength + change).clamp(0.0, IONIC_STRENGTH_CAP);
        }
        None
    }

    /// The sure way: the ionic strength that reproduces itself is bracketed.
    fn sure(&mut self, guess: [f64; L]) -> Result<usize, ChemistryError> {
        self.lambda = guess;
        let mut steps = 0;
        let bracket = Bracket { low: 0.0, high: IONIC_STRENGTH_CAP };
        let reached = bracketed(bracket, SETTLED, |ionic_strength| {
            steps += self.descend(ionic_strength)?;
            Ok::<f64, ChemistryError>(self.balance.ionic_strength - ionic_strength)
        });
        match reached {
            Ok(ionic_strength) => {
                steps += self.descend(ionic_strength)?;
                Ok(steps)
            }
            // At the cap the solution is stronger still.
            Err(ChemistryError::NoConvergence(NoConvergence { iterations: 0, .. })) => {
                Err(ChemistryError::TooStrong { limit: MAX_IONIC_STRENGTH })
            }
            Err(other) => Err(other),
        }
    }

    /// Minimises the convex function at a fixed ionic strength.
    fn descend(&mut self, ionic_strength: f64) -> Result<usize, NoConvergence> {
        let totals = self.problem.totals;
        let mut longest = f64::INFINITY;
        self.renew(ionic_strength);
        for step in 1..=SURE_STEPS {
            self.balance.evaluate(&self.coefficients, totals, &self.held, &self.lambda);
            let (value, size) = self.balance.objective(totals, &self.held, &self.lambda);
            // Rounding of the value itself must not stop the last steps.
            let rounding = ROUNDINGS * f64::EPSILON * size;
            let gradient = self.reduced(&self.balance.f);
            let Some(factor) = self.factor() else { break };
            let delta = self.spread(factor.solve(gradient)).map(|d| -d);
            if !delta.iter().all(|d| d.is_finite()) {
                break;
            }
            longest = delta.iter().fold(0.0_f64, |a, d| a.max(d.abs()));
            if longest < Precision::Full.last_step() {
                self.balance.follow(&self.coefficients, totals, &self.held, &delta, 0.0);
                self.advance(&delta, 1.0);
                self.crowd = self.balance.molality_sum;
                return Ok(step);
            }
            let slope: f64 = gradient.iter().zip(&delta).map(|(g, d)| g * d).sum();
            let from = self.lambda;
            let mut share = (LONGEST_STEP / longest).min(1.0);
            for _ in 0..HALVINGS {
                self.lambda = from;
                self.advance(&delta, share);
                self.balance.evaluate(&self.coefficients, totals, &self.held, &self.lambda);
                let (now, _) = self.balance.objective(totals, &self.held, &self.lambda);
                if now <= value + ARMIJO * share * slope + rounding {
                    break;
                }
                share *= 0.5;
            }
        }
        Err(NoConvergence { iterations: SURE_STEPS, residual: longest })
    }

    /// Coefficients at an ionic strength, and what the minerals make of them.
    #[inline]
    fn renew(&mut self, ionic_strength: f64) {
        let Problem { at, solids, .. } = *self.problem;
        self.coefficients.set(at, Self::SPECIES, ionic_strength, self.crowd);
        let ln_water = self.coefficients.ln_water;
        let shift = |pairs: &[(usize, f64)]| {
            let mut s = [0.0; L];
            for (k, v) in pairs {
                s[*k] = *v;
            }
            s
        };
        let ln_co3 = at.ln_k_co3() + ln_water;
        let sulfate_base = |m: Mineral| {
            let hydrate = if m == Mineral::Gypsum { 2.0 } else { 0.0 };
            at.ln_k_mineral(m) - hydrate * ln_water
        };
        if let Some(m) = solids.carbonate {
            let base = at.ln_k_mineral(m) - ln_co3;
            self.held[CA] =
                Some(MineralHeldIon { base, shift: shift(&[(var::H, 2.0), (var::C, -1.0)]) });
            self.tied = solids.sulfate.map(|m| MineralHeldIon {
                base: sulfate_base(m) - base,
                shift: shift(&[(var::H, -2.0), (var::C, 1.0)]),
            });
        } else if let Some(m) = solids.sulfate {
            self.held[CA] =
                Some(MineralHeldIon { base: sulfate_base(m), shift: shift(&[(var::S, -1.0)]) });
        }
        if solids.hydroxide {
            let base = at.ln_k_mineral(Mineral::Brucite) - 2.0 * ln_water;
            self.held[MG] = Some(MineralHeldIon { base, shift: shift(&[(var::H, 2.0)]) });
            if solids.magnesium_carbonate {
                // MgCO3·3H2O = Mg(OH)2 + CO2 + 2 H2O
                let ln_k = at.ln_k_mineral(Mineral::Nesquehonite)
                    - at.ln_k_mineral(Mineral::Brucite)
                    - at.ln_k_co3();
                self.lambda[var::C] = ln_k - 2.0 * ln_water;
            }
        } else if solids.magnesium_carbonate {
            let base = at.ln_k_mineral(Mineral::Nesquehonite) - ln_co3 - 3.0 * ln_water;
            self.held[MG] =
                Some(MineralHeldIon { base, shift: shift(&[(var::H, 2.0), (var::C, -1.0)]) });
        }
        if solids.silica {
            let base = at.ln_k_mineral(Mineral::AmorphousSilica) + 2.0 * ln_water;
            self.held[SI] = Some(MineralHeldIon { base, shift: [0.0; L] });
        }
        self.tie();
    }

    fn tie(&mut self) {
        if let Some(tied) = &self.tied {
            self.lambda[var::S] = tied.ln_activity(&self.lambda);
        }
    }

    /// A vector of the balances as it is for the free unknowns: a tied sulfate folded into the
    /// others, nothing where nothing is free.
    #[inline]
    fn reduced(&self, full: &[f64; L]) -> [f64; L] {
        let mut f = *full;
        if let Some(tied) = &self.tied {
            for k in 0..L {
                f[k] += tied.shift[k] * full[var::S];
            }
        }
        for k in 0..L {
            if !self.free[k] {
                f[k] = 0.0;
            }
        }
        f
    }

    /// A step of the free unknowns with that of a tied sulfate.
    #[inline]
    fn spread(&self, mut step: [f64; L]) -> [f64; L] {
        if let Some(tied) = &self.tied {
            step[var::S] = tied.shift.iter().zip(&step).map(|(s, d)| s * d).sum();
        }
        step
    }

    /// The factored Jacobian; what is not free stands as a row of the unit matrix. `None` when
    /// rounding or an overflow has made it indefinite.
    #[inline]
    fn factor(&self) -> Option<Cholesky<L>> {
        let mut j = self.balance.j;
        if let Some(MineralHeldIon { shift, .. }) = &self.tied {
            let with_s: [f64; L] =
                std::array::from_fn(|k| self.balance.j[k.max(var::S)][k.min(var::S)]);
            for k in 0..L {
                for l in 0..=k {
                    j[k][l] += shift[k] * with_s[l]
                        + with_s[k] * shift[l]
                        + shift[k] * shift[l] * with_s[var::S];
                }
            }
        }
        for k in 0..L {
            for l in 0..=k {
                if !(self.free[k] && self.free[l]) {
                    j[k][l] = if k == l { 1.0 } else { 0.0 };
                }
            }
        }
        Cholesky::of(j)
    }

    #[inline]
    fn advance(&mut self, delta: &[f64; L], share: f64) {
        for k in 0..L {
            self.lambda[k] += share * delta[k];
        }
        self.tie();
    }

    fn solution(&self, steps: usize) -> Solution {
        let mut lambda = [ABSENT; var::ALL];
        lambda[..L].copy_from_slice(&self.lambda);
        let ln_own = [Species::Ca, Species::Mg, Species::H4SiO4].map(|ion| {
            let i = ion.index();
            let ln_k = self.coefficients.ln_k[i] + self.coefficients.slope[i] * self.last_change;
            self.balance.molality[i].ln() - ln_k
        });
        Solution {
            molality: self.balance.molality,
            lambda,
            ln_water: self.coefficients.ln_water,
            ln_own,
            ionic_strength: self.balance.ionic_strength,
            molality_sum: self.balance.molality_sum,
            steps,
        }
    }
}

/// The change of the ionic strength that Newton wants, when it can be believed: the map of the
/// ionic strength onto itself falls or rises gently near its solution, so that `slope` is negative;
/// elsewhere, and for jumps over more than the value itself, the plain difference is taken.
#[inline]
fn believed(wanted: f64, missing: f64, slope: f64, ionic_strength: f64) -> f64 {
    let trusted = slope < STEEPEST_BELIEVED && wanted.abs() <= ionic_strength;
    if trusted { wanted } else { missing }
}

/// Slope of the ionic strength's condition above which Newton's change is not believed: our
/// choice; near the solution of a water it lies between −0.7 and −1.3.
const STEEPEST_BELIEVED: f64 = -0.2;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chemistry::Aqueous;
    use crate::chemistry::solution::Totals;
    use crate::chemistry::solution::{FixedActivities, Solids};
    use crate::chemistry::{Composition, Conserved};
    use crate::quantities::Celsius;

    fn water(amounts: &[(Conserved, f64)]) -> Totals {
        let mut water = Composition::PURE_WATER;
        for (total, mmol) in amounts {
            water.set_mmol_per_l(*total, *mmol);
        }
        Totals::of(&water)
    }

    /// The fast and the sure way share only the balances; where both arrive they must agree.
    #[test]
    fn the_sure_way_ends_where_the_fast_one_does() -> Result<(), ChemistryError> {
        let hard = [(Conserved::Ca, 3.0), (Conserved::SO4, 2.0), (Conserved::Mg, 1.5)];
        let carbonate = [(Conserved::Alkalinity, 5.0), (Conserved::Dic, 4.8)];
        let bound = [(Conserved::Citrate, 2.0), (Conserved::Lactate, 1.0), (Conserved::Na, 300.0)];
        let sour = [(Conserved::Alkalinity, -20.0), (Conserved::Dic, 10.0)];
        let calcite = Solids { carbonate: Some(Mineral::Calcite), ..Solids::default() };
        let both = Solids { sulfate: Some(Mineral::Gypsum), ..calcite };
        let brucite = Solids { hydroxide: true, ..Solids::default() };
        for celsius in [0.0, 25.0, 130.0] {
            let at = Aqueous::at(Celsius::new(celsius))?;
            for (amounts, solids) in [
                (hard.to_vec(), Solids::default()),
                ([&hard[..], &carbonate].concat(), Solids::default()),
                ([&hard[..], &carbonate].concat(), calcite),
                ([&hard[..], &carbonate].concat(), both),
                ([&hard[..], &carbonate].concat(), brucite),
                ([&hard[..], &carbonate, &bound].concat(), Solids::default()),
                ([&hard[..], &sour].concat(), Solids::default()),
            ] {
                let totals = water(&amounts);
                let problem =
                    Problem { solids, ..Problem::clear(&at, &totals, FixedActivities::default()) };
                let mut fast = Search::<{ var::ALL }, ALL_WEIGHTS>::new(&problem);
                let first = fast.guess(None);
                let guess = fast.lambda;
                let arrived = fast.fast(first);
                assert!(arrived.is_some(), "{amounts:?} {solids:?}");
                let mut sure = Search::<{ var::ALL }, ALL_WEIGHTS>::new(&problem);
                sure.guess(None);
                sure.sure(guess)?;
                for (a, b) in fast.lambda.iter().zip(&sure.lambda) {
                    assert!((a - b).abs() < 1e-6, "{celsius} {amounts:?} {solids:?}: {a} {b}");
                }
            }
        }
        Ok(())
    }
}
