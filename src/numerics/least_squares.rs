//! The best value of several estimates of one quantity, whatever they share: generalised least
//! squares (Aitken 1935) with the covariance that follows from shared inputs (JCGM 100:2008, H.2).

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
    /// Whether the estimates agree. The limit is the mean of chi-squared plus two of its standard
    /// deviations, `n + 2·√(2n)`: our choice of about 95 %.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
    pub fn agrees(&self) -> bool {
        let n = self.freedom as f64;
        self.freedom == 0 || self.chi_squared <= n + 2.0 * (2.0 * n).sqrt()
    }
}

/// The best value; `None` without estimates or when one of them is exact.
#[must_use]
pub fn best(estimates: &[Uncertain]) -> Option<BestValue> {
    let covariance: Vec<Vec<f64>> =
        estimates.iter().map(|a| estimates.iter().map(|b| a.covariance(b)).collect()).collect();
    let ones = vec![1.0; estimates.len()];
    let weights = solve(covariance.clone(), ones)?;
    let whole: f64 = weights.iter().sum();
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
    let differences: Vec<f64> = estimates.iter().map(|e| e.value - value).collect();
    let weighted = solve(covariance, differences.clone())?;
    let chi_squared = differences.iter().zip(weighted).map(|(d, w)| d * w).sum();
    Some(BestValue {
        result: Uncertain { value, parts },
        chi_squared,
        freedom: estimates.len().saturating_sub(1),
    })
}

/// Solves `A·x = b` for a symmetric positive definite matrix by elimination; `None` when it is
/// not one.
fn solve(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Option<Vec<f64>> {
    /// Our choice: a pivot this much smaller than its diagonal is rounding.
    const SINGULAR: f64 = 1e-12;
    let n = b.len();
    let diagonal: Vec<f64> =
        a.iter().enumerate().filter_map(|(i, row)| row.get(i).copied()).collect();
    for column in 0..n {
        let pivot_row = a.get(column)?.clone();
        let pivot = *pivot_row.get(column)?;
        if pivot.is_nan() || pivot <= SINGULAR * diagonal.get(column)? {
            return None;
        }
        let pivot_b = *b.get(column)?;
        for row in column + 1..n {
            let factor = a.get(row)?.get(column)? / pivot;
            for (x, p) in a.get_mut(row)?.iter_mut().zip(&pivot_row) {
                *x -= factor * p;
            }
            *b.get_mut(row)? -= factor * pivot_b;
        }
    }
    let mut x = vec![0.0; n];
    for row in (0..n).rev() {
        let coefficients = a.get(row)?;
        let known: f64 =
            coefficients.iter().zip(&x).skip(row + 1).map(|(c, value)| c * value).sum();
        *x.get_mut(row)? = (b.get(row)? - known) / coefficients.get(row)?;
    }
    (n > 0).then_some(x)
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
