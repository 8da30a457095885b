//! Densities, tails and quantiles of the common distributions, safe for any finite argument.

use statrs::distribution::{
    ChiSquared, Continuous, ContinuousCDF, FisherSnedecor, Normal, StudentsT,
};
use statrs::function::beta::beta_reg;
use statrs::function::gamma::ln_gamma;

use crate::numerics::find_root::find_root;

/// A count as a real number; exact below 2⁵³.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "counts of cups and tasters stay far below 2^53")]
pub const fn count(n: usize) -> f64 {
    n as f64
}

/// Φ(z): the probability that a standard normal value is at most `z`.
///
/// Not from the library of distributions, whose error function jumps by 1e-10 at 1/2.
#[must_use]
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

/// φ(z): the standard normal density.
#[must_use]
pub fn normal_density(z: f64) -> f64 {
    Normal::standard().pdf(z)
}

/// The z below which a share `p` of standard normal values lies; `p` is kept inside the open
/// interval 0..1, so the answer is finite.
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    Normal::standard().inverse_cdf(p.clamp(f64::MIN_POSITIVE, 1.0 - f64::EPSILON))
}

/// P(|T| ≥ |t|) for Student's t with `df` degrees of freedom.
#[must_use]
pub fn t_two_sided(t: f64, df: f64) -> f64 {
    if !usable(df) {
        return 1.0;
    }
    // I_x(df/2, 1/2) at x = df/(df + t²) is the two-sided tail itself (Abramowitz & Stegun 26.7.1).
    beta_reg(df / 2.0, 0.5, (df / (df + t * t)).clamp(0.0, 1.0))
}

/// The t that leaves `tail` above it, for `0 < tail < 1/2`.
#[must_use]
pub fn t_quantile(tail: f64, df: f64) -> f64 {
    let Ok(law) = StudentsT::new(0.0, 1.0, df) else { return 0.0 };
    let p = (1.0 - tail).clamp(0.5, 1.0 - f64::EPSILON);
    let mut high = 2.0;
    while law.cdf(high) < p && high < 1e15 {
        high *= 2.0;
    }
    find_root(0.0, high, p, |t| law.cdf(t))
}

/// P(F ≥ f) for Fisher's F.
#[must_use]
pub fn f_tail(f: f64, df1: f64, df2: f64) -> f64 {
    if f <= 0.0 || f.is_nan() {
        return 1.0;
    }
    if f.is_infinite() {
        return 0.0;
    }
    FisherSnedecor::new(df1, df2).map_or(1.0, |law| law.sf(f))
}

/// The F that leaves `tail` above it.
#[must_use]
pub fn f_quantile(tail: f64, df1: f64, df2: f64) -> f64 {
    let mut high = 1.0;
    while f_tail(high, df1, df2) > tail && high < 1e15 {
        high *= 2.0;
    }
    find_root(0.0, high, -tail, |f| -f_tail(f, df1, df2))
}

/// P(χ² ≥ x) with `df` degrees of freedom.
#[must_use]
pub fn chi_square_tail(x: f64, df: f64) -> f64 {
    if x <= 0.0 || x.is_nan() {
        return 1.0;
    }
    ChiSquared::new(df).map_or(1.0, |law| law.sf(x))
}

/// The value of χ² with `df` degrees of freedom that is not reached with probability `p`; `p` is kept inside
/// the open interval 0..1.
#[must_use]
pub fn chi_square_quantile(p: f64, df: f64) -> f64 {
    let p = p.clamp(f64::MIN_POSITIVE, 1.0 - f64::EPSILON);
    ChiSquared::new(df).map_or(0.0, |law| law.inverse_cdf(p)).max(f64::MIN_POSITIVE)
}

/// P(X ≥ `hits`) for `hits` among `n` independent trials of probability `p`, summed term by term.
///
/// ```
/// use waterflight::numerics::binomial_at_least;
/// // Five or six right of six at probability one third: (12 + 1) / 729.
/// assert!((binomial_at_least(5, 6, 1.0 / 3.0) - 13.0 / 729.0).abs() < 1e-15);
/// ```
#[must_use]
pub fn binomial_at_least(hits: usize, n: usize, p: f64) -> f64 {
    if hits == 0 {
        return 1.0;
    }
    if hits > n || p <= 0.0 {
        return 0.0;
    }
    if p >= 1.0 {
        return 1.0;
    }
    // From the far end inwards: small terms first, so none is lost in rounding.
    (hits..=n).rev().map(|k| binomial_term(k, n, p)).sum::<f64>().min(1.0)
}

/// P(X = `hits`) for `hits` among `n` independent trials of probability `p`, `0 < p < 1`.
#[must_use]
pub fn binomial_term(hits: usize, n: usize, p: f64) -> f64 {
    if hits > n {
        return 0.0;
    }
    let log_choose =
        ln_gamma(count(n) + 1.0) - ln_gamma(count(hits) + 1.0) - ln_gamma(count(n - hits) + 1.0);
    (log_choose + count(hits) * p.ln() + count(n - hits) * (-p).ln_1p()).exp()
}

/// The exact interval of a proportion: `hits` of `n`, each end leaving (1 − `level`)/2 outside; the numbers
/// need not be whole, as where answers count only in part.
/// Source: Clopper C. J., Pearson E. S., Biometrika 26 (1934) 404–413.
#[must_use]
pub fn clopper_pearson(hits: f64, n: f64, level: f64) -> (f64, f64) {
    if n.is_nan() || n <= 0.0 {
        return (0.0, 1.0);
    }
    let outside = (1.0 - level).clamp(0.0, 1.0) / 2.0;
    let hits = hits.clamp(0.0, n);
    let rest = n - hits;
    // A count that is not whole may be an end up to rounding.
    let none = |part: f64| part <= NO_PART * n;
    let low = if none(hits) {
        0.0
    } else {
        find_root(0.0, 1.0, outside, |p| beta_reg(hits, rest + 1.0, p))
    };
    let high = if none(rest) {
        1.0
    } else {
        find_root(0.0, 1.0, 1.0 - outside, |p| beta_reg(hits + 1.0, rest, p))
    };
    (low, high)
}

/// Share of a count that is rounding. Our choice: a hundred times that of a product of two numbers.
const NO_PART: f64 = 1e-13;

/// A degree of freedom that a distribution accepts.
fn usable(df: f64) -> bool {
    df.is_finite() && df > 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_unusable_degree_of_freedom_proves_nothing() {
        assert!((t_two_sided(5.0, 0.0) - 1.0).abs() < 1e-15);
        assert!((t_two_sided(5.0, f64::NAN) - 1.0).abs() < 1e-15);
        assert!((f_tail(f64::NAN, 2.0, 3.0) - 1.0).abs() < 1e-15);
        assert!(f_tail(f64::INFINITY, 2.0, 3.0).abs() < 1e-15);
    }

    #[test]
    fn a_quantile_undoes_its_tail() {
        for df in [1.0, 2.5, 7.0, 40.0, 500.0] {
            let t = t_quantile(0.025, df);
            assert!((t_two_sided(t, df) - 0.05).abs() < 1e-12, "df {df}");
            let f = f_quantile(0.05, 3.0, df);
            assert!((f_tail(f, 3.0, df) - 0.05).abs() < 1e-10, "df {df}");
            for p in [0.01, 0.025, 0.5, 0.975] {
                let x = chi_square_quantile(p, df);
                assert!((1.0 - chi_square_tail(x, df) - p).abs() < 1e-9, "df {df}");
            }
        }
    }

    #[test]
    fn no_hit_and_all_hits_give_one_sided_intervals() {
        let (low, high) = clopper_pearson(0.0, 10.0, 0.95);
        assert!(low.abs() < 1e-15 && (high - (1.0 - 0.025_f64.powf(0.1))).abs() < 1e-12);
        let (low, high) = clopper_pearson(10.0, 10.0, 0.95);
        assert!((low - 0.025_f64.powf(0.1)).abs() < 1e-12 && (high - 1.0).abs() < 1e-15);
    }
}
