//! Exact chances of rank sums when ranks fall on waters by chance.

use std::collections::HashMap;

use crate::chance::count;

use super::ranks::{Judge, ROUNDING, Ranked};

/// Steps of enumeration after which a chance is no longer worked out exactly. Our choice: about a
/// second; more only refines p-values that χ² already gives to a few per cent.
pub(super) const MOST_STEPS: usize = 4_000_000;

/// Most waters whose rankings are enumerated one by one. Our choice: 8! = 40 320.
const MOST_ENUMERATED: usize = 8;

/// Exact p where all blocks are complete: only the sorted sums of ranks matter, so equal ones are
/// counted together, block after block.
pub(super) fn exact_complete(blocks: &[Ranked]) -> Option<f64> {
    let waters = blocks.first()?.waters.len();
    if waters > MOST_ENUMERATED {
        return None;
    }
    let mut states: HashMap<Vec<u32>, f64> = HashMap::from([(vec![0; waters], 1.0)]);
    let mut steps = 0;
    for block in blocks {
        let orders = arrangements(&block.twice);
        steps += states.len() * orders.len();
        if steps > MOST_STEPS {
            return None;
        }
        let share = 1.0 / count(orders.len());
        let mut next: HashMap<Vec<u32>, f64> = HashMap::new();
        for (state, chance) in &states {
            for order in &orders {
                let mut sums: Vec<u32> = state.iter().zip(order).map(|(a, b)| a + b).collect();
                sums.sort_unstable();
                *next.entry(sums).or_default() += chance * share;
            }
        }
        states = next;
    }
    let squares = |sums: &[u32]| sums.iter().map(|&s| u64::from(s).pow(2)).sum::<u64>();
    let mut observed = vec![0; waters];
    for block in blocks {
        for (sum, water) in observed.iter_mut().zip(0..waters) {
            *sum += block.of(water)?;
        }
    }
    let least = squares(&observed);
    let p: f64 = states.iter().filter(|(s, _)| squares(s) >= least).map(|(_, chance)| chance).sum();
    Some(p.min(1.0))
}

/// Exact p where trays are incomplete but of one size.
pub(super) fn exact_incomplete(blocks: &[Ranked], judge: &Judge, observed: f64) -> Option<f64> {
    let size = blocks.first()?.waters.len();
    if size > MOST_ENUMERATED || blocks.iter().any(|block| block.waters.len() != size) {
        return None;
    }
    let mut states: HashMap<Vec<u32>, f64> = HashMap::from([(vec![0; judge.waters], 1.0)]);
    let mut steps = 0;
    for block in blocks {
        let orders = arrangements(&block.twice);
        steps += states.len() * orders.len();
        if steps > MOST_STEPS {
            return None;
        }
        let share = 1.0 / count(orders.len());
        let mut next: HashMap<Vec<u32>, f64> = HashMap::new();
        for (state, chance) in &states {
            for order in &orders {
                let mut sums = state.clone();
                for (&water, twice) in block.waters.iter().zip(order) {
                    if let Some(sum) = sums.get_mut(water) {
                        *sum += twice;
                    }
                }
                *next.entry(sums).or_default() += chance * share;
            }
        }
        states = next;
    }
    let weight = judge.weights.first()?;
    let expected = |water: usize| {
        count(blocks.iter().filter(|b| b.waters.contains(&water)).count())
            * f64::midpoint(count(size), 1.0)
    };
    let expected: Vec<f64> = (0..judge.waters).map(expected).collect();
    let extreme = |sums: &[u32]| {
        let deviations: Vec<f64> = sums
            .iter()
            .zip(&expected)
            .map(|(&twice, expected)| weight * (f64::from(twice) / 2.0 - expected))
            .collect();
        judge.statistic(&deviations) >= observed - ROUNDING * (1.0 + observed)
    };
    let p: f64 = states.iter().filter(|(s, _)| extreme(s)).map(|(_, chance)| chance).sum();
    Some(p.min(1.0))
}

/// All different arrangements of some ranks.
fn arrangements(ranks: &[u32]) -> Vec<Vec<u32>> {
    let mut current = ranks.to_vec();
    current.sort_unstable();
    let mut all = vec![current.clone()];
    while next_arrangement(&mut current) {
        all.push(current.clone());
    }
    all
}

/// The next arrangement in the order of the dictionary; false after the last.
fn next_arrangement(items: &mut [u32]) -> bool {
    let Some(pivot) = items.windows(2).rposition(|pair| matches!(pair, [a, b] if a < b)) else {
        return false;
    };
    let value = items.get(pivot).copied().unwrap_or(0);
    let Some(swap) = items.iter().rposition(|&item| item > value) else { return false };
    items.swap(pivot, swap);
    if let Some(rest) = items.get_mut(pivot + 1..) {
        rest.reverse();
    }
    true
}

/// The chance of a difference of rank sums at least as large either way.
pub(super) fn pair_chance(blocks: &[(&Ranked, i64)], observed: i64) -> f64 {
    let mut chances: HashMap<i64, f64> = HashMap::from([(0, 1.0)]);
    for (block, _) in blocks {
        // By chance, two waters of a block get any two of its ranks equally often.
        let n = block.twice.len();
        let share = 1.0 / count(n * (n - 1).max(1));
        let mut steps: HashMap<i64, f64> = HashMap::new();
        for (i, &a) in block.twice.iter().enumerate() {
            for (j, &b) in block.twice.iter().enumerate() {
                if i != j {
                    *steps.entry(i64::from(a) - i64::from(b)).or_default() += share;
                }
            }
        }
        let mut next: HashMap<i64, f64> = HashMap::new();
        for (sum, chance) in &chances {
            for (step, share) in &steps {
                *next.entry(sum + step).or_default() += chance * share;
            }
        }
        chances = next;
    }
    let extreme = |sum: &i64| sum.abs() >= observed.abs();
    chances.iter().filter(|(sum, _)| extreme(sum)).map(|(_, c)| c).sum::<f64>().min(1.0)
}
