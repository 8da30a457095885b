//! Ranks: Friedman's test and its relatives, exact for small panels.

#![expect(
    clippy::indexing_slicing,
    reason = "every index comes from the size the tables were made with"
)]

use std::collections::BTreeMap;

use nalgebra::DMatrix;

use crate::numerics::{chi_square_tail, count};
use crate::session::plan::ranking_blocks::ranking_blocks;
use crate::session::score::{CupPlace, RankingRow};

use crate::session::analysis::ScoreTable;
use crate::session::analysis::comparisons::holm;
use crate::session::analysis::exact_rank_sums::{
    RankSumDifference, exact_complete, exact_incomplete,
};
use crate::session::analysis::score_table::mean;

/// Rounding of statistics that are compared with each other. Our choice: they are sums of at most a
/// few thousand terms of order one, and distinct values differ by more than a millionth.
pub(crate) const ROUNDING: f64 = 1e-9;

/// What one taster, or one tray, ranked: each water with its rank, 1 for the most; ties share the
/// mean of their ranks.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranked {
    pub(crate) waters: Vec<usize>,
    /// Twice the ranks, so that they are whole.
    pub(crate) twice: Vec<u32>,
}

impl Ranked {
    /// Ranks values, the largest first. Values closer than a billionth of the larger are ties.
    #[must_use]
    pub fn from_values(values: &[(usize, f64)]) -> Self {
        let above = |a: f64, b: f64| a - b > ROUNDING * (1.0 + a.abs().max(b.abs()));
        let twice = values
            .iter()
            .map(|&(_, own)| {
                let higher = values.iter().filter(|(_, v)| above(*v, own)).count();
                let equal =
                    values.iter().filter(|(_, v)| !above(*v, own) && !above(own, *v)).count();
                u32::try_from(2 * higher + equal + 1).unwrap_or(u32::MAX)
            })
            .collect();
        Self { waters: values.iter().map(|(water, _)| *water).collect(), twice }
    }

    /// Twice the rank of a water, if it was ranked.
    #[must_use]
    pub fn of(&self, water: usize) -> Option<u32> {
        let place = self.waters.iter().position(|&w| w == water)?;
        self.twice.get(place).copied()
    }

    /// Variance of a rank when ranks fall on waters at random.
    pub(crate) fn variance(&self) -> f64 {
        let k = count(self.twice.len());
        let centre = f64::midpoint(k, 1.0);
        self.twice.iter().map(|&r| (f64::from(r) / 2.0 - centre).powi(2)).sum::<f64>() / k
    }
}

/// Ranks of each taster's mean scores. Tasters with fewer than two waters tell nothing and are
/// left out.
#[must_use]
pub fn ranked_scores(table: &ScoreTable) -> Vec<Ranked> {
    table
        .means()
        .iter()
        .map(|row| {
            row.iter()
                .enumerate()
                .filter_map(|(water, mean)| Some((water, (*mean)?)))
                .collect::<Vec<_>>()
        })
        .filter(|values| values.len() > 1)
        .map(|values| Ranked::from_values(&values))
        .collect()
}

/// Rankings as blocks. A taster's trays that share waters are one block, since a taster's repeats are no
/// further tasters: each water's places, counted from the middle of its tray, are averaged and ranked anew.
#[must_use]
pub fn ranked_trays(rows: &[RankingRow]) -> Vec<Ranked> {
    let from_middle = |order: &[CupPlace]| -> Vec<(usize, f64)> {
        let middle = (count(order.len()) - 1.0) / 2.0;
        let places = places(order.iter().map(|cup| cup.water));
        places.into_iter().map(|(water, place)| (water, place + middle)).collect()
    };
    let given: Vec<(usize, Vec<(usize, f64)>)> = rows
        .iter()
        .filter_map(|row| Some((row.taster, from_middle(row.order.as_ref()?))))
        .collect();
    let trays: Vec<(usize, Vec<usize>)> = given
        .iter()
        .map(|(taster, places)| (*taster, places.iter().map(|(water, _)| *water).collect()))
        .collect();
    ranking_blocks(&trays)
        .iter()
        .map(|block| {
            let own = || block.trays.iter().filter_map(|tray| given.get(*tray));
            let mean_of = |water: usize| {
                let places = own().flat_map(|(_, places)| places);
                let places: Vec<f64> =
                    places.filter(|(w, _)| *w == water).map(|(_, place)| *place).collect();
                Some((water, mean(&places)?))
            };
            block.waters.iter().filter_map(|water| mean_of(*water)).collect::<Vec<_>>()
        })
        .filter(|values| values.len() > 1)
        .map(|values| Ranked::from_values(&values))
        .collect()
}

/// Waters of an order with the mean of their places, counted so that more is better.
#[must_use]
pub fn places(order: impl IntoIterator<Item = usize>) -> Vec<(usize, f64)> {
    let mut sums: Vec<(usize, f64, usize)> = Vec::new();
    for (place, water) in order.into_iter().enumerate() {
        match sums.iter_mut().find(|(w, _, _)| *w == water) {
            Some((_, sum, n)) => {
                *sum -= count(place);
                *n += 1;
            }
            None => sums.push((water, -count(place), 1)),
        }
    }
    sums.into_iter().map(|(water, sum, n)| (water, sum / count(n))).collect()
}

/// The test that all waters are ranked alike.
#[derive(Debug, Clone, PartialEq)]
pub struct RankTest {
    /// Blocks: of a taster's trays that share waters, one.
    pub blocks: usize,
    /// Mean rank of each water; `None` where it was never ranked.
    pub mean_ranks: Vec<Option<f64>>,
    /// Friedman's statistic, corrected for ties; for incomplete trays its generalisation.
    pub statistic: f64,
    /// Degrees of freedom.
    pub df: usize,
    /// p from χ², which is cautious for four waters and more and can be bold for three.
    pub p_chi_square: f64,
    /// The exact p, for small panels.
    pub p_exact: Option<f64>,
    /// Kendall's W: 0 no agreement, 1 perfect; only where several ranked, and everyone all waters.
    pub agreement: Option<f64>,
    /// Whether everyone ranked all waters.
    pub complete: bool,
    /// Pairs of waters.
    pub pairs: Vec<RankPair>,
}

impl RankTest {
    /// The exact p where it is known, and else that from χ².
    #[must_use]
    pub fn p(&self) -> f64 {
        self.p_exact.unwrap_or(self.p_chi_square)
    }
}

/// Two waters compared by ranks, over the blocks that hold both.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RankPair {
    /// The water with the earlier place.
    pub first: usize,
    /// The other.
    pub second: usize,
    /// Rank sum of the first less that of the second.
    pub difference: f64,
    /// p of this pair alone: the convolution of the blocks' differences (Eisinga R. et al., BMC
    /// Bioinformatics 18 (2017) 68), for large panels the normal approximation to it.
    pub p_alone: f64,
    /// Whether `p_alone` is exact.
    pub exact: bool,
    /// p allowing for all pairs (Holm), and never below that of all waters together: two
    /// waters differ only where all do, so that the two tests are one chance to be wrong and not two.
    pub p: f64,
}

/// Tests that all `waters` waters are ranked alike.
///
/// With A the sums of ranks less their expectation and Σ their covariance when ranks fall at random
/// within each block, the statistic is A′Σ⁻A: Friedman's, tie-corrected (Friedman M., J. Amer.
/// Statist. Assoc. 32 (1937) 675), where all blocks are complete, and that of Skillings J. H., Mack
/// G. A., Technometrics 23 (1981) 171, where not. `None` with fewer than two waters or no block.
#[must_use]
pub fn rank_test(blocks: &[Ranked], waters: usize) -> Option<RankTest> {
    if waters < 2 || blocks.is_empty() {
        return None;
    }
    let complete = blocks.iter().all(|block| block.waters.len() == waters);
    let form = RankStatistic::new(blocks, waters);
    let observed: Vec<f64> = form.deviations(blocks);
    let statistic = form.statistic(&observed);
    let p_exact =
        if complete { exact_complete(blocks) } else { exact_incomplete(blocks, &form, statistic) };
    let sum = |water: usize| {
        blocks.iter().filter_map(|block| block.of(water)).map(|r| f64::from(r) / 2.0).sum::<f64>()
    };
    let times = |water: usize| blocks.iter().filter(|block| block.waters.contains(&water)).count();
    let mean = |water: usize| (times(water) > 0).then(|| sum(water) / count(times(water)));
    let mut test = RankTest {
        blocks: blocks.len(),
        mean_ranks: (0..waters).map(mean).collect(),
        statistic,
        df: form.rank,
        p_chi_square: chi_square_tail(statistic, count(form.rank.max(1))),
        p_exact,
        agreement: (complete && blocks.len() > 1)
            .then(|| statistic / (count(blocks.len()) * count(waters - 1))),
        complete,
        pairs: pairs(blocks, waters),
    };
    let together = test.p();
    for pair in &mut test.pairs {
        pair.p = pair.p.max(together);
    }
    Some(test)
}

/// The statistic, ready for many questions.
pub(crate) struct RankStatistic {
    pub(crate) waters: usize,
    pub(crate) weights: Vec<f64>,
    inverse: DMatrix<f64>,
    rank: usize,
}

impl RankStatistic {
    fn new(blocks: &[Ranked], waters: usize) -> Self {
        // Weight of a block: ranks of larger blocks spread more (Skillings & Mack 1981).
        let weights: Vec<f64> =
            blocks.iter().map(|b| (12.0 / (count(b.waters.len()) + 1.0)).sqrt()).collect();
        let mut covariance: DMatrix<f64> = DMatrix::zeros(waters, waters);
        for (block, weight) in blocks.iter().zip(&weights) {
            let k = count(block.waters.len());
            let variance = block.variance() * weight * weight;
            for &a in &block.waters {
                for &b in &block.waters {
                    covariance[(a, b)] += if a == b { variance } else { -variance / (k - 1.0) };
                }
            }
        }
        let parts = covariance.svd(true, true);
        let none = ROUNDING * parts.singular_values.max();
        let rank = parts.rank(none);
        let inverse = parts.pseudo_inverse(none).unwrap_or_else(|_| DMatrix::zeros(waters, waters));
        Self { waters, weights, inverse, rank }
    }

    /// Weighted sums of ranks less their expectation.
    fn deviations(&self, blocks: &[Ranked]) -> Vec<f64> {
        let mut sums = vec![0.0; self.waters];
        for (block, weight) in blocks.iter().zip(&self.weights) {
            let centre = f64::midpoint(count(block.waters.len()), 1.0);
            for (&water, &twice) in block.waters.iter().zip(&block.twice) {
                if let Some(sum) = sums.get_mut(water) {
                    *sum += weight * (f64::from(twice) / 2.0 - centre);
                }
            }
        }
        sums
    }

    pub(crate) fn statistic(&self, deviations: &[f64]) -> f64 {
        let a = nalgebra::DVector::from_column_slice(deviations);
        a.dot(&(&self.inverse * &a)).max(0.0)
    }
}

/// All pairs of waters. Pairs that met in the same blocks share one distribution.
fn pairs(blocks: &[Ranked], waters: usize) -> Vec<RankPair> {
    let mut distributions: BTreeMap<Vec<usize>, RankSumDifference> = BTreeMap::new();
    let mut found = Vec::new();
    for first in 0..waters {
        for second in first + 1..waters {
            let both: Vec<usize> = (0..blocks.len())
                .filter(|&b| [first, second].iter().all(|w| blocks[b].waters.contains(w)))
                .collect();
            let twice =
                |water| both.iter().filter_map(|&b| blocks[b].of(water)).map(i64::from).sum();
            let (own, other): (i64, i64) = (twice(first), twice(second));
            let distribution = distributions.entry(both).or_insert_with_key(|both| {
                RankSumDifference::of(&both.iter().map(|&b| &blocks[b]).collect::<Vec<_>>())
            });
            found.push(RankPair {
                first,
                second,
                difference: difference(own - other),
                p_alone: distribution.two_sided(own - other),
                exact: matches!(distribution, RankSumDifference::Exact(_)),
                p: 1.0,
            });
        }
    }
    let alone: Vec<f64> = found.iter().map(|pair| pair.p_alone).collect();
    for (pair, p) in found.iter_mut().zip(holm(&alone)) {
        pair.p = p;
    }
    found
}

/// Half of a whole number of half ranks.
#[expect(clippy::cast_precision_loss, reason = "rank sums stay far below 2^53")]
pub(crate) fn difference(twice: i64) -> f64 {
    twice as f64 / 2.0
}
