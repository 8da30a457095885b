//! Serving orders when nobody tastes all waters: incomplete blocks, balanced where they can be.

use std::collections::BTreeSet;

use crate::numerics::ends;
use crate::session::plan::Draw;
use crate::session::plan::block_designs::{FAMILIES, Family};
use crate::session::plan::nearly_balanced_blocks::{PairCounts, nearly_balanced};

/// Largest number of waters for which balanced designs are looked up. Our choice: it is as far as
/// the table of families goes; above it only the near-balanced search is used.
pub const LARGEST_TABLED: usize = 16;

/// Blocks of waters with what counting says of them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blocks {
    /// Each block: the waters that stand together on one tray, in ascending order.
    pub blocks: Vec<Vec<usize>>,
    /// Least and most often that a water is served.
    pub servings: (usize, usize),
    /// Least and most often that two waters stand on the same tray.
    pub meetings: (usize, usize),
}

impl Blocks {
    /// Counts blocks of `waters` waters.
    fn counted(waters: usize, blocks: Vec<Vec<usize>>) -> Self {
        let tally = PairCounts::of(waters, &blocks);
        let servings = ends(tally.servings.iter().copied()).unwrap_or((0, 0));
        let pairs = (0..waters).flat_map(|a| (0..a).map(move |b| (a, b)));
        let meetings = ends(pairs.map(|(a, b)| tally.met(a, b))).unwrap_or((0, 0));
        Self { blocks, servings, meetings }
    }

    /// Whether all waters are served equally often and all pairs meet equally often.
    #[must_use]
    pub fn balanced(&self) -> bool {
        self.servings.0 == self.servings.1 && self.meetings.0 == self.meetings.1
    }
}

/// The smallest balanced incomplete block design that is known here for `waters` in blocks of
/// `size`: the number of its blocks.
///
/// ```
/// use waterflight::session::plan::blocks::smallest_balanced;
/// assert_eq!(smallest_balanced(7, 3), Some(7));
/// // 21 blocks would satisfy the counting conditions, and yet no such design exists.
/// assert_eq!(smallest_balanced(15, 5), Some(42));
/// ```
#[must_use]
pub fn smallest_balanced(waters: usize, size: usize) -> Option<usize> {
    generators(waters, size).first().map(Vec::len)
}

/// `count` blocks of `size` of the `waters`, balanced when a design with that many blocks is
/// known, and otherwise as near to balance as a search finds.
///
/// A balanced design must satisfy `servings·waters = count·size`, `meetings·(waters−1) =
/// servings·(size−1)` and `count ≥ waters` (Fisher R. A., Ann. Eugenics 10 (1940) 52–75); these
/// are necessary and not sufficient, so existence is shown by building it.
#[must_use]
pub fn blocks(waters: usize, size: usize, count: usize, draw: &mut Draw) -> Blocks {
    let size = size.min(waters);
    if size == waters {
        return Blocks::counted(waters, vec![(0..waters).collect(); count]);
    }
    if let Some(mut parts) = added_up(&generators(waters, size), count) {
        // Each part gets its own labels: repeated parts then repeat no block needlessly.
        for part in &mut parts {
            let labels = draw.permutation(waters);
            relabel(part, &labels);
        }
        let mut all: Vec<Vec<usize>> = parts.concat();
        draw.shuffle(&mut all);
        let built = Blocks::counted(waters, all);
        if built.balanced() {
            return built;
        }
    }
    Blocks::counted(waters, nearly_balanced(waters, size, count, draw))
}

/// Exchanges the labels and puts every block in ascending order.
fn relabel(blocks: &mut [Vec<usize>], labels: &[usize]) {
    for block in blocks {
        for water in block.iter_mut() {
            *water = labels.get(*water).copied().unwrap_or(*water);
        }
        block.sort_unstable();
    }
}

/// The designs from which all known ones are added up, smallest first.
fn generators(waters: usize, size: usize) -> Vec<Vec<Vec<usize>>> {
    if size == 0 || size >= waters || waters > LARGEST_TABLED {
        return Vec::new();
    }
    if size == 1 {
        return vec![(0..waters).map(|water| vec![water]).collect()];
    }
    if size * 2 > waters {
        let complement = |block: &Vec<usize>| {
            (0..waters).filter(|water| !block.contains(water)).collect::<Vec<_>>()
        };
        let smaller = generators(waters, waters - size);
        return smaller.iter().map(|design| design.iter().map(complement).collect()).collect();
    }
    if size == 2 {
        return vec![(0..waters).flat_map(|a| (0..a).map(move |b| vec![b, a])).collect()];
    }
    FAMILIES
        .iter()
        .filter(|family| family.waters == waters && family.size == size)
        .map(unrolled)
        .collect()
}

/// All blocks of a family: every starting block turned along the circles until it comes back.
fn unrolled(family: &Family) -> Vec<Vec<usize>> {
    let turned = |water: usize, by: usize| {
        if water >= family.circle * family.circles {
            return water;
        }
        water - water % family.circle + (water % family.circle + by) % family.circle
    };
    let orbit = |start: &Vec<usize>| -> BTreeSet<Vec<usize>> {
        (0..family.circle)
            .map(|by| {
                let mut block: Vec<usize> = start.iter().map(|&water| turned(water, by)).collect();
                block.sort_unstable();
                block
            })
            .collect()
    };
    family.starts.iter().flat_map(orbit).collect()
}

/// Copies of the generators that make up exactly `count` blocks, as few generators as possible.
fn added_up(generators: &[Vec<Vec<usize>>], count: usize) -> Option<Vec<Vec<Vec<usize>>>> {
    // ways[n] = the generator added last to reach n blocks with the fewest parts.
    let mut ways: Vec<Option<(usize, usize)>> = vec![None; count + 1];
    for reached in 1..=count {
        let best = generators
            .iter()
            .enumerate()
            .filter(|(_, design)| design.len() <= reached)
            .filter_map(|(index, design)| {
                let rest = reached - design.len();
                let parts = if rest == 0 {
                    Some(0)
                } else {
                    ways.get(rest).copied().flatten().map(|w| w.1)
                };
                parts.map(|parts| (index, parts + 1))
            })
            .min_by_key(|&(_, parts)| parts);
        if let Some(way) = ways.get_mut(reached) {
            *way = best;
        }
    }
    let mut parts = Vec::new();
    let mut left = count;
    while left > 0 {
        let (index, _) = ways.get(left).copied().flatten()?;
        let design = generators.get(index)?;
        left -= design.len();
        parts.push(design.clone());
    }
    (!parts.is_empty()).then_some(parts)
}
