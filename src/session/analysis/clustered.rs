//! Answers of the same taster are no further tasters: how many answers an interval may count.

use crate::numerics::{clopper_pearson, count, t_quantile};

/// A share of right answers, with tasters and not answers as what was drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClusteredShare {
    /// Share of right answers.
    pub share: f64,
    /// Answers that count: all of them when every taster gave one, and never fewer than tasters.
    pub counted: f64,
    /// Interval of the share.
    pub interval: (f64, f64),
}

/// The share of right answers from each taster's (right, answers), and its interval, outside of which the
/// share lies with probability `alpha`: that of Clopper and Pearson with as many answers as the scatter between tasters leaves.
///
/// With x of n answers right, of k tasters, the variance of the share is v = k/(k−1) Σ (xᵢ − p nᵢ)²/n²;
/// then p(1−p)/v answers count, times (t(n−1)/t(k−1))² for the few tasters behind v. Source: Korn
/// E. L., Graubard B. I., Survey Methodology 24 (1998) 193–201. Never more than all answers, and
/// never fewer than tasters, who would give one answer each if repeats said nothing new (the last is
/// our choice). One taster's answers all count: the interval is then that of this taster.
///
/// ```
/// use waterflight::session::analysis::clustered::clustered_share;
/// let once = clustered_share(&[(1, 1), (0, 1), (1, 1)], 0.05);
/// assert!((once.counted - 3.0).abs() < 1e-12);
/// // Two answers each, always both right or both wrong: they count as one.
/// let alike = clustered_share(&[(2, 2), (0, 2), (2, 2), (0, 2)], 0.05);
/// assert!((alike.counted - 4.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn clustered_share(by_taster: &[(usize, usize)], alpha: f64) -> ClusteredShare {
    let gave: Vec<(f64, f64)> = by_taster
        .iter()
        .filter(|(_, answers)| *answers > 0)
        .map(|&(right, answers)| (count(right.min(answers)), count(answers)))
        .collect();
    let right: f64 = gave.iter().map(|(right, _)| right).sum();
    let answers: f64 = gave.iter().map(|(_, answers)| answers).sum();
    if gave.is_empty() {
        return ClusteredShare { share: 0.0, counted: 0.0, interval: (0.0, 1.0) };
    }
    let share = right / answers;
    let tasters = count(gave.len());
    let counted = if gave.len() < 2 || gave.iter().all(|(_, answers)| *answers <= 1.0) {
        answers
    } else {
        let scatter: f64 = gave.iter().map(|(x, n)| (x - share * n).powi(2)).sum();
        let variance = tasters / (tasters - 1.0) * scatter / (answers * answers);
        let widening =
            t_quantile(alpha / 2.0, answers - 1.0) / t_quantile(alpha / 2.0, tasters - 1.0);
        let effective = if variance > 0.0 { share * (1.0 - share) / variance } else { answers };
        (effective.min(answers) * widening * widening).clamp(tasters, answers)
    };
    ClusteredShare {
        share,
        counted,
        interval: clopper_pearson(share * counted, counted, 1.0 - alpha),
    }
}
