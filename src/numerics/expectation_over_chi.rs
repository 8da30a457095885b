//! Averages over S = √(χ²/ν), the error of an estimated standard deviation, and what follows:
//! the non-central t and the power of a t test.

use statrs::function::gamma::ln_gamma;

use crate::numerics::normal_cdf;
use crate::numerics::quadrature::integral;

/// Degrees of freedom from which S is taken as 1. Our choice: there the standard deviation of S is
/// 7e-6 and no tail in use moves in its ninth digit.
const SETTLED: f64 = 1e10;

/// Log-density of S below which nothing is added to an integral. Our choice: e^−39 is 1e-17.
const NEGLIGIBLE: f64 = -39.0;

/// Panels of quadrature over ln S on each side of the peak, from `BROAD_BELOW` degrees of freedom
/// on and below. Our choice: with 16 points each, integrals keep 1e-11 from ν = 0.5 on.
const PANELS: u32 = 5;
/// See [`PANELS`].
const PANELS_BROAD: u32 = 16;
/// See [`PANELS`].
const BROAD_BELOW: f64 = 30.0;

/// E[g(S)], S² a χ² with `df` degrees of freedom divided by `df`.
///
/// Integrated over x = ln S, where the density ν^(ν/2) e^(νx − νe^(2x)/2) / (Γ(ν/2) 2^(ν/2−1)) is
/// smooth for every ν > 0.
pub fn expectation_over_chi(df: f64, mut g: impl FnMut(f64) -> f64) -> f64 {
    if df >= SETTLED {
        return g(1.0);
    }
    let log_height = 0.5 * df * df.ln() - ln_gamma(df / 2.0) - (df / 2.0 - 1.0) * 2.0_f64.ln();
    let log_density = |x: f64| log_height + df * (x - 0.5 * (2.0 * x).exp());
    let step = 1.0 / (2.0 * df).sqrt();
    let edge = |direction: f64| {
        let mut far = direction * step;
        while log_density(far) > NEGLIGIBLE {
            far += direction * step;
        }
        far
    };
    let (low, high) = (edge(-1.0), edge(1.0));
    let panels = if df < BROAD_BELOW { PANELS_BROAD } else { PANELS };
    let (mut mass, mut sum) = (0.0, 0.0);
    // Left and right of the peak apart: at few degrees of freedom the left tail is far longer.
    for (from, to) in [(low, 0.0), (0.0, high)] {
        mass += integral(from, to, panels, |x| log_density(x).exp());
        sum += integral(from, to, panels, |x| log_density(x).exp() * g(x.exp()));
    }
    sum / mass
}

/// P(T ≥ t) for the non-central t with `df` degrees of freedom and non-centrality `delta`.
///
/// ```
/// use waterflight::numerics::noncentral_t_tail;
/// // With no shift it is Student's t: 5 % lie above 2.015048 at 5 degrees of freedom.
/// assert!((noncentral_t_tail(2.015_048_372_669_157, 5.0, 0.0) - 0.05).abs() < 1e-10);
/// ```
#[must_use]
pub fn noncentral_t_tail(t: f64, df: f64, delta: f64) -> f64 {
    if df.is_nan() || df <= 0.0 {
        return 1.0;
    }
    expectation_over_chi(df, |s| normal_cdf(delta - t * s)).clamp(0.0, 1.0)
}

/// Power of a two-sided t test whose critical value is `critical`, at non-centrality `delta`.
#[must_use]
pub fn t_power_two_sided(critical: f64, df: f64, delta: f64) -> f64 {
    let above = noncentral_t_tail(critical, df, delta);
    let below = noncentral_t_tail(critical, df, -delta);
    (above + below).min(1.0)
}
