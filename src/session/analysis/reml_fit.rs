//! A fitted model: its effects, their covariance, and Satterthwaite's degrees of freedom.

use nalgebra::{DMatrix, DVector};

use crate::session::analysis::criterion::{CriterionDerivatives, State};

/// Curvature, relative to the strongest, that counts as none. Our choice: below it
/// a direction is rounding, and its inverse would be noise.
const FLAT: f64 = 1e-10;

/// Fewest degrees of freedom. Our choice: an estimated variance has one at least; where a variance below
/// zero makes the approximation say less, nothing is judged by less than that.
const LEAST_DF: f64 = 1.0;

/// A fitted model.
pub(crate) struct Fit {
    state: State,
    spare: f64,
    /// What tasters by waters add to the covariance of the effects; `None` when they are not in the
    /// model, so that the cup's residual error is all there is.
    bend: Option<DMatrix<f64>>,
    /// Curvature of the criterion in the two variances: values and directions; directions without
    /// curvature carry no information and are left out.
    directions: Vec<(f64, [f64; 2])>,
}

/// An estimate with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Estimate {
    /// The estimate.
    pub(crate) value: f64,
    /// Its variance.
    pub(crate) variance: f64,
    /// Degrees of freedom behind the variance.
    pub(crate) df: f64,
}

impl Fit {
    pub(crate) fn new(
        state: State,
        curves: &CriterionDerivatives,
        spare: f64,
        bend: Option<DMatrix<f64>>,
    ) -> Self {
        let mut directions = Vec::new();
        if bend.is_some() {
            let eigen = curves.information(&state, spare).symmetric_eigen();
            let most = eigen.eigenvalues.max().max(0.0);
            directions = eigen
                .eigenvalues
                .iter()
                .zip(eigen.eigenvectors.column_iter())
                .filter(|(value, _)| **value > most * FLAT)
                .map(|(value, direction)| (*value, [direction.x, direction.y]))
                .collect();
        }
        Self { state, spare, bend, directions }
    }

    /// Variance of tasters by waters; below zero where tasters agree better about the waters than
    /// single cups do. `None` when it is not in the model.
    pub(crate) fn of_cells(&self) -> Option<f64> {
        self.bend.as_ref().map(|_| self.state.theta * self.state.variance)
    }

    /// Residual variance.
    pub(crate) fn residual(&self) -> f64 {
        self.state.variance
    }

    /// Covariance of the effects.
    pub(crate) fn covariance(&self) -> DMatrix<f64> {
        &self.state.cov * self.state.variance
    }

    /// A linear combination of the effects, with Satterthwaite's degrees of freedom.
    pub(crate) fn combination(&self, weights: &DVector<f64>) -> Estimate {
        let variance = self.state.variance * weights.dot(&(&self.state.cov * weights));
        let df = self.degrees(weights, variance);
        Estimate { value: weights.dot(&self.state.beta), variance, df }
    }

    /// Satterthwaite's 2f²/(g′Ag): f the variance of the combination, g its derivatives in the
    /// variance components, A their covariance from the observed information (Giesbrecht F. G.,
    /// Burns J. C., Biometrics 41 (1985) 477–486).
    fn degrees(&self, weights: &DVector<f64>, variance: f64) -> f64 {
        let Some(bend) = &self.bend else { return self.spare };
        let cells = weights.dot(&(bend * weights));
        let cup = variance / self.state.variance - self.state.theta * cells;
        // −2 ln L has these second derivatives, so the covariance of the components is twice
        // their inverse.
        let along = |direction: &[f64; 2]| (direction[0] * cells + direction[1] * cup).powi(2);
        let vague: f64 = self.directions.iter().map(|(value, way)| 2.0 * along(way) / value).sum();
        if vague > 0.0 { (2.0 * variance * variance / vague).max(LEAST_DF) } else { self.spare }
    }
}
