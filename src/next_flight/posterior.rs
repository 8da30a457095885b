//! What the scores say of the waters tasted and of any other: surfaces over all sets of scales, each
//! weighed by how probable it makes the scores.
#![expect(clippy::indexing_slicing, reason = "tables with one place per water, point or set")]

use std::sync::Arc;

use nalgebra::{DMatrix, DVector};
use rand::SeedableRng;
use rand_chacha::ChaCha20Rng;
use serde::Serialize;

use crate::numerics::find_root::find_root;
use crate::numerics::{count, ends, normal_cdf, normal_quantile};
use crate::quantities::uncertain::between_zero_and_one;
use crate::session::analysis::confidence_level::OUTSIDE;

use crate::next_flight::Evidence;
use crate::next_flight::Hypothesis;
use crate::next_flight::observations::Observations;
use crate::next_flight::prior::{ScaleSet, scale_sets};
use crate::next_flight::surface::LEAST_WATERS;
use crate::next_flight::{Panel, Scales, Surface, SurfaceError, TastedMean};

/// Sets of scales that surfaces are drawn with, and surfaces drawn in all: our choice; a probability is
/// then known to 1.5 %.
const DRAWN_SETS: usize = 100;
/// Surfaces drawn.
pub const DRAWS: usize = 1000;

/// Part of a surface's variance that a drawn one may lack anywhere: our choice, far below what is
/// known of it.
const LACKS: f64 = 1e-5;

/// One water tasted, by all sessions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterEstimate {
    /// Its score at the mean level of the sessions.
    pub score: f64,
    /// Standard deviation of that.
    pub standard_deviation: f64,
    /// 95 % interval of it, as between the waters: what a taster adds to all alike is no part.
    pub interval: (f64, f64),
    /// Its score where other waters say nothing of it.
    pub alone: f64,
}

/// Part of a standard deviation by which two waters' scores must differ to decide which is better: our
/// choice; of waters nearer than this the one whose own scores alone are better comes first.
const TOO_NEAR: f64 = 0.25;

/// The best of some waters.
#[must_use]
pub fn best_of(waters: &[WaterEstimate], desirability: &dyn Fn(f64) -> f64) -> Option<usize> {
    let top =
        waters.iter().max_by(|a, b| desirability(a.score).total_cmp(&desirability(b.score)))?;
    let near = |own: &WaterEstimate| {
        desirability(top.score) - desirability(own.score) <= TOO_NEAR * top.standard_deviation
    };
    let rated = waters.iter().enumerate().filter(|(_, own)| near(own));
    // Of two that are alike the earlier.
    rated
        .rev()
        .max_by(|a, b| desirability(a.1.alone).total_cmp(&desirability(b.1.alone)))
        .map(|(n, _)| n)
}

/// What the differences between waters consist of: standard deviations in scores, medians of what is
/// probable.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct VarianceParts {
    /// What follows the composition.
    pub along_the_axes: f64,
    /// What each water has of its own, which the axes do not tell.
    pub of_its_own: f64,
    /// The panel's error of a mean.
    #[serde(rename = "panel_error_of_a_mean")]
    pub of_the_panel: f64,
}

/// A set of scales under a hypothesis, with how probable it is.
#[derive(Debug, Clone)]
struct Weighed {
    hypothesis: Hypothesis,
    set: usize,
    /// Among the sets of its hypothesis, and among all.
    within: f64,
    weight: f64,
    own: Vec<(f64, f64)>,
}

/// What the scores say.
#[derive(Debug, Clone)]
pub struct Posterior {
    observed: Arc<Observations>,
    sets: Vec<ScaleSet>,
    weighed: Vec<Weighed>,
    evidence: Evidence,
}

/// Surfaces drawn from what is known: each column is one.
#[derive(Debug, Clone)]
pub struct Drawn {
    /// Scores of the waters tasted, each with what it has of its own.
    pub tasted: DMatrix<f64>,
    /// Scores of other points by the surface alone.
    pub others: DMatrix<f64>,
    /// What a water has of its own: its standard deviation in each column.
    pub misfit: Vec<f64>,
    /// Whether the column follows the composition.
    pub follows: Vec<bool>,
}

impl Posterior {
    /// Weighs all sets of scales; `panels` has one entry for each session.
    ///
    /// # Errors
    /// When there are fewer than [`LEAST_WATERS`] different waters, or the numbers are no scores.
    pub fn new(tasted_means: &[TastedMean], panels: &[Panel]) -> Result<Self, SurfaceError> {
        let observed = Arc::new(Observations::new(tasted_means));
        let found = observed.waters;
        if found < LEAST_WATERS {
            return Err(SurfaceError::TooFew { found });
        }
        let sets = scale_sets(&spans(tasted_means), panels, tasted_means.len());
        let mut weighed: Vec<Weighed> = Vec::new();
        let mut logs: [Vec<f64>; 3] = Default::default();
        for (hypothesis, logs) in Hypothesis::ALL.into_iter().zip(&mut logs) {
            for (set, scales) in sets.iter().enumerate() {
                let surface = Surface::of(&observed, scales.under(hypothesis))?;
                logs.push(surface.log_evidence());
                let own = surface.own();
                weighed.push(Weighed { hypothesis, set, within: 0.0, weight: 0.0, own });
            }
        }
        let evidence = Evidence::new(&logs);
        for ((logs, probability), own) in
            logs.iter().zip(evidence.probabilities()).zip(weighed.chunks_mut(sets.len()))
        {
            let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let sum: f64 = logs.iter().map(|ln| (ln - most).exp()).sum();
            for (one, ln) in own.iter_mut().zip(logs) {
                one.within = (ln - most).exp() / sum;
                one.weight = probability * one.within;
            }
        }
        Ok(Self { observed, sets, weighed, evidence })
    }

    /// The evidence for a surface.
    #[must_use]
    pub fn evidence(&self) -> &Evidence {
        &self.evidence
    }

    /// Every water tasted, in the order of their numbers.
    #[must_use]
    pub fn own(&self) -> Vec<WaterEstimate> {
        // A few sets of scales, drawn evenly, hold the ends of an interval as well as all of them do.
        let drawn: Vec<(f64, &[(f64, f64)])> = self
            .resampled()
            .into_iter()
            .map(|(one, times)| (count(times) / count(DRAWS), one.own.as_slice()))
            .collect();
        (0..self.observed.waters)
            .map(|water| {
                let all = || self.weighed.iter().map(|one| (one.weight, one.own[water]));
                let score: f64 = all().map(|(weight, (mean, _))| weight * mean).sum();
                let own = self.weighed.iter().filter(|one| one.hypothesis == Hypothesis::Own);
                let (sum, weights) = own.fold((0.0, 0.0), |(sum, weights), one| {
                    (sum + one.within * one.own[water].0, weights + one.within)
                });
                let alone = sum / weights;
                let squares: f64 =
                    all().map(|(w, (mean, sd))| w * (sd * sd + (mean - score).powi(2))).sum();
                let standard_deviation = squares.sqrt();
                let below = |at: f64| -> f64 {
                    let one = |(weight, own): &(f64, &[(f64, f64)])| {
                        let (mean, sd) = own[water];
                        weight * normal_cdf((at - mean) / sd.max(f64::MIN_POSITIVE))
                    };
                    drawn.iter().map(one).sum()
                };
                // Chebyshev's inequality: less than a hundredth lies beyond ten standard deviations.
                let reach = 10.0 * standard_deviation;
                let end = |probability| find_root(score - reach, score + reach, probability, below);
                let interval = (end(OUTSIDE), end(1.0 - OUTSIDE));
                WaterEstimate { score, standard_deviation, interval, alone }
            })
            .collect()
    }

    /// What the differences between waters consist of, where they follow the composition.
    #[must_use]
    pub fn parts(&self) -> VarianceParts {
        let surfaces = || self.weighed.iter().filter(|one| one.hypothesis == Hypothesis::Surface);
        let tasted_means = &self.observed.tasted_means;
        let errors = tasted_means.iter().map(|s| s.standard_error.powi(2)).sum::<f64>();
        let error = (errors / count(tasted_means.len())).sqrt();
        let sessions = count(self.observed.sessions);
        let median = |of: &dyn Fn(&Scales) -> f64| {
            let mut all: Vec<(f64, f64)> = surfaces()
                .map(|one| (of(&self.sets[one.set].under(one.hypothesis)), one.weight))
                .collect();
            all.sort_by(|a, b| a.0.total_cmp(&b.0));
            let half = all.iter().map(|(_, weight)| weight).sum::<f64>() / 2.0;
            let mut sum = 0.0;
            let reached = all.iter().find(|(_, weight)| {
                sum += weight;
                sum >= half
            });
            reached.map_or(0.0, |(value, _)| *value)
        };
        VarianceParts {
            along_the_axes: median(&|scales| scales.signal),
            of_its_own: median(&|scales| scales.misfit),
            of_the_panel: error * median(&|scales| scales.errors.iter().sum::<f64>() / sessions),
        }
    }

    /// Draws surfaces at the waters tasted and at other points; the same seed draws the same.
    ///
    /// A surface is drawn from the prior, with all that is seen of it, and moved by what that lacks to
    /// the scores: Cov(·, seen) times the weights of the difference (Matheron's rule: Journel A. G.,
    /// Huijbregts C. J., "Mining Geostatistics", 1978; from memory).
    ///
    /// # Errors
    /// When the numbers are no scores.
    pub fn draw(&self, points: &[Vec<f64>], seed: u64) -> Result<Drawn, SurfaceError> {
        let tasted = self.observed.at();
        let all = [tasted.clone(), points.to_vec()].concat();
        let mut random = ChaCha20Rng::seed_from_u64(seed);
        let mut drawn = Drawn {
            tasted: DMatrix::zeros(tasted.len(), DRAWS),
            others: DMatrix::zeros(points.len(), DRAWS),
            misfit: Vec::with_capacity(DRAWS),
            follows: Vec::with_capacity(DRAWS),
        };
        for (one, times) in self.resampled() {
            let scales = self.sets[one.set].under(one.hypothesis);
            let surface = Surface::of(&self.observed, scales)?;
            let root =
                (one.hypothesis == Hypothesis::Surface).then(|| low_rank(surface.scales(), &all));
            let across = surface.across(&all);
            for _ in 0..times {
                let column = drawn.misfit.len();
                let values =
                    one_draw(&surface, &self.observed, root.as_ref(), &across, &mut random);
                drawn.tasted.column_mut(column).copy_from(&values.rows(0, tasted.len()));
                let others = values.rows(2 * tasted.len(), points.len());
                drawn.others.column_mut(column).copy_from(&others);
                for water in 0..tasted.len() {
                    drawn.tasted[(water, column)] += values[tasted.len() + water];
                }
                drawn.misfit.push(surface.scales().misfit);
                drawn.follows.push(one.hypothesis == Hypothesis::Surface);
            }
        }
        Ok(drawn)
    }

    /// Sets of scales drawn evenly by their weights (systematic resampling: Kitagawa G., J. Comput.
    /// Graph. Statist. 5 (1996) 1–25; from memory), each with its number of surfaces.
    fn resampled(&self) -> Vec<(&Weighed, usize)> {
        let each = DRAWS / DRAWN_SETS;
        let step = 1.0 / count(DRAWN_SETS);
        let mut picked: Vec<(&Weighed, usize)> = Vec::new();
        let (mut sum, mut next) = (0.0, step / 2.0);
        for one in &self.weighed {
            sum += one.weight;
            let mut times = 0;
            while next <= sum {
                (times, next) = (times + each, next + step);
            }
            if times > 0 {
                picked.push((one, times));
            }
        }
        // Rounding of the sum of the weights may leave the last one out.
        let missing = DRAWS - picked.iter().map(|(_, times)| times).sum::<usize>();
        if let Some((_, times)) = picked.last_mut() {
            *times += missing;
        }
        picked
    }
}

/// Spread of the waters on each axis, from the lowest to the highest, as a part of the region; all of
/// the region where they do not differ.
fn spans(tasted_means: &[TastedMean]) -> Vec<f64> {
    let axes = tasted_means.first().map_or(0, |s| s.at.len());
    let span = |axis: usize| {
        let at = tasted_means.iter().filter_map(|s| s.at.get(axis));
        ends(at.copied()).map(|(low, high)| high - low).filter(|span| *span > 0.0).unwrap_or(1.0)
    };
    (0..axes).map(span).collect()
}

/// One draw: the surface with its level at the waters tasted, what each of them has of its own, and the
/// surface at the other points; `across` and `root` are of waters tasted and other points together.
fn one_draw(
    surface: &Surface,
    observed: &Observations,
    root: Option<&DMatrix<f64>>,
    across: &DMatrix<f64>,
    random: &mut ChaCha20Rng,
) -> DVector<f64> {
    let points = across.ncols();
    let waters = observed.waters;
    let misfit = surface.scales().misfit;
    let mut normal = || normal_quantile(between_zero_and_one(random));
    let mut values = match root {
        Some(root) => root * DVector::from_fn(root.ncols(), |_, _| normal()),
        None => DVector::zeros(points),
    };
    let mut own = DVector::from_fn(waters, |_, _| misfit * normal());
    let mut levels = DVector::from_fn(observed.sessions, |_, _| observed.level * normal());
    let means = observed.tasted_means.iter().zip(surface.errors());
    let lacks: Vec<f64> = means
        .map(|(one, error)| {
            let drawn = values[one.water] + own[one.water] + levels[one.session] + error * normal();
            one.score - observed.mean - drawn
        })
        .collect();
    let (by_place, by_session) = surface.weights_of(&lacks);
    values += across.tr_mul(&by_place);
    for (water, weight) in observed.water_of.iter().zip(by_place.iter()) {
        own[*water] += misfit.powi(2) * weight;
    }
    for (level, weight) in levels.iter_mut().zip(by_session) {
        *level += observed.level.powi(2) * weight;
    }
    values.add_scalar_mut(observed.mean + levels.mean());
    let rest = points - waters;
    DVector::from_iterator(
        2 * waters + rest,
        values
            .rows(0, waters)
            .iter()
            .chain(own.iter())
            .chain(values.rows(waters, rest).iter())
            .copied(),
    )
}

/// A root of the covariance of some points with few columns: Cholesky's, taking each time the point
/// whose variance is least explained, until nowhere more than [`LACKS`] is missing (Harbrecht H.,
/// Peters M., Schneider R., Appl. Numer. Math. 62 (2012) 428–440; from memory).
fn low_rank(scales: &Scales, points: &[Vec<f64>]) -> DMatrix<f64> {
    let n = points.len();
    let full = scales.signal.powi(2);
    let mut left = DVector::from_element(n, full);
    let mut columns: Vec<DVector<f64>> = Vec::new();
    while columns.len() < n {
        let pivot = left.imax();
        if left[pivot] <= LACKS * full {
            break;
        }
        let mut column = DVector::from_fn(n, |p, _| scales.covariance(&points[p], &points[pivot]));
        for known in &columns {
            column.axpy(-known[pivot], known, 1.0);
        }
        column /= left[pivot].sqrt();
        left.zip_apply(&column, |left, own| *left = (*left - own * own).max(0.0));
        columns.push(column);
    }
    if columns.is_empty() { DMatrix::zeros(n, 1) } else { DMatrix::from_columns(&columns) }
}
