//! The studentized range: what the largest of several differences does by chance alone.

use super::integrate::integral;
use super::root::where_increasing;
use super::scale::over_scale;
use super::tails::{count, normal_cdf, normal_density};

/// Where the normal density is taken to end. Our choice: φ(8.5) is 8e-17.
const NORMAL_ENDS: f64 = 8.5;

/// Panels of quadrature over the normal density. Our choice: 12 panels of 16 points give 1e-12 for
/// every number of waters in use; six would lose five digits at ten waters.
const PANELS: u32 = 12;

/// Largest range that is looked for. Our choice; with 2 waters and one degree of freedom the range
/// exceeds it once in 10⁴.
const WIDEST: f64 = 1e4;

/// P(range of `k` standard normal values ≤ w) = k ∫ φ(z) [Φ(z) − Φ(z − w)]^(k−1) dz.
fn normal_range_cdf(w: f64, k: usize) -> f64 {
    if w <= 0.0 {
        return 0.0;
    }
    let power = i32::try_from(k - 1).unwrap_or(i32::MAX);
    let inner = |z: f64| normal_density(z) * (normal_cdf(z) - normal_cdf(z - w)).powi(power);
    (count(k) * integral(-NORMAL_ENDS, NORMAL_ENDS, PANELS, inner)).min(1.0)
}

/// P(Q ≥ q): `k` means, `df` degrees of freedom.
///
/// Source: Tukey's studentized range as integrated by Copenhaver M. D., Holland B., J. Statist.
/// Comput. Simul. 30 (1988) 1–15; here by Gauss–Legendre panels.
///
/// ```
/// use waterflight::chance::range_tail;
/// // The tabled 5 % point for 4 means and 20 degrees of freedom is 3.958.
/// assert!((range_tail(3.958_293, 4, 20.0) - 0.05).abs() < 1e-6);
/// ```
#[must_use]
pub fn range_tail(q: f64, k: usize, df: f64) -> f64 {
    if q <= 0.0 || k < 2 || q.is_nan() || df.is_nan() || df <= 0.0 {
        return 1.0;
    }
    over_scale(df, |s| 1.0 - normal_range_cdf(q * s, k)).clamp(0.0, 1.0)
}

/// The studentized range exceeded with chance `tail`.
#[must_use]
pub fn range_quantile(tail: f64, k: usize, df: f64) -> f64 {
    let mut high = 4.0;
    while range_tail(high, k, df) > tail && high < WIDEST {
        high *= 2.0;
    }
    where_increasing(0.0, high, -tail, |q| -range_tail(q, k, df))
}

#[cfg(test)]
mod tests {
    use super::super::tails::t_two_sided;
    use super::*;

    #[test]
    fn the_range_of_two_is_a_t_test() {
        for df in [1.0, 3.7, 12.0, 200.0] {
            let t: f64 = 2.3;
            let by_range = range_tail(t * std::f64::consts::SQRT_2, 2, df);
            assert!((by_range - t_two_sided(t, df)).abs() < 1e-10, "df {df}");
        }
    }
}
