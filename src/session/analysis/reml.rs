//! Restricted maximum likelihood for scores of waters by tasters.
//!
//! Model: y = Xβ + Zu + e with tasters among the columns of X (each taster is a block), u of tasters by
//! waters, e of cups, independent and normal. With H = I + θZZ′, θ = σ²(taster × water)/σ²(cup), the
//! criterion made least is (n−p)(1 + ln 2πσ̂²) + ln|H| + ln|X′H⁻¹X| (Patterson H. D., Thompson R.,
//! Biometrika 58 (1971) 545).
//!
//! θ may come out negative, as a classical analysis of variance lets it: it is cut off only where H
//! would be no covariance. Cut off at zero instead, the residual error that waters are judged by would be taken
//! too small whenever it fell below that of a cup at random, and too many differences would be seen
//! (Stroup W. W., Littell R. C., Impact of variance component estimates on fixed effect inference in
//! unbalanced linear mixed models, Conference on Applied Statistics in Agriculture (2002), from memory).

use crate::numerics::count;

use crate::session::analysis::nested::{Nested, State};
use crate::session::analysis::reml_fit::Fit;

/// Newton steps allowed. Our choice: quadratic convergence takes about ten; more means that the
/// surface is flat, and a flat surface is reported.
const STEPS: usize = 100;

/// Halvings of a step. Our choice: 2⁻⁴⁰ of a step changes no digit.
const HALVINGS: usize = 40;

/// Gain of the criterion that a further Newton step may still promise. Our choice: 1e-13 is
/// beyond what the criterion itself can resolve.
const SETTLED: f64 = 1e-13;

/// Largest variance ratio looked for. Our choice: there the residual error of a cup is a ten-thousandth of
/// the component's spread, and scores given in steps cannot show less residual error than that but none.
const CEILING: f64 = 1e8;

/// How near to its lower end the ratio may come, as a share of it. Our choice: nearer, tasters agree
/// about the waters to a millionth of what single cups differ by, and there is no residual error to judge by.
const NEAR_FLOOR: f64 = 1e-12;

/// Ratios from which the search starts. Our choice: one start below and one above the usual ratios,
/// since the surface may have two hollows when cups are missing.
const STARTS: [f64; 2] = [0.2, 3.0];

/// Why there is no fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum NoFit {
    /// No more rows than parameters.
    TooFewRows,
    /// No more cells than parameters, so that tasters by waters cannot be seen.
    TooFewCells,
    /// The columns of X are not linearly independent.
    Aliased,
    /// Nothing is left unexplained, so there is no residual error to judge by.
    NoResidual,
    /// Cups differ, but the tasters' means of them agree exactly about the waters.
    TastersAgree,
    /// The search did not settle.
    NotSettled,
}

/// Fits the model; `cells_vary` puts tasters by waters into it.
pub(crate) fn fit(sums: &Nested, cells_vary: bool) -> Result<Fit, NoFit> {
    if sums.spare() == 0 {
        return Err(NoFit::TooFewRows);
    }
    if !cells_vary {
        let state = sums.at(0.0)?;
        let curves = sums.curves(&state);
        return Ok(Fit::new(state, &curves, count(sums.spare()), None));
    }
    if sums.spare_cells() < 1.0 {
        return Err(NoFit::TooFewCells);
    }
    let mut best: Option<(f64, f64)> = None;
    let mut failure = NoFit::NotSettled;
    for start in STARTS {
        match search(sums, start) {
            Ok(found) if best.is_none_or(|(_, least)| found.1 < least) => best = Some(found),
            Ok(_) => {}
            Err(reason) => failure = reason,
        }
    }
    let (theta, _) = best.ok_or(failure)?;
    if theta <= sums.floor() * (1.0 - 2.0 * NEAR_FLOOR) {
        return Err(NoFit::TastersAgree);
    }
    let state = sums.at(theta)?;
    let curves = sums.curves(&state);
    let bend = sums.bend(&state);
    Ok(Fit::new(state, &curves, count(sums.spare()), Some(bend)))
}

/// Newton steps from a start, within the ends of the ratio; returns the ratio and the criterion.
fn search(sums: &Nested, start: f64) -> Result<(f64, f64), NoFit> {
    let (floor, spare) = (sums.floor() * (1.0 - NEAR_FLOOR), count(sums.spare()));
    let mut state = sums.at(start)?;
    for _ in 0..STEPS {
        let curves = sums.curves(&state);
        let slope = curves.slope(&state);
        let at_end = state.theta <= floor && slope >= 0.0 || state.theta >= CEILING && slope <= 0.0;
        if at_end {
            return Ok((state.theta, state.criterion));
        }
        let step = -slope / curves.bowl(&state, spare);
        if -slope * step < SETTLED {
            // The criterion no longer tells points apart; the last step doubles the digits.
            return Ok(((state.theta + step).clamp(floor, CEILING), state.criterion));
        }
        match better(sums, &state, step, floor) {
            Some(next) => state = next,
            None => return Ok((state.theta, state.criterion)),
        }
    }
    Err(NoFit::NotSettled)
}

/// The first of the halved steps that lowers the criterion; `None` when none does. What cannot be
/// computed at the very end of the range is no better.
fn better(sums: &Nested, from: &State, step: f64, floor: f64) -> Option<State> {
    let mut share = 1.0;
    for _ in 0..HALVINGS {
        let next = sums.at((from.theta + step * share).clamp(floor, CEILING));
        if let Some(next) = next.ok().filter(|next| next.criterion < from.criterion) {
            return Some(next);
        }
        share /= 2.0;
    }
    None
}

/// What the derivatives are made of, with K = ZZ′, P the projection at unit residual variance:
/// tr PK, y′PKPy, tr PKPK and y′PKPKPy.
pub(crate) struct CriterionDerivatives {
    pub(crate) trace: f64,
    pub(crate) quad: f64,
    pub(crate) traces: f64,
    pub(crate) quads: f64,
}

impl CriterionDerivatives {
    /// Derivative of the criterion in the ratio.
    fn slope(&self, state: &State) -> f64 {
        self.trace - self.quad / state.variance
    }

    /// Second derivative of the criterion in the ratio. Where the observed one is no bowl, the
    /// expected one is used, which always is.
    fn bowl(&self, state: &State, spare: f64) -> f64 {
        let s = state.variance;
        let observed = 2.0 * self.quads / s - self.traces - self.quad * self.quad / (s * s * spare);
        let expected = self.traces - self.trace * self.trace / spare;
        match (observed > 0.0, expected > 0.0) {
            (true, _) => observed,
            (_, true) => expected,
            _ => 1.0,
        }
    }

    /// Second derivatives of the criterion in the variance of tasters by waters and that of a cup.
    pub(crate) fn information(&self, state: &State, spare: f64) -> [[f64; 2]; 2] {
        let (theta, s) = (state.theta, state.variance);
        // The cup's K is I = H − θZZ′.
        let (t, w) = (self.traces, self.quads);
        let (across_t, across_w) = (self.trace - theta * t, self.quad - theta * w);
        let own_t = spare - theta * self.trace - theta * across_t;
        let own_w = s * spare - theta * self.quad - theta * across_w;
        let at = |w: f64, t: f64| 2.0 * w / s.powi(3) - t / s.powi(2);
        [[at(w, t), at(across_w, across_t)], [at(across_w, across_t), at(own_w, own_t)]]
    }
}
