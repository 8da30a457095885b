//! The means that a surface is fitted to, by water, place and session: what stays the same under all
//! scales.

use std::collections::BTreeMap;

use crate::numerics::count;

/// Spread of the sessions' own levels, in spreads of the scores: our choice, wide enough to be free.
const LEVELS: f64 = 10.0;

/// Least standard error, as a part of the spread of the scores: our choice; a mean without scatter is
/// probability, not certainty.
const LEAST_ERROR: f64 = 0.05;

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

/// What was observed.
#[derive(Debug, Clone)]
pub(super) struct Observations {
    pub(super) tasted_means: Vec<TastedMean>,
    /// Where the waters lie. A water that was made a little differently lies at several places.
    pub(super) places: Vec<Vec<f64>>,
    /// The water of each place.
    pub(super) water_of: Vec<usize>,
    /// The place of each mean.
    pub(super) place_of: Vec<usize>,
    /// The means of each session.
    pub(super) members: Vec<Vec<usize>>,
    pub(super) sessions: usize,
    pub(super) waters: usize,
    /// Mean of the scores, which the surface is counted from, and the spread of the sessions' levels.
    pub(super) mean: f64,
    pub(super) level: f64,
    /// The least standard error that a mean may have.
    pub(super) least_error: f64,
}

impl Observations {
    pub(super) fn new(tasted_means: &[TastedMean]) -> Self {
        let mut known: BTreeMap<(usize, Vec<u64>), usize> = BTreeMap::new();
        let (mut places, mut water_of, mut place_of) = (Vec::new(), Vec::new(), Vec::new());
        for one in tasted_means {
            let at = (one.water, one.at.iter().map(|at| at.to_bits()).collect());
            let place = *known.entry(at).or_insert_with(|| {
                places.push(one.at.clone());
                water_of.push(one.water);
                places.len() - 1
            });
            place_of.push(place);
        }
        let sessions = tasted_means.iter().map(|s| s.session + 1).max().unwrap_or(1);
        let mut members = vec![Vec::new(); sessions];
        for (n, one) in tasted_means.iter().enumerate() {
            if let Some(members) = members.get_mut(one.session) {
                members.push(n);
            }
        }
        let mean =
            tasted_means.iter().map(|s| s.score).sum::<f64>() / count(tasted_means.len().max(1));
        Self {
            waters: (0..water_of.len()).take_while(|water| water_of.contains(water)).count(),
            level: LEVELS * level_spread(tasted_means, mean),
            least_error: LEAST_ERROR * spread(tasted_means, &members),
            tasted_means: tasted_means.to_vec(),
            places,
            water_of,
            place_of,
            members,
            sessions,
            mean,
        }
    }

    /// The place where each water was tasted first, in the order of their numbers.
    pub(super) fn first_places(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.waters).filter_map(|water| self.water_of.iter().position(|of| *of == water))
    }

    /// Where each water lies, in the order of their numbers.
    pub(super) fn at(&self) -> Vec<Vec<f64>> {
        self.first_places().filter_map(|place| self.places.get(place).cloned()).collect()
    }
}

/// Standard deviation of the scores within their sessions; 1 where there is none.
fn spread(tasted_means: &[TastedMean], members: &[Vec<usize>]) -> f64 {
    let mut squares = 0.0;
    for of_session in members {
        let scores = || of_session.iter().filter_map(|n| tasted_means.get(*n)).map(|one| one.score);
        let mean = scores().sum::<f64>() / count(of_session.len().max(1));
        squares += scores().map(|score| (score - mean).powi(2)).sum::<f64>();
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
