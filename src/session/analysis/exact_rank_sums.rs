//! Exact probabilities of rank sums when ranks fall on waters at random.

use std::collections::HashMap;
use std::hash::Hash;

use crate::numerics::{count, next_permutation, normal_cdf};

use crate::session::analysis::Ranked;
use crate::session::analysis::rank_statistic::RankStatistic;
use crate::session::analysis::ranked::{ROUNDING, difference};

/// Steps of enumeration after which a probability is no longer worked out exactly. Our choice: about half a
/// second; more only refines p-values that χ² already gives to a few per cent.
pub(crate) const MOST_STEPS: usize = 2_000_000;

/// Most waters whose rankings are enumerated one by one. Our choice: 8! = 40 320.
const MOST_ENUMERATED: usize = 8;

/// Exact p where all blocks are complete: only the sorted sums of ranks matter, so equal ones are
/// counted together, block after block.
pub(crate) fn exact_complete(blocks: &[Ranked]) -> Option<f64> {
    let (first, others) = blocks.split_first()?;
    let waters = first.waters.len();
    if waters > MOST_ENUMERATED {
        return None;
    }
    // In whatever order the first block ranks them, its sorted sums are the same.
    let mut sums = [0; MOST_ENUMERATED];
    let mut sorted = first.twice.clone();
    sorted.sort_unstable();
    for (sum, twice) in sums.iter_mut().zip(sorted) {
        *sum = twice;
    }
    let start = (sums, count_of_arrangements(&first.twice)?);
    let states = sums_by_chance(others, start, |sums, _, order| {
        for (sum, twice) in sums.iter_mut().zip(order) {
            *sum += twice;
        }
        if let Some(sums) = sums.get_mut(..waters) {
            sums.sort_unstable();
        }
    })?;
    let squares = |sums: &[u32]| sums.iter().map(|&s| u64::from(s).pow(2)).sum::<u64>();
    let mut observed = vec![0; waters];
    for block in blocks {
        for (sum, water) in observed.iter_mut().zip(0..waters) {
            *sum += block.of(water)?;
        }
    }
    let least = squares(&observed);
    let p: f64 = states
        .iter()
        .filter(|(s, _)| squares(s) >= least)
        .map(|(_, probability)| probability)
        .sum();
    Some(p.min(1.0))
}

/// Exact p where trays are incomplete but of one size.
pub(crate) fn exact_incomplete(
    blocks: &[Ranked],
    form: &RankStatistic,
    observed: f64,
) -> Option<f64> {
    let size = blocks.first()?.waters.len();
    if size > MOST_ENUMERATED || blocks.iter().any(|block| block.waters.len() != size) {
        return None;
    }
    let start = (vec![0; form.waters], 0);
    let states = sums_by_chance(blocks, start, |sums: &mut Vec<u32>, block, order| {
        for (&water, twice) in block.waters.iter().zip(order) {
            if let Some(sum) = sums.get_mut(water) {
                *sum += twice;
            }
        }
    })?;
    let weight = form.weights.first()?;
    let expected = |water: usize| {
        count(blocks.iter().filter(|b| b.waters.contains(&water)).count())
            * f64::midpoint(count(size), 1.0)
    };
    let expected: Vec<f64> = (0..form.waters).map(expected).collect();
    let extreme = |sums: &[u32]| {
        let deviations: Vec<f64> = sums
            .iter()
            .zip(&expected)
            .map(|(&twice, expected)| weight * (f64::from(twice) / 2.0 - expected))
            .collect();
        form.statistic(&deviations) >= observed - ROUNDING * (1.0 + observed)
    };
    let p: f64 =
        states.iter().filter(|(s, _)| extreme(s)).map(|(_, probability)| probability).sum();
    Some(p.min(1.0))
}

/// Every outcome that is possible at random, with its probability: block after block, each order
/// of a block's ranks is added to the sums so far, which begin with a state after so many steps. Sorted,
/// so that probabilities are always summed in one order. `None` when there are too many.
fn sums_by_chance<S: Clone + Ord + Hash>(
    blocks: &[Ranked],
    (start, mut steps): (S, usize),
    add: impl Fn(&mut S, &Ranked, &[u32]),
) -> Option<Vec<(S, f64)>> {
    let mut states = vec![(start, 1.0)];
    if steps > MOST_STEPS {
        return None;
    }
    for block in blocks {
        let orders = count_of_arrangements(&block.twice)?;
        steps += states.len().checked_mul(orders)?;
        if steps > MOST_STEPS {
            return None;
        }
        let share = 1.0 / count(orders);
        let mut next: HashMap<S, f64> = HashMap::new();
        let mut order = block.twice.clone();
        order.sort_unstable();
        loop {
            for (state, probability) in &states {
                let mut sums = state.clone();
                add(&mut sums, block, &order);
                *next.entry(sums).or_default() += probability * share;
            }
            if !next_permutation(&mut order) {
                break;
            }
        }
        states = next.into_iter().collect();
        states.sort_unstable_by(|a, b| a.0.cmp(&b.0));
    }
    Some(states)
}

/// How many different arrangements some ranks have: `n!` over those of ranks that are equal. `None` where
/// that is far too many.
fn count_of_arrangements(ranks: &[u32]) -> Option<usize> {
    let mut sorted = ranks.to_vec();
    sorted.sort_unstable();
    let mut arrangements = 1_usize;
    let mut alike = 0;
    for (n, rank) in sorted.iter().enumerate() {
        alike = if n > 0 && sorted.get(n - 1) == Some(rank) { alike + 1 } else { 1 };
        // A whole number after each factor: a binomial coefficient of it.
        arrangements = arrangements.checked_mul(n + 1)? / alike;
    }
    Some(arrangements)
}

/// The distribution of the difference of two waters' rank sums over some blocks.
pub(crate) enum RankSumDifference {
    /// Probabilities of every difference, from the most negative, in half ranks.
    Exact(Vec<f64>),
    /// Variance of the difference, in half ranks squared, for large panels.
    Normal(f64),
}

impl RankSumDifference {
    /// At random, two waters of a block get any two of its ranks equally often.
    pub(crate) fn of(blocks: &[&Ranked]) -> Self {
        let widest = |block: &Ranked| block.twice.iter().max().map_or(0, |r| *r as usize);
        let reach: usize = blocks.iter().map(|block| widest(block)).sum();
        let largest = blocks.iter().map(|block| widest(block)).max().unwrap_or(0);
        if reach * largest * blocks.len() > MOST_STEPS {
            let spread = |block: &&Ranked| {
                let k = count(block.twice.len());
                8.0 * block.variance() * k / (k - 1.0).max(1.0)
            };
            return Self::Normal(blocks.iter().map(spread).sum());
        }
        let mut probabilities = vec![1.0];
        for block in blocks {
            let wide = widest(block);
            let share = 1.0 / count(block.twice.len() * (block.twice.len() - 1).max(1));
            let mut steps = vec![0.0; 2 * wide + 1];
            for (i, &a) in block.twice.iter().enumerate() {
                for (_, &b) in block.twice.iter().enumerate().filter(|(j, _)| *j != i) {
                    if let Some(step) = steps.get_mut(wide + a as usize - b as usize) {
                        *step += share;
                    }
                }
            }
            let mut next = vec![0.0; probabilities.len() + 2 * wide];
            for (at, probability) in probabilities.iter().enumerate() {
                for (sum, share) in next.iter_mut().skip(at).zip(&steps) {
                    *sum += probability * share;
                }
            }
            probabilities = next;
        }
        Self::Exact(probabilities)
    }

    /// The probability of a difference at least as large either way, in half ranks.
    pub(crate) fn two_sided(&self, observed: i64) -> f64 {
        match self {
            Self::Exact(probabilities) => {
                let middle = probabilities.len() / 2;
                let apart = usize::try_from(observed.unsigned_abs()).unwrap_or(usize::MAX);
                let beyond =
                    probabilities.iter().enumerate().filter(|(at, _)| at.abs_diff(middle) >= apart);
                beyond.map(|(_, probability)| probability).sum::<f64>().min(1.0)
            }
            Self::Normal(variance) if *variance > 0.0 => {
                (2.0 * normal_cdf(-2.0 * difference(observed).abs() / variance.sqrt())).min(1.0)
            }
            Self::Normal(_) => 1.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arrangements_are_as_many_as_are_counted() {
        for ranks in
            [vec![2], vec![4, 2, 6], vec![3, 3, 6], vec![5, 5, 5, 5], vec![3, 8, 3, 8, 10, 8]]
        {
            let mut order = ranks.clone();
            order.sort_unstable();
            let mut enumerated = 1;
            while next_permutation(&mut order) {
                enumerated += 1;
            }
            assert_eq!(count_of_arrangements(&ranks), Some(enumerated), "{ranks:?}");
        }
    }
}
