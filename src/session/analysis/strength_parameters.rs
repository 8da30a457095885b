//! Rankings and paired choices as strengths: the models of Plackett–Luce and Bradley–Terry.
//!
//! A water of strength γᵢ is chosen from a set S with probability γᵢ / Σ_{S} γ; a ranking is a succession of
//! such choices (Plackett R. L., Appl. Statist. 24 (1975) 193; Luce R. D., Individual Choice
//! Behavior, 1959), and two waters make it the model of Bradley R. A., Terry M. E., Biometrika 39
//! (1952) 324.

#![expect(
    clippy::indexing_slicing,
    reason = "every index comes from the size the tables were made with"
)]

use nalgebra::{Cholesky, DMatrix, DVector};
use thiserror::Error;

use crate::numerics::{chi_square_tail, count, normal_quantile};

use crate::session::analysis::confidence_level::{LEVEL, OUTSIDE};

/// Weight of the ties by which every water is bound to an imagined average one when strengths would
/// otherwise be endless: half a win and half a loss for each. Our choice: the least that counts as
/// one comparison; with less the strengths grow, with more they shrink towards each other.
pub const PENALTY: f64 = 0.5;

/// Rounds of the first, slow and safe climb. Our choice: enough to come near from any start; the
/// quick one finishes.
const CLIMB_ROUNDS: usize = 50;

/// Newton steps. Our choice: the likelihood is a single hill, so ten are usual.
const NEWTON_STEPS: usize = 100;

/// Gain of the likelihood that a Newton step may still promise. Our choice: from 1e-12 the next
/// step lands within 1e-12 of the top.
const SETTLED: f64 = 1e-12;

/// Some rankings of the same waters, most first; a paired choice is a ranking of two.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Waters in order; those after the last may be left out.
    pub order: Vec<usize>,
    /// How often it was seen.
    pub times: f64,
}

/// One water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrengthParameter {
    /// The water.
    pub water: usize,
    /// Logarithm of its strength; all add up to zero.
    pub log_strength: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Its interval.
    pub interval: (f64, f64),
    /// Probability that it is put first among all waters.
    pub first: f64,
}

/// Fitted strengths.
#[derive(Debug, Clone, PartialEq)]
pub struct StrengthFit {
    /// The waters that were ranked, in the order of the flight.
    pub strengths: Vec<StrengthParameter>,
    /// Covariance of the logarithms, in the same order.
    pub covariance: Vec<Vec<f64>>,
    /// Whether the penalty was needed: some waters always beat all others, and without it their
    /// strength would have no end.
    pub penalised: bool,
    /// The waters that always beat the rest, when so.
    pub never_beaten: Vec<usize>,
    /// Likelihood ratio against equal strengths: statistic, degrees of freedom, p; `None` when
    /// penalised, since the statistic then has no known law.
    pub all_equal: Option<(f64, usize, f64)>,
}

/// Why there are no strengths.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum StrengthError {
    /// Nothing to compare.
    #[error("there is no ranking of two waters or more")]
    Nothing,
    /// A water named twice.
    #[error("a ranking names a water twice")]
    NamedTwice,
    /// Two groups of waters that were never compared with each other.
    #[error("the waters fall into groups that were never compared; serve them on the same tray")]
    NotConnected,
    /// The climb did not end.
    #[error("the estimates do not converge")]
    NotSettled,
}

/// Two waters by their strengths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrengthPair {
    /// The water with the earlier place.
    pub first: usize,
    /// The other.
    pub second: usize,
    /// Probability that a ranking puts the first above the second.
    pub probability: f64,
    /// Interval that holds for all pairs at once (Bonferroni).
    pub interval: (f64, f64),
}

impl StrengthFit {
    /// All pairs of waters.
    #[must_use]
    pub fn pairs(&self) -> Vec<StrengthPair> {
        let n = self.strengths.len();
        let all = count((n * n.saturating_sub(1) / 2).max(1));
        let z = normal_quantile(1.0 - (1.0 - LEVEL) / (2.0 * all));
        let probability = |log_odds: f64| 1.0 / (1.0 + (-log_odds).exp());
        let mut pairs = Vec::new();
        for (i, first) in self.strengths.iter().enumerate() {
            for (j, second) in self.strengths.iter().enumerate().skip(i + 1) {
                let c = &self.covariance;
                let variance = (c[i][i] + c[j][j] - 2.0 * c[i][j]).max(0.0);
                let (log_odds, reach) =
                    (first.log_strength - second.log_strength, z * variance.sqrt());
                pairs.push(StrengthPair {
                    first: first.water,
                    second: second.water,
                    probability: probability(log_odds),
                    interval: (probability(log_odds - reach), probability(log_odds + reach)),
                });
            }
        }
        pairs
    }
}

/// Fits strengths by the climb of Hunter D. R., Ann. Statist. 32 (2004) 384–406, finished by Newton's
/// method.
///
/// # Errors
/// When nothing was compared, or the waters fall apart into groups.
pub fn strengths(choices: &[Choice]) -> Result<StrengthFit, StrengthError> {
    let mut waters: Vec<usize> =
        choices.iter().filter(|c| c.times > 0.0).flat_map(|c| c.order.clone()).collect();
    waters.sort_unstable();
    waters.dedup();
    let ranked: Vec<(Vec<usize>, f64)> = choices
        .iter()
        .filter(|c| c.times > 0.0 && c.order.len() > 1)
        .map(|c| {
            let places = c.order.iter().filter_map(|w| waters.binary_search(w).ok()).collect();
            (places, c.times)
        })
        .collect();
    if ranked.is_empty() {
        return Err(StrengthError::Nothing);
    }
    for (order, _) in &ranked {
        let mut once = order.clone();
        once.sort_unstable();
        once.dedup();
        if once.len() != order.len() {
            return Err(StrengthError::NamedTwice);
        }
    }
    let n = waters.len();
    let beaten = beats_relation(n, &ranked);
    if !connected(&beaten) {
        return Err(StrengthError::NotConnected);
    }
    let top = never_beaten(&beaten);
    let penalty = if top.is_empty() { 0.0 } else { PENALTY };
    let model = Model { waters: n, ranked: &ranked, penalty };
    let log_worths = model.maximum().ok_or(StrengthError::NotSettled)?;
    let covariance = model.covariance(&log_worths).ok_or(StrengthError::NotSettled)?;
    let log_likelihood = model.log_likelihood(&log_worths) - model.penalty_at(&log_worths);
    let equal = model.log_likelihood(&DVector::zeros(n)) - model.penalty_at(&DVector::zeros(n));
    let ratio = (2.0 * (log_likelihood - equal)).max(0.0);
    let centre = log_worths.mean();
    let total: f64 = log_worths.iter().map(|l| l.exp()).sum();
    let z = normal_quantile(1.0 - OUTSIDE);
    let strengths = waters
        .iter()
        .enumerate()
        .map(|(at, &water)| {
            let log_strength = log_worths[at] - centre;
            let standard_error = covariance[(at, at)].max(0.0).sqrt();
            StrengthParameter {
                water,
                log_strength,
                standard_error,
                interval: (log_strength - z * standard_error, log_strength + z * standard_error),
                first: log_worths[at].exp() / total,
            }
        })
        .collect();
    Ok(StrengthFit {
        strengths,
        covariance: covariance.row_iter().map(|row| row.iter().copied().collect()).collect(),
        penalised: penalty > 0.0,
        never_beaten: top.into_iter().map(|at| waters[at]).collect(),
        all_equal: (penalty <= 0.0).then(|| (ratio, n - 1, chi_square_tail(ratio, count(n - 1)))),
    })
}

/// Who was ever put above whom: `beats[(a, b)]`.
fn beats_relation(n: usize, ranked: &[(Vec<usize>, f64)]) -> DMatrix<bool> {
    let mut beats = DMatrix::from_element(n, n, false);
    for (order, _) in ranked {
        for (at, &winner) in order.iter().enumerate() {
            order.iter().skip(at + 1).for_each(|&loser| beats[(winner, loser)] = true);
        }
    }
    beats
}

/// All that can be reached from a water along an arrow.
fn reached(n: usize, from: usize, arrow: impl Fn(usize, usize) -> bool) -> Vec<bool> {
    let mut seen = vec![false; n];
    let mut open = vec![from];
    while let Some(here) = open.pop() {
        if !std::mem::replace(&mut seen[here], true) {
            open.extend((0..n).filter(|&next| arrow(here, next)));
        }
    }
    seen
}

fn connected(beats: &DMatrix<bool>) -> bool {
    let either = |a: usize, b: usize| beats[(a, b)] || beats[(b, a)];
    reached(beats.nrows(), 0, either).iter().all(|&seen| seen)
}

/// A group that no other water ever beat, unless that is all of them (Ford L. R., Amer. Math.
/// Monthly 64 (1957) 28: finite strengths exist when every such group is everything).
fn never_beaten(beats: &DMatrix<bool>) -> Vec<usize> {
    let n = beats.nrows();
    // All that beat a water, directly or through others; it closes upwards.
    let above = |water: usize| reached(n, water, |here, next| beats[(next, here)]);
    let group = (0..n).map(above).find(|above| above.contains(&false)).unwrap_or_default();
    (0..n).zip(group).filter(|(_, is_in)| *is_in).map(|(water, _)| water).collect()
}

/// The likelihood.
struct Model<'a> {
    waters: usize,
    ranked: &'a [(Vec<usize>, f64)],
    penalty: f64,
}

impl Model<'_> {
    /// Calls back for every choice made: the set chosen from, the water chosen, how often.
    fn each_choice(&self, mut visit: impl FnMut(&[usize], usize, f64)) {
        for (order, times) in self.ranked {
            for at in 0..order.len().saturating_sub(1) {
                visit(&order[at..], order[at], *times);
            }
        }
    }

    fn penalty_at(&self, log_worths: &DVector<f64>) -> f64 {
        // Half a win and half a loss against a water of strength 1.
        log_worths
            .iter()
            .map(|&l| self.penalty * (l - 2.0 * l.max(0.0) - 2.0 * (-l.abs()).exp().ln_1p()))
            .sum()
    }

    fn log_likelihood(&self, log_worths: &DVector<f64>) -> f64 {
        let mut sum = self.penalty_at(log_worths);
        self.each_choice(|set, winner, times| {
            let most = set.iter().map(|&w| log_worths[w]).fold(f64::NEG_INFINITY, f64::max);
            let all: f64 = set.iter().map(|&w| (log_worths[w] - most).exp()).sum();
            sum += times * (log_worths[winner] - most - all.ln());
        });
        sum
    }

    /// The highest point of the likelihood.
    fn maximum(&self) -> Option<DVector<f64>> {
        let mut at = self.climb();
        for _ in 0..NEWTON_STEPS {
            let (slope, bowl) = self.derivatives(&at);
            let step = Cholesky::new(bowl)?.solve(&slope);
            // So near the top the likelihood no longer tells one point from the next, and the
            // last step doubles the digits.
            if slope.dot(&step) < SETTLED {
                return Some(at + step);
            }
            let before = self.log_likelihood(&at);
            let mut share = 1.0;
            while self.log_likelihood(&(&at + &step * share)) < before && share > SETTLED {
                share /= 2.0;
            }
            at += step * share;
        }
        None
    }

    /// Hunter's climb: γᵢ ← wins / Σ (probabilities met, each over the strength of its set).
    fn climb(&self) -> DVector<f64> {
        let mut strength: DVector<f64> = DVector::from_element(self.waters, 1.0);
        for _ in 0..CLIMB_ROUNDS {
            let mut wins = DVector::from_element(self.waters, self.penalty);
            let mut met = strength.map(|w| 2.0 * self.penalty / (w + 1.0));
            self.each_choice(|set, winner, times| {
                wins[winner] += times;
                let share = times / set.iter().map(|&w| strength[w]).sum::<f64>();
                for &w in set {
                    met[w] += share;
                }
            });
            strength = wins.zip_map(&met, |wins, met| (wins / met).max(f64::MIN_POSITIVE));
            let mean = strength.map(f64::ln).mean().exp();
            if self.penalty <= 0.0 {
                strength /= mean;
            }
        }
        strength.map(f64::ln)
    }

    /// First derivatives, and the negative of the second.
    fn derivatives(&self, log_worths: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        let mut slope = DVector::zeros(self.waters);
        let mut bowl = DMatrix::zeros(self.waters, self.waters);
        for (i, &l) in log_worths.iter().enumerate() {
            let win = 1.0 / (1.0 + (-l).exp());
            slope[i] += self.penalty * (1.0 - 2.0 * win);
            bowl[(i, i)] += 2.0 * self.penalty * win * (1.0 - win);
        }
        self.each_choice(|set, winner, times| {
            let most = set.iter().map(|&w| log_worths[w]).fold(f64::NEG_INFINITY, f64::max);
            let shares: Vec<f64> = set.iter().map(|&w| (log_worths[w] - most).exp()).collect();
            let all: f64 = shares.iter().sum();
            slope[winner] += times;
            for (&a, share_a) in set.iter().zip(&shares) {
                let p = share_a / all;
                slope[a] -= times * p;
                bowl[(a, a)] += times * p;
                for (&b, share_b) in set.iter().zip(&shares) {
                    bowl[(a, b)] -= times * p * share_b / all;
                }
            }
        });
        if self.penalty <= 0.0 {
            // Strengths are known up to a common factor: the direction in which all grow is closed.
            bowl.add_scalar_mut(1.0);
        }
        (slope, bowl)
    }

    /// Covariance of the centred logarithms.
    fn covariance(&self, at: &DVector<f64>) -> Option<DMatrix<f64>> {
        let (_, bowl) = self.derivatives(at);
        let inverse = Cholesky::new(bowl)?.inverse();
        let n = count(self.waters);
        let centring = DMatrix::identity(self.waters, self.waters).add_scalar(-1.0 / n);
        Some(&centring * inverse * &centring)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_single_choice_is_bound_by_the_penalty() -> Result<(), StrengthError> {
        let found = strengths(&[Choice { order: vec![2, 0], times: 1.0 }])?;
        assert!(found.penalised);
        assert_eq!(found.never_beaten, [2]);
        Ok(())
    }
}
