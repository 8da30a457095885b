//! Intraclass correlations: how much of the spread of scores is spread of what was scored.

use crate::numerics::{count, f_quantile, f_tail};

use crate::session::analysis::mixed::LEVEL;
use crate::session::analysis::score_table::{mean, squares};

/// One form of the correlation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Form {
    /// The correlation.
    pub value: f64,
    /// Its F ratio.
    pub f: f64,
    /// Degrees of freedom of things.
    pub df: f64,
    /// Degrees of freedom of noise.
    pub df_noise: f64,
    /// p of the ratio.
    pub p: f64,
    /// Interval.
    pub interval: (f64, f64),
}

/// The six forms of Shrout P. E., Fleiss J. L., Psychol. Bull. 86 (1979) 420–428, with intervals
/// after McGraw K. O., Wong S. P., Psychol. Methods 1 (1996) 30–46.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Intraclass {
    /// (1,1): each thing has its own scorers; also for repeats of one scorer.
    pub one_way: Form,
    /// (2,1): scorers random, levels count.
    pub agreement: Form,
    /// (3,1): scorers fixed, levels do not count.
    pub consistency: Form,
    /// (1,k): of means of k.
    pub one_way_mean: Form,
    /// (2,k).
    pub agreement_mean: Form,
    /// (3,k).
    pub consistency_mean: Form,
}

/// Correlations of a complete table, `scores[thing][scorer]`. `None` with fewer than two things or
/// scorers, with gaps, or where nothing varies.
///
/// ```
/// use waterflight::session::analysis::icc::intraclass;
/// // Shrout & Fleiss (1979), table 2: six things, four judges.
/// let scores = [
///     [9., 2., 5., 8.], [6., 1., 3., 2.], [8., 4., 6., 8.],
///     [7., 1., 2., 6.], [10., 5., 6., 9.], [6., 2., 4., 7.],
/// ];
/// let scores: Vec<Vec<f64>> = scores.iter().map(|row| row.to_vec()).collect();
/// let forms = intraclass(&scores).ok_or("no correlation")?;
/// // Table 4: 0.17, 0.29, 0.71.
/// assert!((forms.one_way.value - 0.17).abs() < 0.005);
/// assert!((forms.agreement.value - 0.29).abs() < 0.005);
/// assert!((forms.consistency.value - 0.71).abs() < 0.005);
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn intraclass(scores: &[Vec<f64>]) -> Option<Intraclass> {
    let scorers = scores.first()?.len();
    let sound = scores.iter().all(|r| r.len() == scorers && r.iter().all(|v| v.is_finite()));
    if scores.len() < 2 || scorers < 2 || !sound {
        return None;
    }
    let (n, k) = (count(scores.len()), count(scorers));
    let row_means: Vec<f64> = scores.iter().filter_map(|row| mean(row)).collect();
    let column_means: Vec<f64> = (0..scorers)
        .filter_map(|c| {
            mean(&scores.iter().filter_map(|row| row.get(c).copied()).collect::<Vec<_>>())
        })
        .collect();
    let total = squares(&scores.concat());
    let (rows, columns) = (k * squares(&row_means), n * squares(&column_means));
    let left = (total - rows - columns).max(0.0);
    let between = rows / (n - 1.0);
    let scorer = columns / (k - 1.0);
    let residual = left / ((n - 1.0) * (k - 1.0));
    let within = (left + columns) / (n * (k - 1.0));
    if between <= 0.0 || residual <= ROUNDING * total || within <= 0.0 {
        return None;
    }
    let (df, df_within, df_noise) = (n - 1.0, n * (k - 1.0), (n - 1.0) * (k - 1.0));
    let one = (between - within) / (between + (k - 1.0) * within);
    let two = (between - residual) / (between + (k - 1.0) * residual + k * (scorer - residual) / n);
    let three = (between - residual) / (between + (k - 1.0) * residual);
    let ends = |f: f64, df_noise: f64| {
        (f / f_quantile(OUTSIDE, df, df_noise), f * f_quantile(OUTSIDE, df_noise, df))
    };
    let single =
        |(low, high): (f64, f64)| ((low - 1.0) / (low + k - 1.0), (high - 1.0) / (high + k - 1.0));
    let of_mean = |(low, high): (f64, f64)| (1.0 - 1.0 / low, 1.0 - 1.0 / high);
    let form = |value, f: f64, df_noise, interval| Form {
        value,
        f,
        df,
        df_noise,
        p: f_tail(f, df, df_noise),
        interval,
    };
    let (f_one, f_three) = (between / within, between / residual);
    let (ends_one, ends_three) = (ends(f_one, df_within), ends(f_three, df_noise));
    let two_ends = agreement_interval(two, (n, k), (between, scorer, residual));
    let stepped = |value: f64| value * k / (1.0 + value * (k - 1.0));
    Some(Intraclass {
        one_way: form(one, f_one, df_within, single(ends_one)),
        agreement: form(two, f_three, df_noise, two_ends),
        consistency: form(three, f_three, df_noise, single(ends_three)),
        one_way_mean: form((between - within) / between, f_one, df_within, of_mean(ends_one)),
        agreement_mean: form(
            (between - residual) / (between + (scorer - residual) / n),
            f_three,
            df_noise,
            (stepped(two_ends.0), stepped(two_ends.1)),
        ),
        consistency_mean: form(
            (between - residual) / between,
            f_three,
            df_noise,
            of_mean(ends_three),
        ),
    })
}

/// Share left outside each end of an interval.
const OUTSIDE: f64 = (1.0 - LEVEL) / 2.0;

/// Share of the total sum of squares that is rounding. Our choice: a hundred times what is left of
/// sums that cancel.
const ROUNDING: f64 = 1e-13;

/// Interval of (2,1), whose degrees of freedom are approximated (McGraw & Wong 1996, table 7).
fn agreement_interval(
    two: f64,
    (n, k): (f64, f64),
    (between, scorer, residual): (f64, f64, f64),
) -> (f64, f64) {
    let ratio = scorer / residual;
    let own = n * (1.0 + (k - 1.0) * two) - k * two;
    let above = (k - 1.0) * (n - 1.0) * (k * two * ratio + own).powi(2);
    let below = (n - 1.0) * (k * two * ratio).powi(2) + own.powi(2);
    let df = above / below;
    let upper = f_quantile(OUTSIDE, n - 1.0, df);
    let lower = f_quantile(OUTSIDE, df, n - 1.0);
    let level = k * scorer + (k * n - k - n) * residual;
    (
        n * (between - upper * residual) / (upper * level + n * between),
        n * (lower * between - residual) / (level + n * lower * between),
    )
}
