//! The smallest p that a ranking can reach: its panel in perfect agreement, on the order of the waters
//! that the trays show best.

use std::collections::BTreeSet;

use nalgebra::DMatrix;

use crate::numerics::{count, next_permutation};

use crate::session::plan::ranking_blocks::RankingBlock;

/// Most waters whose orders are gone through one by one. Our choice: 8! = 40 320, a moment; above it
/// a bound is given, which is larger than the p itself.
const MOST_ORDERED: usize = 8;

/// Rounding of statistics that are compared. Our choice: distinct ones differ by more than a millionth.
const ROUNDING: f64 = 1e-9;

/// The smallest p that rankings of these blocks of some waters can reach; a lower bound of it where a
/// block of several trays may leave waters alike.
///
/// The statistic A′Σ⁻A of the rank sums (Skillings J. H., Mack G. A., Technometrics 23 (1981) 171;
/// Friedman's where all trays are complete) is convex, so it is largest where all trays follow one
/// order of the waters, and each such outcome comes about in one way alone. Its p is then the number
/// of different outcomes with the largest statistic over all that the blocks can have, k! for k waters.
#[must_use]
pub fn least_p(blocks: &[RankingBlock], waters: usize) -> f64 {
    let factorial = |n: usize| -> f64 { (1..=n).map(count).product() };
    if blocks.iter().all(|block| block.waters.len() >= waters) {
        // All orders are equally extreme.
        return factorial(waters).powf(1.0 - count(blocks.len())).min(1.0);
    }
    let trays: Vec<Vec<usize>> =
        blocks.iter().map(|block| block.waters.iter().copied().collect()).collect();
    let most_extreme = if waters > MOST_ORDERED {
        factorial(waters)
    } else {
        count(extreme_outcomes(&trays, waters))
    };
    // Divided one by one: the outcomes of many blocks are more than a number can hold.
    trays.iter().fold(most_extreme, |p, tray| p / factorial(tray.len())).min(1.0)
}

/// How many different outcomes of the trays have the largest statistic.
fn extreme_outcomes(trays: &[Vec<usize>], waters: usize) -> usize {
    let inverse = inverse_covariance(trays, waters);
    let mut seen: BTreeSet<Vec<usize>> = BTreeSet::new();
    let (mut largest, mut times) = (f64::NEG_INFINITY, 0);
    let mut order: Vec<usize> = (0..waters).collect();
    loop {
        let outcome = ranks(trays, &order);
        if !seen.contains(&outcome) {
            let found = statistic(trays, waters, &outcome, &inverse);
            if found > largest + ROUNDING * (1.0 + found) {
                (largest, times) = (found, 0);
            }
            times += usize::from(found >= largest - ROUNDING * (1.0 + largest));
            seen.insert(outcome);
        }
        if !next_permutation(&mut order) {
            return times;
        }
    }
}

/// The rank of each cup on its tray, from 0, when the waters stand at these places of an order.
fn ranks(trays: &[Vec<usize>], places: &[usize]) -> Vec<usize> {
    let place = |water: &usize| places.get(*water).copied().unwrap_or(0);
    let of_tray = |tray: &Vec<usize>| -> Vec<usize> {
        let before = |own: &usize| tray.iter().filter(|w| place(w) < place(own)).count();
        tray.iter().map(before).collect()
    };
    trays.iter().flat_map(of_tray).collect()
}

/// The statistic, but for a factor that all outcomes share.
fn statistic(
    trays: &[Vec<usize>],
    waters: usize,
    outcome: &[usize],
    inverse: &DMatrix<f64>,
) -> f64 {
    let mut sums = vec![0.0; waters];
    let cups = trays.iter().flat_map(|tray| tray.iter().map(|water| (*water, tray.len())));
    for ((water, size), rank) in cups.zip(outcome) {
        if let Some(sum) = sums.get_mut(water) {
            *sum += weight(size) * (count(*rank) - (count(size) - 1.0) / 2.0);
        }
    }
    let sums = nalgebra::DVector::from_vec(sums);
    sums.dot(&(inverse * &sums))
}

/// Weight of a block: ranks of larger ones spread more (Skillings & Mack 1981), but for a factor.
fn weight(size: usize) -> f64 {
    (count(size) + 1.0).sqrt().recip()
}

/// Generalized inverse of the covariance of the weighted rank sums, but for a factor.
fn inverse_covariance(trays: &[Vec<usize>], waters: usize) -> DMatrix<f64> {
    let met =
        |a: usize, b: usize| trays.iter().filter(|t| t.contains(&a) && t.contains(&b)).count();
    let others = |a: usize| -> usize {
        trays.iter().filter(|t| t.contains(&a)).map(|t| t.len().saturating_sub(1)).sum()
    };
    let covariance =
        DMatrix::from_fn(
            waters,
            waters,
            |a, b| {
                if a == b { count(others(a)) } else { -count(met(a, b)) }
            },
        );
    covariance.pseudo_inverse(ROUNDING).unwrap_or_else(|_| DMatrix::identity(waters, waters))
}
