//! Blocks as even as a search finds them, where no balanced design is known.

use crate::session::plan::Draw;

/// Exchanges tried by the near-balanced search per block and water. Our choice: on every size to
/// 16 more tries improved nothing; fewer leave avoidable imbalance.
const TRIES_PER_CUP: usize = 60;

/// How much less even an exchange may make things when the search begins. Our choice: one pair
/// more or less apart changes the sum of squares by 2, so up to three steps back are allowed.
const ALLOWED_AT_FIRST: usize = 6;

/// Starts of the near-balanced search on small designs. Our choice, as [`TRIES_PER_CUP`].
const STARTS: usize = 6;

/// Cups above which one start has to do. Our choice: keeps large sessions under a second.
const LARGE: usize = 600;

/// Servings and meetings, kept up to date during the search.
pub(crate) struct PairCounts {
    waters: usize,
    pub(crate) servings: Vec<usize>,
    meetings: Vec<usize>,
}

impl PairCounts {
    pub(crate) fn of(waters: usize, blocks: &[Vec<usize>]) -> Self {
        let mut tally =
            Self { waters, servings: vec![0; waters], meetings: vec![0; waters * waters] };
        for block in blocks {
            for (i, &water) in block.iter().enumerate() {
                tally.serve(water, true);
                for &other in block.iter().skip(i + 1) {
                    tally.meet(water, other, true);
                }
            }
        }
        tally
    }

    fn serve(&mut self, water: usize, more: bool) {
        if let Some(n) = self.servings.get_mut(water) {
            *n = if more { *n + 1 } else { n.saturating_sub(1) };
        }
    }

    fn meet(&mut self, a: usize, b: usize, more: bool) {
        for cell in [a * self.waters + b, b * self.waters + a] {
            if let Some(n) = self.meetings.get_mut(cell) {
                *n = if more { *n + 1 } else { n.saturating_sub(1) };
            }
        }
    }

    fn served(&self, water: usize) -> usize {
        self.servings.get(water).copied().unwrap_or(0)
    }

    pub(crate) fn met(&self, a: usize, b: usize) -> usize {
        self.meetings.get(a * self.waters + b).copied().unwrap_or(0)
    }

    /// Puts `new` in the place of `old` beside the `others` of a block.
    fn exchange(&mut self, others: &[usize], old: usize, new: usize) {
        self.serve(old, false);
        self.serve(new, true);
        for &other in others {
            self.meet(old, other, false);
            self.meet(new, other, true);
        }
    }

    /// Change of the sums of squares of servings and of meetings by such an exchange.
    fn gain(&self, others: &[usize], old: usize, new: usize) -> (i64, i64) {
        let signed = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
        let servings = 2 * (signed(self.served(new)) - signed(self.served(old))) + 2;
        let meetings = others
            .iter()
            .map(|&o| 2 * (signed(self.met(new, o)) - signed(self.met(old, o))) + 2)
            .sum();
        (servings, meetings)
    }

    /// Sums of squares, the measure of imbalance.
    fn imbalance(&self) -> (usize, usize) {
        (
            self.servings.iter().map(|n| n * n).sum(),
            self.meetings.iter().map(|n| n * n).sum::<usize>(),
        )
    }
}

/// The most even blocks found: servings as equal as division allows, then meetings by exchanges.
pub(crate) fn nearly_balanced(
    waters: usize,
    size: usize,
    count: usize,
    draw: &mut Draw,
) -> Vec<Vec<usize>> {
    let starts = if count * size > LARGE { 1 } else { STARTS };
    let mut best = Vec::new();
    let mut least = None;
    for _ in 0..starts {
        let mut blocks = dealt(waters, size, count, draw);
        let mut tally = PairCounts::of(waters, &blocks);
        let tries = TRIES_PER_CUP * count * size;
        for done in 0..tries {
            // Threshold accepting (Dueck G., Scheuer T., J. Comput. Phys. 90 (1990) 161–175): a
            // little less even is let pass at first, nothing in the last quarter.
            let allowed =
                ALLOWED_AT_FIRST.saturating_sub(done * (ALLOWED_AT_FIRST + 1) * 4 / (3 * tries));
            try_swap(waters, &mut blocks, &mut tally, (draw, allowed));
        }
        for block in &mut blocks {
            block.sort_unstable();
        }
        let imbalance = tally.imbalance();
        if least.is_none_or(|least| imbalance < least) {
            (best, least) = (blocks, Some(imbalance));
        }
    }
    best
}

/// Deals the waters out so that each is served as often as any other, give or take one.
fn dealt(waters: usize, size: usize, count: usize, draw: &mut Draw) -> Vec<Vec<usize>> {
    let mut served = vec![0_usize; waters];
    (0..count)
        .map(|_| {
            let mut by_need = draw.permutation(waters);
            by_need.sort_by_key(|&water| served.get(water).copied().unwrap_or(0));
            by_need.truncate(size);
            for &water in &by_need {
                if let Some(n) = served.get_mut(water) {
                    *n += 1;
                }
            }
            by_need
        })
        .collect()
}

/// Tries to swap two waters between two blocks; keeps the swap unless meetings get less even by
/// more than is `allowed`.
fn try_swap(
    waters: usize,
    blocks: &mut [Vec<usize>],
    tally: &mut PairCounts,
    (draw, allowed): (&mut Draw, usize),
) {
    let (i, j) = (draw.below(blocks.len()), draw.below(blocks.len()));
    let (Some(mine), Some(theirs)) = (blocks.get(i), blocks.get(j)) else { return };
    let (at, to) = (draw.below(mine.len()), draw.below(theirs.len()));
    let (Some(&give), Some(&take)) = (mine.get(at), theirs.get(to)) else { return };
    if give == take || i == j {
        try_replace(waters, blocks, tally, draw, (i, at));
        return;
    }
    if mine.contains(&take) || theirs.contains(&give) {
        return;
    }
    let without = |block: &[usize], water: usize| -> Vec<usize> {
        block.iter().copied().filter(|&w| w != water).collect()
    };
    let (mine_rest, their_rest) = (without(mine, give), without(theirs, take));
    let before = tally.imbalance_around(give, take);
    tally.exchange(&mine_rest, give, take);
    tally.exchange(&their_rest, take, give);
    if tally.imbalance_around(give, take) > before + allowed {
        tally.exchange(&mine_rest, take, give);
        tally.exchange(&their_rest, give, take);
        return;
    }
    for (block, place, water) in [(i, at, take), (j, to, give)] {
        if let Some(cup) = blocks.get_mut(block).and_then(|b| b.get_mut(place)) {
            *cup = water;
        }
    }
}

impl PairCounts {
    /// Sum of squares of the meetings of two waters with all others.
    fn imbalance_around(&self, a: usize, b: usize) -> usize {
        (0..self.waters).map(|o| self.met(a, o).pow(2) + self.met(b, o).pow(2)).sum()
    }
}

/// Replaces one water of a block by one that is not in it, where that makes things more even.
fn try_replace(
    waters: usize,
    blocks: &mut [Vec<usize>],
    tally: &mut PairCounts,
    draw: &mut Draw,
    (block, place): (usize, usize),
) {
    let new = draw.below(waters);
    let Some(mine) = blocks.get_mut(block) else { return };
    let Some(&old) = mine.get(place) else { return };
    if mine.contains(&new) {
        return;
    }
    let others: Vec<usize> = mine.iter().copied().filter(|&w| w != old).collect();
    if tally.gain(&others, old, new) > (0, 0) {
        return;
    }
    tally.exchange(&others, old, new);
    if let Some(cup) = mine.get_mut(place) {
        *cup = new;
    }
}
