//! An order of waters that was expected: Page's test.

use std::collections::{BTreeMap, HashMap};

use crate::numerics::{count, normal_cdf};

use crate::session::analysis::Ranked;
use crate::session::analysis::exact_rank_sums::MOST_STEPS;
use crate::session::analysis::ranked::difference;

/// Most waters for which Page's test is exact. Our choice: its table has 2^k rows, and a panel that ties its
/// waters in many ways needs one for each.
const MOST_PAGE: usize = 12;

/// Page's test of an order that was fixed before tasting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PageTest {
    /// L = Σ place × rank sum.
    pub l: f64,
    /// Exact p-value: the probability of at least this L; `None` beyond the size that is enumerated.
    pub p_exact: Option<f64>,
    /// The p-value of the normal approximation.
    pub p_normal: f64,
}

/// Tests whether waters are ranked in an expected order, most first (Page E. B., J. Amer. Statist.
/// Assoc. 58 (1963) 216). `None` unless every block ranks exactly its waters.
///
/// ```
/// use waterflight::session::analysis::page_test::page;
/// use waterflight::session::analysis::Ranked;
/// use waterflight::session::analysis::ranked::places;
/// let blocks = vec![Ranked::from_values(&places([2, 0, 1])); 3];
/// let test = page(&blocks, &[2, 0, 1]).ok_or("incomplete")?;
/// assert!((test.l - 42.0).abs() < 1e-12);
/// assert!(test.p_exact.is_some_and(|p| (p - 1.0 / 216.0).abs() < 1e-12));
/// # Ok::<(), &str>(())
/// ```
#[must_use]
pub fn page(blocks: &[Ranked], expected_order: &[usize]) -> Option<PageTest> {
    PageTests::default().test(blocks, expected_order)
}

/// Page's tests of many orders: what chance does with the same ranks is worked out once.
#[derive(Debug, Default)]
pub(crate) struct PageTests {
    /// By the ranks of a block, sorted.
    by_chance: BTreeMap<Vec<u32>, HashMap<u64, f64>>,
}

impl PageTests {
    /// As [`page`].
    pub(crate) fn test(&mut self, blocks: &[Ranked], expected_order: &[usize]) -> Option<PageTest> {
        let k = expected_order.len();
        if k < 2 || blocks.is_empty() {
            return None;
        }
        let mut observed = 0;
        let (mut expected, mut variance) = (0.0, 0.0);
        let mut sums: HashMap<u64, f64> = HashMap::from([(0, 1.0)]);
        let mut exact = k <= MOST_PAGE;
        let centre = f64::midpoint(count(k), 1.0);
        let spread: f64 = (1..=k).map(|place| (count(place) - centre).powi(2)).sum();
        for block in blocks {
            if block.waters.len() != k {
                return None;
            }
            for (place, &water) in (1_u64..).zip(expected_order) {
                observed += place * u64::from(block.of(water)?);
            }
            expected += count(k) * centre * centre;
            variance += spread * block.variance() * count(k) / (count(k) - 1.0);
            if exact {
                let mut ranks = block.twice.clone();
                ranks.sort_unstable();
                let own =
                    self.by_chance.entry(ranks).or_insert_with_key(|ranks| weighted_sums(ranks));
                exact = sums.len() * own.len() < MOST_STEPS;
                let mut next: HashMap<u64, f64> = HashMap::new();
                for (sum, probability) in &sums {
                    for (step, share) in own.iter() {
                        *next.entry(sum + step).or_default() += probability * share;
                    }
                }
                sums = next;
            }
        }
        let p_exact = exact.then(|| {
            sums.iter().filter(|(sum, _)| **sum >= observed).map(|(_, c)| c).sum::<f64>().min(1.0)
        });
        let l = difference(i64::try_from(observed).unwrap_or(i64::MAX));
        let p_normal =
            if variance > 0.0 { normal_cdf((expected - l) / variance.sqrt()) } else { 1.0 };
        Some(PageTest { l, p_exact, p_normal })
    }
}

/// Probabilities of Σ place × twice the rank when ranks fall on places at random: ranks are given out
/// place by place, and only which are spent matters.
fn weighted_sums(twice: &[u32]) -> HashMap<u64, f64> {
    let k = twice.len();
    let mut by_spent: HashMap<u32, HashMap<u64, f64>> =
        HashMap::from([(0, HashMap::from([(0, 1.0)]))]);
    for place in 1..=k {
        let share = 1.0 / count(k + 1 - place);
        let mut next: HashMap<u32, HashMap<u64, f64>> = HashMap::new();
        for (spent, sums) in &by_spent {
            for (rank, &value) in twice.iter().enumerate().filter(|(r, _)| spent >> r & 1 == 0) {
                let after = next.entry(spent | 1 << rank).or_default();
                let step = u64::try_from(place).unwrap_or(u64::MAX) * u64::from(value);
                for (sum, probability) in sums {
                    *after.entry(sum + step).or_default() += probability * share;
                }
            }
        }
        by_spent = next;
    }
    by_spent.into_values().next().unwrap_or_default()
}
