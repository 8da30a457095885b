//! Scores as a surface over composition, with given scales.
//!
//! A Gaussian process with a squared exponential kernel and one length for each axis (Rasmussen
//! C. E., Williams C. K. I., "Gaussian Processes for Machine Learning", 2006, chapter 2; from
//! memory). What is seen is the mean score of a water in a session, with its standard error: the
//! panel's. Every water has something of its own besides, which the axes do not tell and which is the
//! same in all sessions; every session has a level of its own, since panels and scales differ.
//! Coordinates run from 0 to 1 across the region; scores keep their unit.
#![expect(clippy::indexing_slicing, reason = "square tables with one place per water seen")]

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use thiserror::Error;

use crate::numerics::count;

/// The mean score of one water in one session.
#[derive(Debug, Clone, PartialEq)]
pub struct TastedMean {
    /// Number of the session, from 0 without gaps.
    pub session: usize,
    /// Number of the water, from 0 without gaps; the same in every session that tasted it.
    pub water: usize,
    /// Where the water lies, 0 to 1 on each axis.
    pub at: Vec<f64>,
    /// Its mean score.
    pub score: f64,
    /// Standard error of the mean, as between waters.
    pub standard_error: f64,
}

/// How scores scatter in one session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Panel {
    /// Standard deviation of a single score around its taster's level and its water's mean.
    pub one_score: f64,
    /// Degrees of freedom behind the standard errors; nothing where they are known exactly.
    pub degrees: Option<f64>,
}

/// How fast the surface changes, and by how much.
#[derive(Debug, Clone, PartialEq)]
pub struct Scales {
    /// Standard deviation of the surface, in scores.
    pub signal: f64,
    /// Standard deviation of what a water has of its own, which the axes do not tell, in scores.
    pub misfit: f64,
    /// Length on each axis over which it changes, as a part of the region.
    pub lengths: Vec<f64>,
    /// By how much the panel's standard errors are really larger, for each session; 1 beyond the last.
    pub errors: Vec<f64>,
}

/// Why there is no surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum SurfaceError {
    /// Too few waters.
    #[error("{found} waters were scored; a surface takes at least {LEAST_WATERS}")]
    TooFew {
        /// How many were.
        found: usize,
    },
    /// Numbers that no process gives.
    #[error("these scores make no surface")]
    Singular,
}

/// Fewest different waters: our choice; two make a slope and nothing else.
pub const LEAST_WATERS: usize = 3;

/// Spread of the sessions' own levels, in spreads of the scores: our choice, wide enough to be free.
const LEVELS: f64 = 10.0;

/// Least standard error, as a part of the spread of the scores: our choice; a mean without scatter is
/// probability, not certainty.
const LEAST_ERROR: f64 = 0.05;

/// Scores of a surface with given scales.
#[derive(Debug, Clone)]
pub struct Surface<'a> {
    tasted_means: &'a [TastedMean],
    scales: Scales,
    factor: Cholesky<f64, Dyn>,
    weights: DVector<f64>,
    mean: f64,
    level: f64,
    errors: Vec<f64>,
    log_evidence: f64,
}

impl<'a> Surface<'a> {
    /// The surface with given scales.
    ///
    /// # Errors
    /// When the numbers are no scores.
    pub fn with(tasted_means: &'a [TastedMean], scales: Scales) -> Result<Self, SurfaceError> {
        let n = tasted_means.len();
        let mean = tasted_means.iter().map(|s| s.score).sum::<f64>() / count(n.max(1));
        let level = LEVELS * level_spread(tasted_means, mean);
        let least = LEAST_ERROR * spread(tasted_means);
        let errors: Vec<f64> = tasted_means.iter().map(|one| scales.error(one, least)).collect();
        let covariance = DMatrix::from_fn(n, n, |a, b| {
            let of_session = if tasted_means[a].session == tasted_means[b].session {
                level.powi(2)
            } else {
                0.0
            };
            let of_water = if tasted_means[a].water == tasted_means[b].water {
                scales.misfit.powi(2)
            } else {
                0.0
            };
            let own = if a == b { errors[a].powi(2) } else { 0.0 };
            scales.covariance(&tasted_means[a].at, &tasted_means[b].at)
                + of_session
                + of_water
                + own
        });
        let scores = DVector::from_iterator(n, tasted_means.iter().map(|s| s.score - mean));
        let factor = Cholesky::new(covariance).ok_or(SurfaceError::Singular)?;
        let weights = factor.solve(&scores);
        let log_determinant = 2.0 * factor.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
        let log_evidence =
            -0.5 * (scores.dot(&weights) + log_determinant + count(n) * std::f64::consts::TAU.ln());
        if !log_evidence.is_finite() {
            return Err(SurfaceError::Singular);
        }
        Ok(Self { tasted_means, scales, factor, weights, mean, level, errors, log_evidence })
    }

    /// The scales it has.
    #[must_use]
    pub fn scales(&self) -> &Scales {
        &self.scales
    }

    /// ln of the probability of the scores under these scales (Rasmussen & Williams, equation 2.30).
    #[must_use]
    pub fn log_evidence(&self) -> f64 {
        self.log_evidence
    }

    /// The surface at some points, without the levels of the sessions: mean and covariance (Rasmussen &
    /// Williams, equations 2.25 and 2.26). Only differences between points mean something.
    #[must_use]
    pub fn at(&self, points: &[Vec<f64>]) -> (DVector<f64>, DMatrix<f64>) {
        let across = self.across(points);
        let mean = across.transpose() * &self.weights;
        let half = self.factor.l().solve_lower_triangular(&across);
        let mut covariance = DMatrix::from_fn(points.len(), points.len(), |a, b| {
            self.scales.covariance(&points[a], &points[b])
        });
        if let Some(half) = half {
            covariance -= half.transpose() * half;
        }
        (mean, covariance)
    }

    /// Each water's own score: the surface at its place, what it has of its own, and the mean level of
    /// the sessions. The mean is the best linear unbiased predictor of the mixed model with these
    /// variances (Robinson G. K., Statistical Science 6 (1991) 15–32; from memory), with its standard
    /// deviation.
    #[must_use]
    pub fn own(&self) -> Vec<(f64, f64)> {
        let sessions = count(sessions(self.tasted_means));
        let level = self.level.powi(2) / sessions;
        let prior = level + self.scales.signal.powi(2) + self.scales.misfit.powi(2);
        places(self.tasted_means)
            .iter()
            .enumerate()
            .map(|(water, at)| {
                let with = DVector::from_iterator(
                    self.tasted_means.len(),
                    self.tasted_means.iter().map(|s| {
                        let own = if s.water == water { self.scales.misfit.powi(2) } else { 0.0 };
                        self.scales.covariance(at, &s.at) + level + own
                    }),
                );
                let variance = prior - with.dot(&self.factor.solve(&with));
                (self.mean + with.dot(&self.weights), variance.max(0.0).sqrt())
            })
            .collect()
    }

    /// Covariance of what is seen with the surface at some points.
    pub(super) fn across(&self, points: &[Vec<f64>]) -> DMatrix<f64> {
        DMatrix::from_fn(self.tasted_means.len(), points.len(), |s, p| {
            self.scales.covariance(&self.tasted_means[s].at, &points[p])
        })
    }

    /// Weights of what is seen when other scores stand in the place of those given.
    pub(super) fn weights_of(&self, scores: &DVector<f64>) -> DVector<f64> {
        self.factor.solve(scores)
    }

    /// Mean of the scores, which the surface is counted from, and the spread of the sessions' levels.
    pub(super) fn levels(&self) -> (f64, f64) {
        (self.mean, self.level)
    }

    /// Standard errors of what was seen, as they really are.
    pub(super) fn errors(&self) -> &[f64] {
        &self.errors
    }
}

impl Scales {
    pub(super) fn covariance(&self, a: &[f64], b: &[f64]) -> f64 {
        let distance: f64 = a
            .iter()
            .zip(b)
            .zip(&self.lengths)
            .map(|((a, b), length)| ((a - b) / length).powi(2))
            .sum();
        self.signal.powi(2) * (-0.5 * distance).exp()
    }

    fn error(&self, tasted_means: &TastedMean, least: f64) -> f64 {
        let factor = self.errors.get(tasted_means.session).copied().unwrap_or(1.0);
        factor * tasted_means.standard_error.max(least)
    }
}

/// Where each water lies, in the order of their numbers.
pub(super) fn places(tasted_means: &[TastedMean]) -> Vec<Vec<f64>> {
    let of = |water: usize| tasted_means.iter().find(|s| s.water == water).map(|s| s.at.clone());
    (0..).map_while(of).collect()
}

/// How many sessions there are.
pub(super) fn sessions(tasted_means: &[TastedMean]) -> usize {
    tasted_means.iter().map(|s| s.session + 1).max().unwrap_or(1)
}

/// Standard deviation of the scores within their sessions; 1 where there is none.
fn spread(tasted_means: &[TastedMean]) -> f64 {
    let mut squares = 0.0;
    for one in tasted_means {
        let of_session: Vec<f64> =
            tasted_means.iter().filter(|s| s.session == one.session).map(|s| s.score).collect();
        let mean = of_session.iter().sum::<f64>() / count(of_session.len());
        squares += (one.score - mean).powi(2);
    }
    let spread = (squares / count(tasted_means.len().max(1))).sqrt();
    if spread > 0.0 && spread.is_finite() { spread } else { 1.0 }
}

/// The larger of the spread of all scores, whatever the session, and of a standard error.
fn level_spread(tasted_means: &[TastedMean], mean: f64) -> f64 {
    let squares: f64 = tasted_means.iter().map(|s| (s.score - mean).powi(2)).sum();
    let error = tasted_means.iter().map(|s| s.standard_error).fold(0.0, f64::max);
    let spread = (squares / count(tasted_means.len().max(1))).sqrt().max(error);
    if spread > 0.0 && spread.is_finite() { spread } else { 1.0 }
}
