//! All pairs of waters compared, allowing for their number.

#![expect(
    clippy::indexing_slicing,
    reason = "every index comes from the size the tables were made with"
)]

use nalgebra::DVector;

use crate::numerics::{StudentizedRanges, count, t_quantile, t_two_sided};

use crate::session::analysis::confidence_level::LEVEL;
use crate::session::analysis::design::Columns;
use crate::session::analysis::reml_fit::Fit;

/// Relative difference of two standard errors that counts as none. Our choice: balanced designs
/// give equal ones up to rounding and the search's last digit; one missing cup changes a percent.
pub(crate) const SAME: f64 = 1e-6;

/// How the tests allow for many comparisons.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Multiplicity {
    /// Tukey's honest significant difference: exact when every pair has the same precision.
    Tukey,
    /// Holm's step-down p-values (Holm S., Scand. J. Statist. 6 (1979) 65–70) and Bonferroni
    /// intervals: valid for any pattern of cups.
    Holm,
}

/// The difference of two waters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// The water with the earlier place.
    pub first: usize,
    /// The other.
    pub second: usize,
    /// First less second.
    pub estimate: f64,
    /// Standard error.
    pub standard_error: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// Interval that holds for all pairs at once, and for all attributes that are tested beside it.
    pub interval: (f64, f64),
    /// p of this pair alone.
    pub p_alone: f64,
    /// p allowing for all pairs and for all attributes that are tested beside it; 1 where the
    /// attribute is described and not tested.
    pub p: f64,
}

/// All pairs of waters, allowing for each other.
pub(crate) fn differences(
    columns: &Columns,
    fit: &Fit,
    wanted: Option<Multiplicity>,
    ranges: &mut StudentizedRanges,
) -> (Vec<Difference>, Multiplicity) {
    let mut found = pairs(columns, fit);
    let multiplicity = wanted.unwrap_or_else(|| fitting(&found));
    allow_for_all(&mut found, columns.waters.len(), multiplicity, 1.0, ranges);
    (found, multiplicity)
}

/// How pairs are to allow for each other.
pub(crate) fn fitting(found: &[Difference]) -> Multiplicity {
    if equally_precise(found) { Multiplicity::Tukey } else { Multiplicity::Holm }
}

/// All pairs of waters, each by itself.
pub(crate) fn pairs(columns: &Columns, fit: &Fit) -> Vec<Difference> {
    let t = columns.waters.len();
    let mut found = Vec::with_capacity(t * t.saturating_sub(1) / 2);
    for i in 0..t {
        for j in i + 1..t {
            let mut weights = DVector::zeros(columns.count);
            weights[i] = 1.0;
            weights[j] = -1.0;
            let estimate = fit.combination(&weights);
            let standard_error = estimate.variance.sqrt();
            found.push(Difference {
                first: columns.waters[i],
                second: columns.waters[j],
                estimate: estimate.value,
                standard_error,
                df: estimate.df,
                interval: (0.0, 0.0),
                p_alone: t_two_sided(estimate.value / standard_error, estimate.df),
                p: 1.0,
            });
        }
    }
    found
}

fn equally_precise(found: &[Difference]) -> bool {
    let Some(first) = found.first() else { return true };
    let near = |a: f64, b: f64| (a - b).abs() <= SAME * b;
    found.iter().all(|d| near(d.standard_error, first.standard_error) && near(d.df, first.df))
}

/// How far apart two waters must be, in standard errors, to differ among all pairs at the share
/// `share` of the usual risk: Tukey's critical value, or Bonferroni's.
pub(crate) fn critical(
    waters: usize,
    multiplicity: Multiplicity,
    (share, df): (f64, f64),
    ranges: &mut StudentizedRanges,
) -> f64 {
    let risk = share * (1.0 - LEVEL);
    match multiplicity {
        Multiplicity::Tukey => ranges.quantile(waters, risk, df) / std::f64::consts::SQRT_2,
        Multiplicity::Holm => {
            let pairs = waters * waters.saturating_sub(1) / 2;
            t_quantile(risk / (2.0 * count(pairs.max(1))), df)
        }
    }
}

/// Fills in intervals and p-values that allow for all pairs. Where these pairs have only a share of
/// the usual risk, since other attributes are tested beside them, the intervals are as much wider and
/// the p-values as much larger, so that a p is compared with the usual risk in any case.
pub(crate) fn allow_for_all(
    found: &mut [Difference],
    waters: usize,
    multiplicity: Multiplicity,
    share: f64,
    ranges: &mut StudentizedRanges,
) {
    let mut known: Option<(f64, f64)> = None;
    for difference in found.iter_mut() {
        let df = difference.df;
        // The same degrees of freedom, as in balanced designs, need one quantile only.
        let critical = match known {
            Some((known, critical)) if (known - df).abs() <= SAME * df => critical,
            _ => critical(waters, multiplicity, (share, df), ranges),
        };
        known = Some((df, critical));
        let half = critical * difference.standard_error;
        difference.interval = (difference.estimate - half, difference.estimate + half);
        if multiplicity == Multiplicity::Tukey {
            let t = difference.estimate.abs() / difference.standard_error;
            difference.p = ranges.law(waters).tail(t * std::f64::consts::SQRT_2, df);
        }
    }
    if multiplicity == Multiplicity::Holm {
        let alone: Vec<f64> = found.iter().map(|d| d.p_alone).collect();
        for (difference, p) in found.iter_mut().zip(holm(&alone)) {
            difference.p = p;
        }
    }
    for difference in found {
        difference.p = (difference.p / share).min(1.0);
    }
}

/// Holm's p-values: the smallest times the number of tests, the next times one less, and so on,
/// never falling.
///
/// ```
/// use waterflight::session::analysis::comparisons::holm;
/// assert_eq!(holm(&[0.04, 0.01, 0.03]), [0.06, 0.03, 0.06]);
/// ```
#[must_use]
pub fn holm(alone: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..alone.len()).collect();
    order.sort_by(|&a, &b| alone[a].total_cmp(&alone[b]));
    let mut adjusted = vec![1.0; alone.len()];
    let mut least = 0.0_f64;
    for (rank, &place) in order.iter().enumerate() {
        least = least.max((alone[place] * count(alone.len() - rank)).min(1.0));
        adjusted[place] = least;
    }
    adjusted
}
