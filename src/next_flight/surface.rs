//! Scores as a surface over composition.
//!
//! A Gaussian process with a squared exponential kernel and one length for each axis (Rasmussen
//! C. E., Williams C. K. I., "Gaussian Processes for Machine Learning", 2006, chapters 2 and 5; from
//! memory). What is seen is the mean score of a water in a session, with its standard error; every
//! water may have something of its own that the axes do not tell, the same in all sessions; every
//! session has a level of its own, since panels and scales differ. Coordinates run from 0 to 1
//! across the region; scores keep their unit.
#![expect(clippy::indexing_slicing, reason = "square tables with one place per water seen")]

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use rand_chacha::ChaCha20Rng;
use rand_chacha::rand_core::SeedableRng;
use statrs::distribution::{ContinuousCDF, Normal};
use thiserror::Error;

use crate::chance::count;
use crate::quantities::uncertain::between_zero_and_one;

/// The mean score of one water in one session.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// Number of the session.
    pub session: usize,
    /// Where the water lies, 0 to 1 on each axis.
    pub at: Vec<f64>,
    /// Its mean score.
    pub score: f64,
    /// Standard error of the mean.
    pub standard_error: f64,
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

/// Waters below which the lengths are held tightly to their usual value: our choice.
const FEW_WATERS: usize = 8;

/// Usual length, as a part of the region, and how far (standard deviation of its logarithm) few and
/// many waters may move it: our choice. Longer flattens the surface, shorter follows the noise.
const USUAL_LENGTH: f64 = 0.7;
const HELD_TIGHTLY: f64 = 0.2;
const HELD_LOOSELY: f64 = 0.5;

/// Usual signal and misfit, as parts of the spread of the scores, and how far they may move, as above:
/// our choice. Axes that a panel was asked about are expected to tell most of what it tastes.
const USUAL_SIGNAL: f64 = 1.0;
const USUAL_MISFIT: f64 = 0.3;
const SIZES_HELD: f64 = 0.7;

/// Lengths from which the search for the most probable scales starts: our choice, a rough, a usual and
/// a smooth surface, since there may be several hills.
const STARTS: [f64; 3] = [0.2, USUAL_LENGTH, 2.0];

/// Spread of the sessions' own levels, in spreads of the scores: our choice, wide enough to be free.
const LEVELS: f64 = 10.0;

/// Least standard error, as a part of the spread of the scores: our choice; a mean without scatter is
/// chance, not certainty.
const LEAST_ERROR: f64 = 0.05;

/// Added to the diagonal of covariances, relative: our choice, far above rounding.
const JITTER: f64 = 1e-9;

/// A fitted surface.
#[derive(Debug, Clone)]
pub struct Surface {
    seen: Vec<Seen>,
    scales: Scales,
    factor: Cholesky<f64, Dyn>,
    weights: DVector<f64>,
    log_evidence: f64,
}

impl Surface {
    /// Fits the scales: the most probable ones, by steps along each axis of their logarithms (Hooke R.,
    /// Jeeves T. A., J. ACM 8 (1961) 212–229; from memory).
    ///
    /// # Errors
    /// When there are fewer than [`LEAST_WATERS`] different waters, or the numbers are no scores.
    pub fn fit(seen: &[Seen]) -> Result<Self, SurfaceError> {
        let waters = tasted_places(seen).len();
        if waters < LEAST_WATERS {
            return Err(SurfaceError::TooFew { found: waters });
        }
        let axes = seen.first().map_or(0, |s| s.at.len());
        let held = if waters < FEW_WATERS { HELD_TIGHTLY } else { HELD_LOOSELY };
        let scales = |logs: &[f64]| Scales {
            signal: logs[0].exp(),
            misfit: logs[1].exp(),
            lengths: logs[2..].iter().map(|l| l.exp()).collect(),
        };
        let spread = spread(seen);
        let worth = |logs: &[f64]| -> f64 {
            let signal = held_near(logs[0], USUAL_SIGNAL * spread, SIZES_HELD);
            let misfit = held_near(logs[1], USUAL_MISFIT * spread, SIZES_HELD);
            let lengths = logs[2..].iter().map(|l| held_near(*l, USUAL_LENGTH, held));
            let prior = signal + misfit + lengths.sum::<f64>();
            Self::with(seen, scales(logs)).map_or(f64::NEG_INFINITY, |s| s.log_evidence + prior)
        };
        let found = STARTS.map(|length| {
            let mut logs = vec![(USUAL_SIGNAL * spread).ln(), (USUAL_MISFIT * spread).ln()];
            logs.resize(axes + 2, f64::ln(length));
            let best = climb(&mut logs, worth);
            (best, logs)
        });
        let best = found.into_iter().max_by(|a, b| a.0.total_cmp(&b.0));
        let (_, logs) = best.ok_or(SurfaceError::Singular)?;
        Self::with(seen, scales(&logs))
    }

    /// The surface with given scales.
    ///
    /// # Errors
    /// When the numbers are no scores.
    pub fn with(seen: &[Seen], scales: Scales) -> Result<Self, SurfaceError> {
        let n = seen.len();
        let spread = spread(seen);
        let level = (LEVELS * spread).powi(2);
        let mean = seen.iter().map(|s| s.score).sum::<f64>() / count(n.max(1));
        let covariance = DMatrix::from_fn(n, n, |a, b| {
            let of_session = if seen[a].session == seen[b].session { level } else { 0.0 };
            let error = seen[a].standard_error.max(LEAST_ERROR * spread).powi(2);
            let own = if a == b { error } else { 0.0 };
            let of_water = if alike(&seen[a], &seen[b]) { scales.misfit.powi(2) } else { 0.0 };
            scales.covariance(&seen[a].at, &seen[b].at) + of_session + of_water + own
        });
        let scores = DVector::from_iterator(n, seen.iter().map(|s| s.score - mean));
        let factor = Cholesky::new(covariance).ok_or(SurfaceError::Singular)?;
        let weights = factor.solve(&scores);
        let log_determinant = 2.0 * factor.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
        let log_evidence =
            -0.5 * (scores.dot(&weights) + log_determinant + count(n) * std::f64::consts::TAU.ln());
        if !log_evidence.is_finite() {
            return Err(SurfaceError::Singular);
        }
        Ok(Self { seen: seen.to_vec(), scales, factor, weights, log_evidence })
    }

    /// The scales it has.
    #[must_use]
    pub fn scales(&self) -> &Scales {
        &self.scales
    }

    /// What was seen.
    #[must_use]
    pub fn seen(&self) -> &[Seen] {
        &self.seen
    }

    /// ln of the probability of the scores under these scales (Rasmussen & Williams, equation 2.30).
    #[must_use]
    pub fn log_evidence(&self) -> f64 {
        self.log_evidence
    }

    /// ln of how much more probable the scores are with the surface than with none: the levels of the
    /// sessions, the panel's error, and whatever each water has of its own, as large as fits best.
    #[must_use]
    pub fn log_evidence_against_flat(&self) -> f64 {
        let spread = spread(&self.seen);
        let held = |log: f64| held_near(log, USUAL_MISFIT * spread, SIZES_HELD);
        let flat = |logs: &[f64]| -> f64 {
            let scales = Scales { signal: 0.0, misfit: logs[0].exp(), ..self.scales.clone() };
            let flat = Self::with(&self.seen, scales);
            flat.map_or(f64::NEG_INFINITY, |flat| flat.log_evidence + held(logs[0]))
        };
        let best = climb(&mut [(USUAL_MISFIT * spread).ln()], flat);
        self.log_evidence + held(self.scales.misfit.ln()) - best
    }

    /// The surface at some points, without the levels of the sessions: mean and covariance (Rasmussen &
    /// Williams, equations 2.25 and 2.26). Only differences between points mean something.
    #[must_use]
    pub fn at(&self, points: &[Vec<f64>]) -> (DVector<f64>, DMatrix<f64>) {
        let across = DMatrix::from_fn(self.seen.len(), points.len(), |s, p| {
            self.scales.covariance(&self.seen[s].at, &points[p])
        });
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

    /// Surfaces drawn at some points, one in each column; the same seed draws the same.
    ///
    /// # Errors
    /// When the covariance of the points cannot be split.
    pub fn draws(
        &self,
        points: &[Vec<f64>],
        wanted: usize,
        seed: u64,
    ) -> Result<DMatrix<f64>, SurfaceError> {
        let (mean, mut covariance) = self.at(points);
        let jitter = JITTER * self.scales.signal.powi(2).max(f64::MIN_POSITIVE);
        // What rounding left below zero grows with the number of points; ten times more each time.
        let factor = (0..6).find_map(|power| {
            for n in 0..points.len() {
                covariance[(n, n)] += jitter * 10_f64.powi(power);
            }
            Cholesky::new(covariance.clone())
        });
        let lower = factor.ok_or(SurfaceError::Singular)?.l();
        let mut random = ChaCha20Rng::seed_from_u64(seed);
        let normal = Normal::standard();
        let drawn = DMatrix::from_fn(points.len(), wanted, |_, _| {
            normal.inverse_cdf(between_zero_and_one(&mut random))
        });
        let mut surfaces = lower * drawn;
        for mut column in surfaces.column_iter_mut() {
            column += &mean;
        }
        Ok(surfaces)
    }
}

impl Scales {
    fn covariance(&self, a: &[f64], b: &[f64]) -> f64 {
        let distance: f64 = a
            .iter()
            .zip(b)
            .zip(&self.lengths)
            .map(|((a, b), length)| ((a - b) / length).powi(2))
            .sum();
        self.signal.powi(2) * (-0.5 * distance).exp()
    }
}

/// ln of a normal prior on a logarithm, its constant left out.
fn held_near(log: f64, usual: f64, held: f64) -> f64 {
    -0.5 * ((log - usual.ln()) / held).powi(2)
}

/// Whether two are of the same water: our choice, no recipe is made this alike.
fn alike(a: &Seen, b: &Seen) -> bool {
    a.at.iter().zip(&b.at).all(|(x, y)| (x - y).abs() < 1e-6)
}

/// Where waters were seen, each water once.
pub(super) fn tasted_places(seen: &[Seen]) -> Vec<Vec<f64>> {
    let mut found: Vec<&Seen> = Vec::new();
    for one in seen {
        if !found.iter().any(|known| alike(known, one)) {
            found.push(one);
        }
    }
    found.into_iter().map(|one| one.at.clone()).collect()
}

/// Standard deviation of the scores within their sessions; 1 where there is none.
fn spread(seen: &[Seen]) -> f64 {
    let mut squares = 0.0;
    for one in seen {
        let of_session: Vec<f64> =
            seen.iter().filter(|s| s.session == one.session).map(|s| s.score).collect();
        let mean = of_session.iter().sum::<f64>() / count(of_session.len());
        squares += (one.score - mean).powi(2);
    }
    let spread = (squares / count(seen.len().max(1))).sqrt();
    if spread > 0.0 && spread.is_finite() { spread } else { 1.0 }
}

/// Climbs a hill by steps along each axis, halved where none helps; gives the height reached.
fn climb(at: &mut [f64], worth: impl Fn(&[f64]) -> f64) -> f64 {
    /// Our choice: first and last step of a logarithm; a thousandth changes nothing that is shown.
    const FIRST: f64 = 0.5;
    const LAST: f64 = 1e-3;
    let mut step = FIRST;
    let mut best = worth(at);
    while step > LAST {
        let mut better = false;
        for axis in 0..at.len() {
            for side in [step, -step] {
                at[axis] += side;
                let tried = worth(at);
                if tried > best {
                    (best, better) = (tried, true);
                } else {
                    at[axis] -= side;
                }
            }
        }
        if !better {
            step *= 0.5;
        }
    }
    best
}
