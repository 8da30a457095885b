//! The smallest p that a ranking can reach: its panel in perfect agreement, on the order of the waters
//! that the trays show best.

use std::collections::BTreeSet;

use nalgebra::DMatrix;

use crate::numerics::{count, next_permutation};

use crate::session::plan::CodeScope;
use crate::session::plan::Plan;
use crate::session::plan::blocks::blocks;
use crate::session::plan::{Draw, Purpose, Seed};

/// Most waters whose orders are gone through one by one. Our choice: 8! = 40 320, a moment; above it
/// a bound is given, which is larger than the p itself.
const MOST_ORDERED: usize = 8;

/// Rounding of statistics that are compared. Our choice: distinct ones differ by more than a millionth.
const ROUNDING: f64 = 1e-9;

/// The smallest p that the rankings of a plan can reach.
///
/// The statistic A′Σ⁻A of the rank sums (Skillings J. H., Mack G. A., Technometrics 23 (1981) 171;
/// Friedman's where all trays are complete) is convex, so it is largest where all trays follow one
/// order of the waters, and each such outcome comes about in one way alone. Its p is then the number
/// of different outcomes with the largest statistic over all (k!)ᵇ that b trays of k cups can have.
#[must_use]
pub fn least_p(plan: &Plan) -> f64 {
    let cups = plan.cups_per_tray.min(plan.waters);
    let factorial = |n: usize| -> f64 { (1..=n).map(count).product() };
    if cups >= plan.waters {
        // All orders are equally extreme. A taster's repeats count once.
        return factorial(cups).powf(1.0 - count(plan.tasters.len()));
    }
    let trays = trays_of_waters(plan, cups);
    let outcomes = factorial(cups).powf(count(trays.len()));
    let most_extreme = if plan.waters > MOST_ORDERED {
        factorial(plan.waters)
    } else {
        count(extreme_outcomes(&trays, plan.waters))
    };
    (most_extreme / outcomes).min(1.0)
}

/// The waters of each tray, by numbers that stand for them: read from codes that all tasters share,
/// and where each cup has its own, trays drawn in the same way.
fn trays_of_waters(plan: &Plan, cups: usize) -> Vec<Vec<usize>> {
    if plan.codes == CodeScope::PerSession && plan.rounds == 1 {
        let codes: BTreeSet<_> = plan.trays.iter().flat_map(|tray| &tray.cups).collect();
        let number = |code| codes.iter().position(|other| *other == code).unwrap_or(0);
        return plan.trays.iter().map(|tray| tray.cups.iter().map(number).collect()).collect();
    }
    let mut draw = Draw::new(&Seed::from_phrase("trays alike"), Purpose::Blocks);
    blocks(plan.waters, cups, plan.trays.len(), &mut draw).blocks
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
            *sum += count(*rank) - (count(size) - 1.0) / 2.0;
        }
    }
    let sums = nalgebra::DVector::from_vec(sums);
    sums.dot(&(inverse * &sums))
}

/// Generalized inverse of the covariance of the rank sums, but for a factor.
fn inverse_covariance(trays: &[Vec<usize>], waters: usize) -> DMatrix<f64> {
    let met =
        |a: usize, b: usize| trays.iter().filter(|t| t.contains(&a) && t.contains(&b)).count();
    let size = trays.first().map_or(2, Vec::len);
    let covariance = DMatrix::from_fn(waters, waters, |a, b| {
        let together = count(met(a, b));
        if a == b { together * (count(size) - 1.0) } else { -together }
    });
    covariance.pseudo_inverse(ROUNDING).unwrap_or_else(|_| DMatrix::identity(waters, waters))
}
