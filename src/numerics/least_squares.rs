//! The best value of several estimates of one quantity, whatever they share: generalised least
//! squares (Aitken 1935) with the covariance that follows from shared inputs (JCGM 100:2008, H.2).

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use crate::quantities::uncertain::Uncertain;

/// A value from several estimates.
#[derive(Debug, Clone, PartialEq)]
pub struct BestValue {
    /// The value, with what each input contributes to its uncertainty.
    pub result: Uncertain,
    /// Weighted sum of squared differences.
    pub chi_squared: f64,
    /// Estimates beyond the first.
    pub freedom: usize,
}

impl BestValue {
    /// How much wider the estimates scatter than what each has of its own lets them, at least 1: the
    /// ratio by which that is widened (Birge, Phys. Rev. 40 (1932) 207; from memory).
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
    pub fn scatter(&self) -> f64 {
        (self.chi_squared / self.freedom.max(1) as f64).sqrt().max(1.0)
    }

    /// Whether the estimates may be of one quantity: they scatter by no more than three times what each
    /// has of its own. Our choice: hand-held instruments repeat themselves so well, and of two readings
    /// that are right one pair in four hundred is further apart.
    #[must_use]
    pub fn agrees(&self) -> bool {
        /// See above.
        const MOST_SCATTER: f64 = 3.0;
        self.scatter() <= MOST_SCATTER
    }
}

/// The best value; `None` without estimates or when one of them is exact.
#[must_use]
pub fn best(estimates: &[Uncertain]) -> Option<BestValue> {
    let n = estimates.len();
    let all = estimates.iter().flat_map(|a| estimates.iter().map(|b| a.covariance(b)));
    let factors = factors(DMatrix::from_iterator(n, n, all))?;
    let weights = factors.solve(&DVector::from_element(n, 1.0));
    let whole = weights.sum();
    if whole <= 0.0 {
        return None;
    }
    let value = weights.iter().zip(estimates).map(|(w, e)| w * e.value).sum::<f64>() / whole;
    let mut parts = vec![0.0; estimates.iter().map(|e| e.parts.len()).max()?];
    for (weight, estimate) in weights.iter().zip(estimates) {
        for (sum, part) in parts.iter_mut().zip(&estimate.parts) {
            *sum += weight * part / whole;
        }
    }
    let differences = DVector::from_iterator(n, estimates.iter().map(|e| e.value - value));
    let chi_squared = differences.dot(&factors.solve(&differences));
    Some(BestValue {
        result: Uncertain { value, parts },
        chi_squared,
        freedom: n.saturating_sub(1),
    })
}

/// The factors of a symmetric positive definite matrix; `None` when it is not one.
fn factors(matrix: DMatrix<f64>) -> Option<Cholesky<f64, Dyn>> {
    /// Our choice: a pivot this much smaller than its diagonal is rounding.
    const SINGULAR: f64 = 1e-12;
    let diagonal = matrix.diagonal();
    let found = matrix.cholesky()?;
    let pivots = found.l_dirty().diagonal();
    let sound = |(pivot, all): (&f64, &f64)| pivot * pivot > SINGULAR * all;
    (!diagonal.is_empty() && pivots.iter().zip(&diagonal).all(sound)).then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn estimate(value: f64, parts: &[f64]) -> Uncertain {
        Uncertain { value, parts: parts.to_vec() }
    }

    #[test]
    fn independent_estimates_are_weighted_by_their_variance() {
        let got = best(&[estimate(10.0, &[1.0, 0.0]), estimate(13.0, &[0.0, 2.0])]);
        // weights 1 and 1/4: (10 + 13/4)/(5/4), u = √(4/5), χ² = 9/(1 + 4)
        assert!(got.as_ref().is_some_and(|b| (b.result.value - 10.6).abs() < 1e-12));
        assert!(got.as_ref().is_some_and(|b| (b.result.standard() - 0.8_f64.sqrt()).abs() < 1e-12));
        assert!(got.is_some_and(|b| (b.chi_squared - 1.8).abs() < 1e-12 && b.agrees()));
    }

    /// What two readings share does not average out.
    #[test]
    fn a_shared_part_stays() {
        let got = best(&[estimate(10.0, &[1.0, 0.5, 0.0]), estimate(10.2, &[1.0, 0.0, 0.5])]);
        assert!(
            got.is_some_and(|b| (b.result.standard() - (1.0_f64 + 0.125).sqrt()).abs() < 1e-12)
        );
    }

    #[test]
    fn contradictions_show() {
        let got = best(&[estimate(10.0, &[0.1, 0.0]), estimate(12.0, &[0.0, 0.1])]);
        assert!(got.is_some_and(|b| !b.agrees()));
        assert_eq!(best(&[]), None);
        assert_eq!(best(&[estimate(1.0, &[0.0])]), None);
    }
}
