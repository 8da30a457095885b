//! Ranks: Friedman's test and its relatives, exact for small panels.

#![expect(
    clippy::indexing_slicing,
    reason = "every index comes from the size the tables were made with"
)]

use std::collections::BTreeMap;

use crate::numerics::{chi_square_tail, count};

use crate::session::analysis::Ranked;
use crate::session::analysis::comparisons::holm;
use crate::session::analysis::exact_rank_sums::{
    RankSumDifference, exact_complete, exact_incomplete,
};
use crate::session::analysis::rank_statistic::RankStatistic;
use crate::session::analysis::ranked::difference;

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
