//! The studentized range: what the largest of several differences does at random alone.

use std::collections::BTreeMap;

use crate::numerics::expectation_over_chi::expectation_over_chi;
use crate::numerics::find_root::find_root;
use crate::numerics::quadrature::integral;
use crate::numerics::{count, normal_cdf, normal_density};

/// Where the normal density is taken to end. Our choice: φ(8.5) is 8e-17.
const NORMAL_ENDS: f64 = 8.5;

/// Panels of quadrature over the normal density. Our choice: 8 panels of 16 points give 1e-12 for
/// every number of waters in use; six would leave 1e-10 at twenty-four.
const PANELS: u32 = 8;

/// Largest studentized range that is looked for. Our choice; with 2 waters and one degree of
/// freedom the range exceeds it once in 10⁴.
const WIDEST: f64 = 1e4;

/// Width of a normal range from which on its probability is 1. Our choice: for a thousand waters it is
/// exceeded less than once in 10¹⁴.
const FULL: f64 = 13.0;

/// Points of a panel of width 1 on which the probability of a normal range is tabulated. Our choice: a
/// polynomial through 16 keeps 1e-13.
const POINTS: usize = 16;

/// The studentized range of a number of waters, tabulated once for many questions.
///
/// P(Q ≤ q) is the average of W(qS) over the error S of the standard deviation, where
/// W(w) = k ∫ φ(z) [Φ(z) − Φ(z − w)]^(k−1) dz is the probability that a normal range of k is at most w.
/// Source: Tukey's studentized range as integrated by Copenhaver M. D., Holland B., J. Statist.
/// Comput. Simul. 30 (1988) 1–15; here by Gauss–Legendre panels.
///
/// ```
/// use waterflight::numerics::StudentizedRange;
/// // The tabled 5 % point for 4 means and 20 degrees of freedom is 3.958.
/// let law = StudentizedRange::new(4);
/// assert!((law.tail(3.958_293, 20.0) - 0.05).abs() < 1e-6);
/// assert!((law.quantile(0.05, 20.0) - 3.958_293).abs() < 1e-5);
/// ```
#[derive(Debug, Clone)]
pub struct StudentizedRange {
    /// Chebyshev coefficients of W on 0..1, 1..2, …
    panels: Vec<[f64; POINTS]>,
}

impl StudentizedRange {
    /// The law for `waters` means, at least two.
    #[must_use]
    pub fn new(waters: usize) -> Self {
        let waters = waters.max(2);
        let mut panels = Vec::new();
        let mut from = 0.0;
        while from < FULL {
            panels.push(fitted(|x| normal_range_cdf(from + f64::midpoint(x, 1.0), waters)));
            from += 1.0;
        }
        Self { panels }
    }

    /// W(w).
    fn within(&self, w: f64) -> f64 {
        if w <= 0.0 {
            return 0.0;
        }
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "w is positive and cut off at the end of the table"
        )]
        let panel = w.min(FULL + 1.0) as usize;
        self.panels
            .get(panel)
            .map_or(1.0, |coefficients| sum_up(coefficients, 2.0 * (w - count(panel)) - 1.0))
    }

    /// P(Q ≥ q) with `df` degrees of freedom.
    #[must_use]
    pub fn tail(&self, q: f64, df: f64) -> f64 {
        if q <= 0.0 || q.is_nan() || df.is_nan() || df <= 0.0 {
            return 1.0;
        }
        expectation_over_chi(df, |s| 1.0 - self.within(q * s)).clamp(0.0, 1.0)
    }

    /// The studentized range exceeded with probability `tail`.
    #[must_use]
    pub fn quantile(&self, tail: f64, df: f64) -> f64 {
        let mut high = 4.0;
        while self.tail(high, df) > tail && high < WIDEST {
            high *= 2.0;
        }
        find_root(0.0, high, -tail, |q| -self.tail(q, df))
    }
}

/// Studentized ranges of several numbers of waters, each worked out once: attributes of one session
/// ask the same questions again and again.
#[derive(Debug, Clone, Default)]
pub struct StudentizedRanges {
    laws: BTreeMap<usize, StudentizedRange>,
    quantiles: BTreeMap<(usize, u64, u64), f64>,
}

impl StudentizedRanges {
    /// The law for `waters` means.
    pub fn law(&mut self, waters: usize) -> &StudentizedRange {
        self.laws.entry(waters).or_insert_with(|| StudentizedRange::new(waters))
    }

    /// As [`StudentizedRange::quantile`].
    pub fn quantile(&mut self, waters: usize, tail: f64, df: f64) -> f64 {
        let question = (waters, tail.to_bits(), df.to_bits());
        if let Some(known) = self.quantiles.get(&question) {
            return *known;
        }
        let found = self.law(waters).quantile(tail, df);
        self.quantiles.insert(question, found);
        found
    }
}

/// P(range of `k` standard normal values ≤ w).
fn normal_range_cdf(w: f64, k: usize) -> f64 {
    let power = i32::try_from(k - 1).unwrap_or(i32::MAX);
    let inner = |z: f64| normal_density(z) * (normal_cdf(z) - normal_cdf(z - w)).powi(power);
    (count(k) * integral(-NORMAL_ENDS, NORMAL_ENDS, PANELS, inner)).min(1.0)
}

/// Chebyshev coefficients of a function on −1..1, from its values at the Chebyshev points.
fn fitted(f: impl Fn(f64) -> f64) -> [f64; POINTS] {
    let angle = |i: usize| std::f64::consts::PI * (count(i) + 0.5) / count(POINTS);
    let values: Vec<f64> = (0..POINTS).map(|i| f(angle(i).cos())).collect();
    std::array::from_fn(|j| {
        let sum: f64 =
            values.iter().enumerate().map(|(i, v)| v * (count(j) * angle(i)).cos()).sum();
        sum * if j == 0 { 1.0 } else { 2.0 } / count(POINTS)
    })
}

/// Sums Chebyshev polynomials up (Clenshaw C. W., Math. Tables Aids Comput. 9 (1955) 118–120).
fn sum_up(coefficients: &[f64; POINTS], x: f64) -> f64 {
    let (mut last, mut before) = (0.0, 0.0);
    for coefficient in coefficients.iter().skip(1).rev() {
        (last, before) = (2.0 * x * last - before + coefficient, last);
    }
    x * last - before + coefficients.first().unwrap_or(&0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numerics::t_two_sided;

    #[test]
    fn the_range_of_two_is_a_t_test() {
        let law = StudentizedRange::new(2);
        for df in [1.0, 3.7, 12.0, 200.0] {
            let t: f64 = 2.3;
            let by_range = law.tail(t * std::f64::consts::SQRT_2, df);
            assert!((by_range - t_two_sided(t, df)).abs() < 1e-10, "df {df}");
        }
    }

    #[test]
    fn nothing_is_certain_of_an_unusable_question() {
        let law = StudentizedRange::new(5);
        assert!((law.tail(f64::NAN, 5.0) - 1.0).abs() < 1e-15);
        assert!((law.tail(3.0, 0.0) - 1.0).abs() < 1e-15);
        assert!(law.tail(f64::INFINITY, 5.0).abs() < 1e-15);
    }
}
