//! The order of each block: every water at every place equally often.

use crate::session::plan::Draw;
use crate::session::plan::williams::Counts;

/// Relabellings of places tried to spread what follows what. Our choice; the count of followings
/// hardly improves further.
const RELABELLINGS: usize = 60;

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
