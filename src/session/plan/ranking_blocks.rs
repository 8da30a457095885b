//! Which trays count as one ranking: a taster's repeats are no further tasters.

use std::collections::{BTreeMap, BTreeSet};

/// Trays of one taster that count together as one ranking.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RankingBlock {
    /// The waters on them.
    pub waters: BTreeSet<usize>,
    /// Their places in the list of trays.
    pub trays: Vec<usize>,
}

/// Blocks of some trays, each with its taster and its waters, in the order of their first trays.
///
/// Whoever ranks a water again says again what they think of it. So the trays of one taster that share
/// waters, one with another, are one block. Trays that share none are blocks each: where one order of all
/// waters falls on a taster at random, its parts on such trays are independent of each other.
///
/// ```
/// use waterflight::session::plan::ranking_blocks::ranking_blocks;
/// let trays = [(0, vec![0, 1]), (0, vec![2, 3]), (1, vec![0, 1]), (1, vec![1, 2])];
/// let found = ranking_blocks(&trays);
/// let together: Vec<&[usize]> = found.iter().map(|block| block.trays.as_slice()).collect();
/// assert_eq!(together, [&[0][..], &[1], &[2, 3]]);
/// ```
#[must_use]
pub fn ranking_blocks(trays: &[(usize, Vec<usize>)]) -> Vec<RankingBlock> {
    let mut by_taster: BTreeMap<usize, Vec<RankingBlock>> = BTreeMap::new();
    for (place, (taster, waters)) in trays.iter().enumerate() {
        let own = by_taster.entry(*taster).or_default();
        let shares = |block: &RankingBlock| waters.iter().any(|w| block.waters.contains(w));
        let (sharing, apart): (Vec<_>, Vec<_>) = own.drain(..).partition(shares);
        let mut block =
            RankingBlock { waters: waters.iter().copied().collect(), trays: vec![place] };
        for other in sharing {
            block.waters.extend(other.waters);
            block.trays.extend(other.trays);
        }
        block.trays.sort_unstable();
        *own = apart;
        own.push(block);
    }
    let mut blocks: Vec<RankingBlock> = by_taster.into_values().flatten().collect();
    blocks.sort_unstable_by(|a, b| a.trays.cmp(&b.trays));
    blocks
}
