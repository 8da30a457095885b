//! Serving orders when nobody tastes all waters: incomplete blocks, balanced where they can be.

use std::collections::BTreeSet;

use super::draw::Draw;
use super::families::{FAMILIES, Family};
use super::williams::Counts;

/// Largest number of waters for which balanced designs are looked up. Our choice: it is as far as
/// the table of families goes; above it only the near-balanced search is used.
pub const LARGEST_TABLED: usize = 16;

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

/// Relabellings of places tried to spread what follows what. Our choice; the count of followings
/// hardly improves further.
const RELABELLINGS: usize = 60;

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
        let tally = Tally::of(waters, &blocks);
        let span = |counts: &mut dyn Iterator<Item = usize>| {
            counts.fold((usize::MAX, 0), |(low, high), n| (low.min(n), high.max(n)))
        };
        let servings = span(&mut tally.servings.iter().copied());
        let mut pairs =
            (0..waters).flat_map(|a| (0..a).map(move |b| (a, b))).map(|(a, b)| tally.met(a, b));
        let meetings = if waters < 2 { (0, 0) } else { span(&mut pairs) };
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
/// use waterflight::tasting::blocks::smallest_balanced;
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
    nearly_balanced(waters, size, count, draw)
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
    let orbit = |start: &&[usize]| -> BTreeSet<Vec<usize>> {
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

/// Servings and meetings, kept up to date during the search.
struct Tally {
    waters: usize,
    servings: Vec<usize>,
    meetings: Vec<usize>,
}

impl Tally {
    fn of(waters: usize, blocks: &[Vec<usize>]) -> Self {
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

    fn met(&self, a: usize, b: usize) -> usize {
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
fn nearly_balanced(waters: usize, size: usize, count: usize, draw: &mut Draw) -> Blocks {
    let starts = if count * size > LARGE { 1 } else { STARTS };
    let mut best: Option<(Blocks, (usize, usize))> = None;
    for _ in 0..starts {
        let mut blocks = dealt(waters, size, count, draw);
        let mut tally = Tally::of(waters, &blocks);
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
        if best.as_ref().is_none_or(|(_, least)| imbalance < *least) {
            best = Some((Blocks::counted(waters, blocks), imbalance));
        }
    }
    best.map_or_else(|| Blocks::counted(waters, Vec::new()), |(blocks, _)| blocks)
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
    tally: &mut Tally,
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

impl Tally {
    /// Sum of squares of the meetings of two waters with all others.
    fn imbalance_around(&self, a: usize, b: usize) -> usize {
        (0..self.waters).map(|o| self.met(a, o).pow(2) + self.met(b, o).pow(2)).sum()
    }
}

/// Replaces one water of a block by one that is not in it, where that makes things more even.
fn try_replace(
    waters: usize,
    blocks: &mut [Vec<usize>],
    tally: &mut Tally,
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

/// Puts each block in an order so that every water stands at every place as often as any other,
/// give or take one, and followings are spread.
///
/// Blocks and waters are the two sides of a graph whose edges are coloured with places; a bipartite
/// graph needs no more colours than its largest degree (König D., Math. Ann. 77 (1916) 453–465),
/// so with every water split into parts of at most one serving per place the spread is always found.
#[must_use]
pub fn ordered(waters: usize, blocks: &[Vec<usize>], draw: &mut Draw) -> Vec<Vec<usize>> {
    let size = blocks.iter().map(Vec::len).max().unwrap_or(0);
    let coloured = colour_places(waters, blocks, size);
    let mut best: Option<(Vec<Vec<usize>>, usize)> = None;
    for _ in 0..RELABELLINGS {
        let places = draw.permutation(size);
        let rows: Vec<Vec<usize>> = coloured
            .iter()
            .map(|row| places.iter().filter_map(|&place| row.get(place).copied()).collect())
            .collect();
        let mut counts = Counts::new(waters, size);
        for row in &rows {
            counts.add(row);
        }
        let unevenness = counts.follow_squares();
        if best.as_ref().is_none_or(|(_, least)| unevenness < *least) {
            best = Some((rows, unevenness));
        }
    }
    best.map_or_else(Vec::new, |(rows, _)| rows)
}

/// Rows of water by place, each water at each place equally often, give or take one.
#[expect(clippy::indexing_slicing, reason = "all indices come from the tables sized just above")]
fn colour_places(waters: usize, blocks: &[Vec<usize>], size: usize) -> Vec<Vec<usize>> {
    // Parts of a water: each takes at most `size` servings, so that colours can differ within it.
    let mut served = vec![0_usize; waters];
    let parts_of = blocks.len().div_ceil(size.max(1)) + 1;
    let none = usize::MAX;
    // at_block[block][place] = part; at_part[part][place] = block.
    let mut at_block = vec![vec![none; size]; blocks.len()];
    let mut at_part = vec![vec![none; size]; waters * parts_of];
    for (block, row) in blocks.iter().enumerate() {
        for &water in row {
            let part = water * parts_of + served[water] / size;
            served[water] += 1;
            let free = |table: &[usize]| table.iter().position(|&x| x == none).unwrap_or(0);
            let (at, to) = (free(&at_block[block]), free(&at_part[part]));
            if at != to {
                // Free `at` at the part as well: exchange the two places along the path from it.
                let mut path = vec![];
                let (mut here, mut on_part, mut place) = (part, true, at);
                loop {
                    let next = if on_part { at_part[here][place] } else { at_block[here][place] };
                    if next == none {
                        break;
                    }
                    path.push(if on_part { (here, next, place) } else { (next, here, place) });
                    here = next;
                    on_part = !on_part;
                    place = at + to - place;
                }
                for &(p, b, place) in &path {
                    at_part[p][place] = none;
                    at_block[b][place] = none;
                }
                for &(p, b, place) in &path {
                    at_part[p][at + to - place] = b;
                    at_block[b][at + to - place] = p;
                }
            }
            at_part[part][at] = block;
            at_block[block][at] = part;
        }
    }
    at_block
        .iter()
        .map(|row| row.iter().filter(|&&part| part != none).map(|part| part / parts_of).collect())
        .collect()
}
