//! The criterion of restricted maximum likelihood at a ratio of variances: the model there, and the
//! derivatives that lead to a better ratio and say how well it is known.

use nalgebra::{DMatrix, DVector, Matrix2};

/// The model at a given ratio θ.
pub(crate) struct State {
    pub(crate) theta: f64,
    pub(crate) criterion: f64,
    /// Residual variance.
    pub(crate) variance: f64,
    pub(crate) beta: DVector<f64>,
    /// (X′H⁻¹X)⁻¹.
    pub(crate) cov: DMatrix<f64>,
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
    pub(crate) fn slope(&self, state: &State) -> f64 {
        self.trace - self.quad / state.variance
    }

    /// Second derivative of the criterion in the ratio. Where the observed one is no bowl, the
    /// expected one is used, which always is.
    pub(crate) fn bowl(&self, state: &State, spare: f64) -> f64 {
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
    pub(crate) fn information(&self, state: &State, spare: f64) -> Matrix2<f64> {
        let (theta, s) = (state.theta, state.variance);
        // The cup's K is I = H − θZZ′.
        let (t, w) = (self.traces, self.quads);
        let (across_t, across_w) = (self.trace - theta * t, self.quad - theta * w);
        let own_t = spare - theta * self.trace - theta * across_t;
        let own_w = s * spare - theta * self.quad - theta * across_w;
        let at = |w: f64, t: f64| 2.0 * w / s.powi(3) - t / s.powi(2);
        let across = at(across_w, across_t);
        Matrix2::new(at(w, t), across, across, at(own_w, own_t))
    }
}
