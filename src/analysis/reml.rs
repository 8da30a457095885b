//! Restricted maximum likelihood for scores of waters by tasters.
//!
//! Model: y = Xβ + Z₁u₁ + Z₂u₂ + e with u₁ of tasters, u₂ of tasters by waters, all independent and
//! normal. With H = I + θ₁Z₁Z₁′ + θ₂Z₂Z₂′, θᵢ = σᵢ²/σ², the criterion made least is
//! (n−p)(1 + ln 2πσ̂²) + ln|H| + ln|X′H⁻¹X| (Patterson H. D., Thompson R., Biometrika 58 (1971) 545).

#![expect(
    clippy::indexing_slicing,
    reason = "fixed-size numeric kernels: every index comes from the sizes the tables were made with"
)]

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use crate::chance::count;

use super::nested::{Nested, State, TERMS};
use super::reml_fit::Fit;

/// Newton steps allowed. Our choice: quadratic convergence takes about ten; more means that the
/// surface is flat, and a flat surface is reported.
const STEPS: usize = 100;

/// Halvings of a step. Our choice: 2⁻⁴⁰ of a step changes no digit.
const HALVINGS: usize = 40;

/// Gain of the criterion that a further Newton step may still promise. Our choice: 1e-13 is
/// beyond what the criterion itself can resolve.
const SETTLED: f64 = 1e-13;

/// Largest variance ratio looked for. Our choice: there the noise of a cup is a ten-thousandth of
/// the component's spread, and scores given in steps cannot show less noise than that but none.
const CEILING: f64 = 1e8;

/// Ratios from which the search starts. Our choice: one start below and one above the usual ratios,
/// since the surface may have two hollows when cups are missing.
const STARTS: [f64; 2] = [0.2, 3.0];

/// Why there is no fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoFit {
    /// No more rows than parameters.
    TooFewRows,
    /// The columns of X cannot be told apart.
    Aliased,
    /// Nothing is left unexplained, so there is no noise to judge by.
    NoNoise,
    /// The search did not settle.
    NotSettled,
}

/// Fits the model; only the `wanted` random terms (tasters, tasters by waters) may vary.
pub(super) fn fit(sums: &Nested, wanted: [bool; TERMS]) -> Result<Fit, NoFit> {
    if sums.spare() == 0 {
        return Err(NoFit::TooFewRows);
    }
    let starts = if wanted.contains(&true) { &STARTS[..] } else { &STARTS[..1] };
    let mut best: Option<(DVector<f64>, f64)> = None;
    let mut failure = NoFit::NotSettled;
    for &start in starts {
        let from = DVector::from_fn(TERMS, |i, _| if wanted[i] { start } else { 0.0 });
        match search(sums, &from, wanted) {
            Ok(found) if best.as_ref().is_none_or(|(_, least)| found.1 < *least) => {
                best = Some(found);
            }
            Ok(_) => {}
            Err(reason) => failure = reason,
        }
    }
    let (theta, _) = best.ok_or(failure)?;
    let state = sums.at(&theta)?;
    let curves = sums.curves(&state);
    Ok(Fit::new(state, curves, count(sums.spare())))
}

/// Projected Newton steps from a start; returns the ratios and the criterion.
fn search(
    sums: &Nested,
    start: &DVector<f64>,
    wanted: [bool; TERMS],
) -> Result<(DVector<f64>, f64), NoFit> {
    let mut state = sums.at(start)?;
    for _ in 0..STEPS {
        let curves = sums.curves(&state);
        let gradient = curves.gradient(&state);
        let free: Vec<usize> = (0..TERMS)
            .filter(|&i| {
                let (at, slope) = (state.theta[i], gradient[i]);
                wanted[i] && !(at <= 0.0 && slope >= 0.0 || at >= CEILING && slope <= 0.0)
            })
            .collect();
        if free.is_empty() {
            return Ok((state.theta, state.criterion));
        }
        let step = curves.newton(&state, &gradient, &free, count(sums.spare()));
        let promise: f64 = free.iter().map(|&i| -gradient[i] * step[i]).sum();
        if promise < SETTLED {
            // The criterion no longer tells points apart; the last step doubles the digits.
            let theta = (&state.theta + step).map(|ratio| ratio.clamp(0.0, CEILING));
            return Ok((theta, state.criterion));
        }
        match better(sums, &state, &step)? {
            Some(next) => state = next,
            None => return Ok((state.theta, state.criterion)),
        }
    }
    Err(NoFit::NotSettled)
}

/// The first of the halved steps that lowers the criterion; `None` when none does.
fn better(sums: &Nested, from: &State, step: &DVector<f64>) -> Result<Option<State>, NoFit> {
    let mut share = 1.0;
    for _ in 0..HALVINGS {
        let theta = (&from.theta + step * share).map(|ratio| ratio.clamp(0.0, CEILING));
        let next = sums.at(&theta)?;
        if next.criterion < from.criterion {
            return Ok(Some(next));
        }
        share /= 2.0;
    }
    Ok(None)
}

/// What the derivatives are made of, with K = ZZ′, P the projection at unit residual variance:
/// tr PKᵢ, y′PKᵢPy, tr PKᵢPKₗ, y′PKᵢPKₗPy, and C X′H⁻¹KᵢH⁻¹X C.
pub(super) struct Curves {
    pub(super) trace: DVector<f64>,
    pub(super) quad: DVector<f64>,
    pub(super) traces: DMatrix<f64>,
    pub(super) quads: DMatrix<f64>,
    pub(super) bends: Vec<DMatrix<f64>>,
}

impl Curves {
    /// Derivative of the criterion in the ratios.
    fn gradient(&self, state: &State) -> DVector<f64> {
        &self.trace - &self.quad / state.variance
    }

    /// The step that would reach the lowest point of a parabola, in the free ratios only. Where the
    /// observed curvature is no bowl, the expected one is used, which always is.
    fn newton(
        &self,
        state: &State,
        gradient: &DVector<f64>,
        free: &[usize],
        spare: f64,
    ) -> DVector<f64> {
        let s = state.variance;
        let pick = |full: &dyn Fn(usize, usize) -> f64| {
            DMatrix::from_fn(free.len(), free.len(), |a, b| full(free[a], free[b]))
        };
        let observed = pick(&|i, l| {
            2.0 * self.quads[(i, l)] / s
                - self.traces[(i, l)]
                - self.quad[i] * self.quad[l] / (s * s * spare)
        });
        let expected = pick(&|i, l| self.traces[(i, l)] - self.trace[i] * self.trace[l] / spare);
        let slope = DVector::from_fn(free.len(), |a, _| -gradient[free[a]]);
        let solved = Cholesky::new(observed)
            .or_else(|| Cholesky::new(expected))
            .map_or_else(|| slope.clone(), |bowl: Cholesky<f64, Dyn>| bowl.solve(&slope));
        let mut step = DVector::zeros(gradient.len());
        for (a, &i) in free.iter().enumerate() {
            step[i] = solved[a];
        }
        step
    }

    /// Which components can vary (`None` is the residual), and the second derivatives of the
    /// criterion in them.
    pub(super) fn information(
        &self,
        state: &State,
        spare: f64,
    ) -> (Vec<Option<usize>>, DMatrix<f64>) {
        let (theta, s, c) = (&state.theta, state.variance, self);
        let m = theta.len();
        // Appends the residual, whose K is I = H − Σ θᵢKᵢ.
        let mut t = c.traces.clone().resize(m + 1, m + 1, 0.0);
        let mut w = c.quads.clone().resize(m + 1, m + 1, 0.0);
        let yy = s * spare;
        for l in 0..m {
            let less_t: f64 = (0..m).map(|i| theta[i] * c.traces[(i, l)]).sum();
            let less_w: f64 = (0..m).map(|i| theta[i] * c.quads[(i, l)]).sum();
            t[(m, l)] = c.trace[l] - less_t;
            w[(m, l)] = c.quad[l] - less_w;
            t[(l, m)] = t[(m, l)];
            w[(l, m)] = w[(m, l)];
        }
        let trace: f64 = spare - theta.dot(&c.trace);
        let quad: f64 = yy - theta.dot(&c.quad);
        t[(m, m)] = trace - (0..m).map(|i| theta[i] * t[(m, i)]).sum::<f64>();
        w[(m, m)] = quad - (0..m).map(|i| theta[i] * w[(m, i)]).sum::<f64>();
        let mut free: Vec<Option<usize>> = (0..m).filter(|&i| theta[i] > 0.0).map(Some).collect();
        if theta.iter().all(|&ratio| ratio < CEILING) {
            free.push(None);
        }
        let place = |which: Option<usize>| which.unwrap_or(m);
        let information = DMatrix::from_fn(free.len(), free.len(), |a, b| {
            let at = (place(free[a]), place(free[b]));
            2.0 * w[at] / s.powi(3) - t[at] / s.powi(2)
        });
        (free, information)
    }
}
