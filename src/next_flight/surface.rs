//! Scores as a surface over composition, with given scales.
//!
//! A Gaussian process with a squared exponential kernel and one length for each axis (Rasmussen
//! C. E., Williams C. K. I., "Gaussian Processes for Machine Learning", 2006, chapter 2; from
//! memory). What is seen is the mean score of a water in a session, with its standard error: the
//! panel's. Every water has something of its own besides, which the axes do not tell and which is the
//! same in all sessions; every session has a level of its own, since panels and scales differ.
//! Coordinates run from 0 to 1 across the region; scores keep their unit.
#![expect(clippy::indexing_slicing, reason = "square tables with one place per water seen")]

use std::sync::Arc;

use nalgebra::{DMatrix, DVector, Dyn, LU};
use thiserror::Error;

use crate::next_flight::observations::{Observations, TastedMean};
use crate::numerics::count;

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

/// Scores of a surface with given scales.
///
/// Seen are many means of few waters, so everything is computed by place: with `Z` the places of the
/// means, `G` the covariance of the places and `A` that of the errors and levels of the sessions, the
/// covariance of the means is `A + ZGZᵀ`, and its inverse follows from that of `I + MG`, where
/// `M = ZᵀA⁻¹Z` (Woodbury's identity; Rasmussen & Williams, equations A.9 and A.10). `A` has one block
/// for each session, a diagonal and a constant, whose inverse is known.
#[derive(Debug, Clone)]
pub struct Surface {
    observed: Arc<Observations>,
    scales: Scales,
    /// Covariance `G` of the places, what a water has of its own included.
    prior: DMatrix<f64>,
    /// What is seen, by place: `M`.
    information: DMatrix<f64>,
    /// `I + MG`, factorised.
    factor: LU<f64, Dyn, Dyn>,
    /// `Zᵀ` times the weights of what is seen.
    weights: DVector<f64>,
    blocks: Blocks,
    log_evidence: f64,
}

/// `A`: squares of the standard errors of what was seen, as they really are, inverted; and for each
/// session their sum, and how much of it the level of the session takes away.
#[derive(Debug, Clone)]
struct Blocks {
    errors: Vec<f64>,
    precision: Vec<f64>,
    sums: Vec<f64>,
    taken: Vec<f64>,
}

impl Blocks {
    fn new(observed: &Observations, scales: &Scales) -> Self {
        let error = |one: &TastedMean| scales.error(one, observed.least_error);
        let errors: Vec<f64> = observed.tasted_means.iter().map(error).collect();
        let precision: Vec<f64> = errors.iter().map(|error| error.powi(-2)).collect();
        let mut sums = vec![0.0; observed.sessions];
        for (one, precision) in observed.tasted_means.iter().zip(&precision) {
            sums[one.session] += precision;
        }
        let level = observed.level.powi(2);
        let taken = sums.iter().map(|sum| level / (1.0 + level * sum)).collect();
        Self { errors, precision, sums, taken }
    }

    /// `ZᵀA⁻¹v` and `vᵀA⁻¹v`.
    fn by_place(
        &self,
        observed: &Observations,
        v: impl Iterator<Item = f64>,
    ) -> (DVector<f64>, f64) {
        let mut by_place = DVector::zeros(observed.places.len());
        let mut of_sessions = vec![0.0; observed.sessions];
        let mut square = 0.0;
        let means = observed.tasted_means.iter().zip(&observed.place_of).zip(&self.precision);
        for (((one, place), precision), v) in means.zip(v) {
            let weighed = precision * v;
            by_place[*place] += weighed;
            of_sessions[one.session] += weighed;
            square += weighed * v;
        }
        for (taken, sum) in self.taken.iter().zip(&of_sessions) {
            square -= taken * sum * sum;
        }
        let means = observed.tasted_means.iter().zip(&observed.place_of).zip(&self.precision);
        for ((one, place), precision) in means {
            by_place[*place] -= precision * self.taken[one.session] * of_sessions[one.session];
        }
        (by_place, square)
    }

    /// `M`. Its rows sum to what no level takes away, which is little; so the diagonal is that sum with the
    /// rest of the row added, and nothing is lost in a difference.
    fn information(&self, observed: &Observations) -> DMatrix<f64> {
        let places = observed.places.len();
        let mut information = DMatrix::zeros(places, places);
        for (session, members) in observed.members.iter().enumerate() {
            let left = 1.0 / (1.0 + observed.level.powi(2) * self.sums[session]);
            for &a in members {
                let place = observed.place_of[a];
                information[(place, place)] += left * self.precision[a];
                for &b in members.iter().filter(|b| observed.place_of[**b] != place) {
                    let both = self.taken[session] * self.precision[a] * self.precision[b];
                    information[(place, place)] += both;
                    information[(place, observed.place_of[b])] -= both;
                }
            }
        }
        information
    }

    /// What the mean level of the sessions follows from, once the waters are known: how it falls with the
    /// score of each place, its value where all of them are zero, and its variance.
    fn mean_level(&self, observed: &Observations) -> (DVector<f64>, f64, f64) {
        let sessions = count(observed.sessions);
        let mut falls = DVector::zeros(observed.places.len());
        let mut value = 0.0;
        let means = observed.tasted_means.iter().zip(&observed.place_of).zip(&self.precision);
        for ((one, place), precision) in means {
            let share = self.taken[one.session] * precision / sessions;
            falls[*place] += share;
            value += share * (one.score - observed.mean);
        }
        (falls, value, self.taken.iter().sum::<f64>() / sessions.powi(2))
    }

    fn log_determinant(&self, observed: &Observations) -> f64 {
        let errors: f64 = self.errors.iter().map(|error| 2.0 * error.ln()).sum();
        let level = observed.level.powi(2);
        errors + self.sums.iter().map(|sum| (level * sum).ln_1p()).sum::<f64>()
    }
}

impl Surface {
    /// The surface with given scales.
    ///
    /// # Errors
    /// When the numbers are no scores.
    pub fn with(tasted_means: &[TastedMean], scales: Scales) -> Result<Self, SurfaceError> {
        Self::of(&Arc::new(Observations::new(tasted_means)), scales)
    }

    /// The same of what was summed up before.
    pub(super) fn of(observed: &Arc<Observations>, scales: Scales) -> Result<Self, SurfaceError> {
        let n = observed.tasted_means.len();
        let blocks = Blocks::new(observed, &scales);
        let places = observed.places.len();
        let prior = DMatrix::from_fn(places, places, |a, b| {
            let is_own = observed.water_of[a] == observed.water_of[b];
            let own = if is_own { scales.misfit.powi(2) } else { 0.0 };
            scales.covariance(&observed.places[a], &observed.places[b]) + own
        });
        let information = blocks.information(observed);
        let factor = (DMatrix::identity(places, places) + &information * &prior).lu();
        let scores = observed.tasted_means.iter().map(|one| one.score - observed.mean);
        let (by_place, square) = blocks.by_place(observed, scores);
        let weights = factor.solve(&by_place).ok_or(SurfaceError::Singular)?;
        let log_determinant = blocks.log_determinant(observed) + factor.determinant().ln();
        let misfit = square - by_place.dot(&(&prior * &weights));
        let log_evidence =
            -0.5 * (misfit + log_determinant + count(n) * std::f64::consts::TAU.ln());
        if !log_evidence.is_finite() {
            return Err(SurfaceError::Singular);
        }
        let observed = Arc::clone(observed);
        Ok(Self { observed, scales, prior, information, factor, weights, blocks, log_evidence })
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

    /// `Zᵀ` times the inverse of the covariance of what is seen times `Z`.
    fn known(&self) -> DMatrix<f64> {
        let places = self.information.nrows();
        self.factor.solve(&self.information).unwrap_or_else(|| DMatrix::zeros(places, places))
    }

    /// The surface at some points, without the levels of the sessions: mean and covariance (Rasmussen &
    /// Williams, equations 2.25 and 2.26). Only differences between points mean something.
    #[must_use]
    pub fn at(&self, points: &[Vec<f64>]) -> (DVector<f64>, DMatrix<f64>) {
        let across = self.across(points);
        let mean = across.tr_mul(&self.weights);
        let prior = DMatrix::from_fn(points.len(), points.len(), |a, b| {
            self.scales.covariance(&points[a], &points[b])
        });
        (mean, prior - across.tr_mul(&(self.known() * &across)))
    }

    /// Each water's own score: the surface at its place, what it has of its own, and the mean level of
    /// the sessions. The mean is the best linear unbiased predictor of the mixed model with these
    /// variances (Robinson G. K., Statistical Science 6 (1991) 15–32; from memory), with its standard
    /// deviation.
    #[must_use]
    pub fn own(&self) -> Vec<(f64, f64)> {
        let observed = &self.observed;
        let (falls, level, level_variance) = self.blocks.mean_level(observed);
        let waters = &self.prior * &self.weights;
        // The covariance of the places, once the scores are known: `G(I + MG)⁻¹`.
        let places = self.prior.nrows();
        let solved = self.factor.solve(&DMatrix::identity(places, places));
        let known = &self.prior * solved.unwrap_or_else(|| DMatrix::zeros(places, places));
        observed
            .first_places()
            .map(|place| {
                let mut with = -falls.clone();
                with[place] += 1.0;
                let variance = with.dot(&(&known * &with)) + level_variance;
                (observed.mean + with.dot(&waters) + level, variance.max(0.0).sqrt())
            })
            .collect()
    }

    /// Covariance of the places of what is seen with the surface at some points.
    pub(super) fn across(&self, points: &[Vec<f64>]) -> DMatrix<f64> {
        DMatrix::from_fn(self.observed.places.len(), points.len(), |place, point| {
            self.scales.covariance(&self.observed.places[place], &points[point])
        })
    }

    /// Weights of what is seen when other scores stand in the place of those given, summed by place and
    /// by session.
    pub(super) fn weights_of(&self, scores: &[f64]) -> (DVector<f64>, Vec<f64>) {
        let observed = &self.observed;
        let (by_place, _) = self.blocks.by_place(observed, scores.iter().copied());
        let by_place = self.factor.solve(&by_place).unwrap_or(by_place);
        let explained = &self.prior * &by_place;
        let mut by_session = vec![0.0; observed.sessions];
        for (n, (one, score)) in observed.tasted_means.iter().zip(scores).enumerate() {
            by_session[one.session] +=
                self.blocks.precision[n] * (score - explained[observed.place_of[n]]);
        }
        for (n, sum) in by_session.iter_mut().enumerate() {
            *sum *= 1.0 - self.blocks.taken[n] * self.blocks.sums[n];
        }
        (by_place, by_session)
    }

    /// Standard errors of what was seen, as they really are.
    pub(super) fn errors(&self) -> &[f64] {
        &self.blocks.errors
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
