//! What is expected of the scales of a surface before any score is seen: many sets of scales, spread
//! evenly through what is probable, so that a mean over them is an integral.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::numerics::{chi_square_quantile, count, normal_quantile};

use crate::next_flight::{Panel, Scales};

/// Sets of scales: our choice; ln of an evidence is then known to about 0.03.
const SETS: f64 = 1000.0;

/// Means seen beyond which there are fewer sets, so that the work, which grows with the cube of what is
/// seen, stays within a second or two; and the fewest sets: our choice, with about 0.1 in ln.
const MANY_SEEN: f64 = 64.0;
const FEWEST_SETS: f64 = 200.0;

/// Scale r of the prior of a standardised effect: τ/σ, the spread of the waters over that of a single
/// score, squared is inverse gamma(½, r²/2), so that effects have a Cauchy law (Rouder J. N., Morey
/// R. D., Speckman P. L., Province J. M., J. Math. Psychol. 56 (2012) 356–374, with their scale of
/// fixed effects; from memory). Half of the waters' spreads are then expected above three quarters of
/// one score's. A wider prior calls a gentle slope flat more often than it deserves.
const EFFECT: f64 = 0.5;

/// Usual length, as a part of the span of the waters tasted, and how far (standard deviation of its
/// logarithm) it may be from it: our choice. Longer flattens the surface, shorter follows the noise of the scores.
const USUAL_LENGTH: f64 = 0.7;
const LENGTH_HELD: f64 = 0.5;

/// Square roots of primes turn through the unit interval evenly, each its own way.
const PRIMES: [f64; 24] = [
    2.0, 3.0, 5.0, 7.0, 11.0, 13.0, 17.0, 19.0, 23.0, 29.0, 31.0, 37.0, 41.0, 43.0, 47.0, 53.0,
    59.0, 61.0, 67.0, 71.0, 73.0, 79.0, 83.0, 89.0,
];

/// What differs between hypotheses of the scores.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Hypothesis {
    /// The waters are alike: what their means differ by is the error of the panel.
    Alike,
    /// Every water differs in its own way, and not along the axes.
    Own,
    /// The scores follow the composition: a surface, and something of each water's own.
    Surface,
}

impl Hypothesis {
    /// All of them.
    pub const ALL: [Hypothesis; 3] = [Hypothesis::Alike, Hypothesis::Own, Hypothesis::Surface];
}

/// One set of scales, before it is known for which hypothesis.
#[derive(Debug, Clone, PartialEq)]
pub struct ScaleSet {
    /// Spread of the waters, in scores.
    spread: f64,
    /// Share of its square that follows the composition.
    share: f64,
    lengths: Vec<f64>,
    errors: Vec<f64>,
}

/// Sets of scales from the prior for so many means `tasted_means`; `spans` are those of the waters tasted on each
/// axis, as parts of the region, and `panels` the sessions.
///
/// The share along the axes has the density 2s from 0 to 1 (our choice: axes that a panel was asked
/// about are expected to tell more than half of what it tastes). A panel's variance is its estimate
/// times ν/χ²(ν). The sets are a lattice by multiples of square roots of primes (Richtmyer R. D., Los
/// Alamos report LA-1342, 1951; from memory): the same on every machine, without a seed.
#[must_use]
pub fn scale_sets(spans: &[f64], panels: &[Panel], tasted_means: usize) -> Vec<ScaleSet> {
    let many = (count(tasted_means) / MANY_SEEN).max(1.0).powi(3);
    let wanted = (SETS / many).max(FEWEST_SETS);
    let mut sets = Vec::new();
    let mut n = 0.0;
    while n < wanted {
        n += 1.0;
        let mut quantiles = BTreeMap::new();
        let mut turns = PRIMES.iter().cycle().map(|p| (n * p.sqrt()).fract());
        let mut next = || turns.next().unwrap_or(0.5).clamp(1e-9, 1.0 - 1e-9);
        // √g = r/|z|, z standard normal.
        let effect = EFFECT / normal_quantile(0.5 + 0.5 * next());
        let share = next().sqrt();
        let lengths = spans
            .iter()
            .map(|span| span * USUAL_LENGTH * (LENGTH_HELD * normal_quantile(next())).exp())
            .collect();
        let errors: Vec<f64> =
            panels.iter().map(|panel| error_factor(panel, next(), &mut quantiles)).collect();
        let squares: f64 = panels
            .iter()
            .zip(&errors)
            .map(|(panel, error)| (panel.one_score * error).powi(2))
            .sum();
        let one_score = (squares / count(panels.len().max(1))).sqrt();
        sets.push(ScaleSet { spread: effect * one_score, share, lengths, errors });
    }
    sets
}

/// By how much the standard errors of a panel are larger than they seem, with a probability. The turns come
/// again after so many panels, and panels of one size have the same degrees of freedom: each quantile
/// is worked out once.
fn error_factor(panel: &Panel, probability: f64, known: &mut BTreeMap<[u64; 2], f64>) -> f64 {
    let Some(degrees) = panel.degrees else { return 1.0 };
    let quantile = known
        .entry([probability.to_bits(), degrees.to_bits()])
        .or_insert_with(|| chi_square_quantile(probability, degrees));
    (degrees / *quantile).sqrt()
}

impl ScaleSet {
    /// The scales under one hypothesis.
    #[must_use]
    pub fn under(&self, hypothesis: Hypothesis) -> Scales {
        let (signal, misfit) = match hypothesis {
            Hypothesis::Alike => (0.0, 0.0),
            Hypothesis::Own => (0.0, self.spread),
            Hypothesis::Surface => {
                (self.spread * self.share.sqrt(), self.spread * (1.0 - self.share).sqrt())
            }
        };
        Scales { signal, misfit, lengths: self.lengths.clone(), errors: self.errors.clone() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Medians of what the prior says: r/0.67449 of a single score, √½ of the square along the axes.
    #[test]
    fn the_sets_are_spread_as_the_prior_says() {
        let panel = Panel { one_score: 2.0, degrees: Some(10.0) };
        let sets = scale_sets(&[0.5], &[panel], 8);
        assert_eq!(sets.len(), 1000);
        assert_eq!(scale_sets(&[0.5], &[panel], 400).len(), 200);
        let median = |of: &dyn Fn(&ScaleSet) -> f64| {
            let mut all: Vec<f64> = sets.iter().map(of).collect();
            all.sort_by(f64::total_cmp);
            all.get(all.len() / 2).copied().unwrap_or_default()
        };
        let near = |got: f64, want: f64| (got / want - 1.0).abs() < 0.02;
        assert!(near(median(&|s| s.share), 0.5_f64.sqrt()));
        assert!(near(median(&|s| s.lengths.iter().sum()), 0.35));
        assert!(near(median(&|s| s.spread / s.errors.iter().sum::<f64>()), 2.0 * EFFECT / 0.67449));
    }
}
