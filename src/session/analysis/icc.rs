//! Intraclass correlations: how much of the spread of scores is spread of what was scored.

use serde::Serialize;

use crate::numerics::{count, f_quantile};

use crate::session::analysis::confidence_level::OUTSIDE;
use crate::session::analysis::score_table::{ROUNDING, mean, squares};

/// A correlation with its interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Correlation {
    /// The correlation.
    pub value: f64,
    /// 95 % interval.
    pub interval: (f64, f64),
}

/// ICC(1,1) of Shrout P. E., Fleiss J. L., Psychol. Bull. 86 (1979) 420–428, of a complete table
/// `scores[thing][scorer]`: each thing has its own scorers, as in repeats of one scorer. The interval
/// is that of McGraw K. O., Wong S. P., Psychol. Methods 1 (1996) 30–46. `None` with fewer than two
/// things or scorers, with gaps, or where nothing varies.
#[must_use]
pub fn one_way(scores: &[Vec<f64>]) -> Option<Correlation> {
    let squares = MeanSquares::of(scores)?;
    let (n, k) = (squares.things, squares.scorers);
    Some(correlation(squares.between / squares.within, k, (n - 1.0, n * (k - 1.0))))
}

/// ICC(3,1), of the same sources: the same scorers for all things, whose levels do not count.
///
/// ```
/// use waterflight::session::analysis::icc::{consistency, one_way};
/// // Shrout & Fleiss (1979), table 2: six things, four judges.
/// let scores = [
///     [9., 2., 5., 8.], [6., 1., 3., 2.], [8., 4., 6., 8.],
///     [7., 1., 2., 6.], [10., 5., 6., 9.], [6., 2., 4., 7.],
/// ];
/// let scores: Vec<Vec<f64>> = scores.iter().map(|row| row.to_vec()).collect();
/// // Table 4: 0.17 and 0.71.
/// assert!(one_way(&scores).is_some_and(|icc| (icc.value - 0.17).abs() < 0.005));
/// assert!(consistency(&scores).is_some_and(|icc| (icc.value - 0.71).abs() < 0.005));
/// ```
#[must_use]
pub fn consistency(scores: &[Vec<f64>]) -> Option<Correlation> {
    let squares = MeanSquares::of(scores)?;
    let (n, k) = (squares.things, squares.scorers);
    Some(correlation(squares.between / squares.residual, k, (n - 1.0, (n - 1.0) * (k - 1.0))))
}

/// The correlation that an F ratio with its degrees of freedom means for `k` scorers.
fn correlation(f: f64, k: f64, (df, df_residual): (f64, f64)) -> Correlation {
    let of = |f: f64| (f - 1.0) / (f + k - 1.0);
    let low = f / f_quantile(OUTSIDE, df, df_residual);
    let high = f * f_quantile(OUTSIDE, df_residual, df);
    Correlation { value: of(f), interval: (of(low), of(high)) }
}

/// The mean squares of a complete table.
struct MeanSquares {
    things: f64,
    scorers: f64,
    between: f64,
    within: f64,
    residual: f64,
}

impl MeanSquares {
    fn of(scores: &[Vec<f64>]) -> Option<Self> {
        let scorers = scores.first()?.len();
        let sound = scores.iter().all(|r| r.len() == scorers && r.iter().all(|v| v.is_finite()));
        if scores.len() < 2 || scorers < 2 || !sound {
            return None;
        }
        let (n, k) = (count(scores.len()), count(scorers));
        let row_means: Vec<f64> = scores.iter().filter_map(|row| mean(row)).collect();
        let column = |c: usize| scores.iter().filter_map(|row| row.get(c).copied()).collect();
        let column_means: Vec<f64> =
            (0..scorers).filter_map(|c| mean(&column(c) as &Vec<f64>)).collect();
        let total = squares(&scores.concat());
        let (rows, columns) = (k * squares(&row_means), n * squares(&column_means));
        let left = (total - rows - columns).max(0.0);
        let found = Self {
            things: n,
            scorers: k,
            between: rows / (n - 1.0),
            within: (left + columns) / (n * (k - 1.0)),
            residual: left / ((n - 1.0) * (k - 1.0)),
        };
        let varies = found.between > 0.0 && found.residual > ROUNDING * total && found.within > 0.0;
        varies.then_some(found)
    }
}
