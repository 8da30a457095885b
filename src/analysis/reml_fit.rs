//! A fitted model: its effects, their covariance, and Satterthwaite's degrees of freedom.

#![expect(
    clippy::indexing_slicing,
    reason = "fixed-size numeric kernels: every index comes from the sizes the tables were made with"
)]

use nalgebra::{DMatrix, DVector};

use super::nested::State;
use super::reml::Curves;

/// Curvature, relative to the strongest, that counts as none. Our choice: below it
/// a direction is rounding, and its inverse would be noise.
const FLAT: f64 = 1e-10;

/// A fitted model.
pub(super) struct Fit {
    state: State,
    curves: Curves,
    spare: f64,
    /// Components that can vary; `None` is the residual.
    free: Vec<Option<usize>>,
    /// Curvature of the criterion in them: values and directions; directions without curvature
    /// carry no information and are left out.
    directions: Vec<(f64, DVector<f64>)>,
}

/// An estimate with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Estimate {
    /// The estimate.
    pub(super) value: f64,
    /// Its variance.
    pub(super) variance: f64,
    /// Degrees of freedom behind the variance.
    pub(super) df: f64,
}

impl Fit {
    pub(super) fn new(state: State, curves: Curves, spare: f64) -> Self {
        let (free, information) = curves.information(&state, spare);
        let eigen = information.symmetric_eigen();
        let most = eigen.eigenvalues.iter().fold(0.0_f64, |most, v| most.max(*v));
        let directions = eigen
            .eigenvalues
            .iter()
            .zip(eigen.eigenvectors.column_iter())
            .filter(|(value, _)| **value > most * FLAT)
            .map(|(value, direction)| (*value, direction.into_owned()))
            .collect();
        Self { state, curves, spare, free, directions }
    }

    /// Variance ratios of tasters and of tasters by waters; 0 for a term that was not wanted.
    pub(super) fn ratios(&self) -> &DVector<f64> {
        &self.state.theta
    }

    /// Residual variance.
    pub(super) fn residual(&self) -> f64 {
        self.state.variance
    }

    /// Covariance of the effects.
    pub(super) fn covariance(&self) -> DMatrix<f64> {
        &self.state.cov * self.state.variance
    }

    /// A linear combination of the effects, with Satterthwaite's degrees of freedom.
    pub(super) fn combination(&self, weights: &DVector<f64>) -> Estimate {
        let s = self.state.variance;
        let variance = s * weights.dot(&(&self.state.cov * weights));
        let df = self.degrees(weights, variance);
        Estimate { value: weights.dot(&self.state.beta), variance, df }
    }

    /// Satterthwaite's 2f²/(g′Ag): f the variance of the combination, g its derivatives in the
    /// variance components, A their covariance from the observed information (Giesbrecht F. G.,
    /// Burns J. C., Biometrics 41 (1985) 477–486). Components at zero do not vary.
    fn degrees(&self, weights: &DVector<f64>, variance: f64) -> f64 {
        let bend = |i: usize| weights.dot(&(&self.curves.bends[i] * weights));
        let bends: Vec<f64> = (0..self.state.theta.len()).map(bend).collect();
        let plain = weights.dot(&(&self.state.cov * weights));
        let inner: f64 = bends.iter().zip(self.state.theta.iter()).map(|(b, t)| b * t).sum();
        let slope = DVector::from_fn(self.free.len(), |a, _| match self.free[a] {
            Some(i) => bends[i],
            None => plain - inner,
        });
        // −2 ln L has these second derivatives, so the covariance of the components is twice
        // their inverse.
        let vague: f64 = self
            .directions
            .iter()
            .map(|(value, direction)| 2.0 * direction.dot(&slope).powi(2) / value)
            .sum();
        if vague > 0.0 { 2.0 * variance * variance / vague } else { self.spare }
    }
}
