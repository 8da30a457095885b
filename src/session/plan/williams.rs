//! Complete serving orders balanced for position and for what was tasted just before.

use crate::numerics::ends;
use crate::session::plan::Draw;

/// The rows of a Williams design for `n` waters: each row is an order of 0 to `n` − 1.
///
/// Every water stands once (n even) or twice (n odd) at every place, and every water follows every
/// other once (n even) or twice (n odd). Rows: 0, 1, n−1, 2, n−2 … shifted by 0 to n−1; for odd n
/// the same rows reversed follow. Source: Williams E. J., Aust. J. Sci. Res. A 2 (1949) 149–168.
///
/// ```
/// use waterflight::session::plan::williams::williams;
/// assert_eq!(williams(4), [[0, 1, 3, 2], [1, 2, 0, 3], [2, 3, 1, 0], [3, 0, 2, 1]]);
/// assert_eq!(williams(5).len(), 10);
/// ```
#[must_use]
pub fn williams(n: usize) -> Vec<Vec<usize>> {
    if n == 0 {
        return Vec::new();
    }
    let first: Vec<usize> = (0..n)
        .map(|place| if place % 2 == 1 { place.div_ceil(2) } else { (n - place / 2) % n })
        .collect();
    let mut rows: Vec<Vec<usize>> =
        (0..n).map(|shift| first.iter().map(|water| (water + shift) % n).collect()).collect();
    if n % 2 == 1 && n > 1 {
        let reversed: Vec<Vec<usize>> =
            rows.iter().map(|row| row.iter().rev().copied().collect()).collect();
        rows.extend(reversed);
    }
    rows
}

/// How often each water stood at each place and followed each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Counts {
    waters: usize,
    places: Vec<usize>,
    follows: Vec<usize>,
}

impl Counts {
    /// Nothing counted yet, for `waters` waters on trays of at most `places` cups.
    #[must_use]
    pub fn new(waters: usize, places: usize) -> Self {
        Self { waters, places: vec![0; waters * places], follows: vec![0; waters * waters] }
    }

    /// Counts one tray.
    pub fn add(&mut self, tray: &[usize]) {
        for (place, &water) in tray.iter().enumerate() {
            if let Some(cell) = self.places.get_mut(place * self.waters + water) {
                *cell += 1;
            }
        }
        for pair in tray.windows(2) {
            if let [before, after] = *pair
                && let Some(cell) = self.follows.get_mut(before * self.waters + after)
            {
                *cell += 1;
            }
        }
    }

    /// How much counting `tray` would add to the sums of squares of places and of followings: the
    /// least is the most balanced next tray.
    fn cost(&self, tray: &[usize]) -> (usize, usize) {
        let place = |(place, water): (usize, &usize)| {
            self.places.get(place * self.waters + water).copied().unwrap_or(0)
        };
        let follow = |pair: &[usize]| match *pair {
            [before, after] => self.follows.get(before * self.waters + after).copied().unwrap_or(0),
            _ => 0,
        };
        (tray.iter().enumerate().map(place).sum(), tray.windows(2).map(follow).sum())
    }

    /// Sum of squares of the followings: the least is the most even.
    pub(crate) fn follow_squares(&self) -> usize {
        self.follows.iter().map(|n| n * n).sum()
    }

    /// The least and the most often that a water stood at a place.
    #[must_use]
    pub fn places(&self) -> (usize, usize) {
        ends(self.places.iter().copied()).unwrap_or((0, 0))
    }

    /// The least and the most often that a water followed another.
    #[must_use]
    pub fn follows(&self) -> (usize, usize) {
        let step = self.waters + 1;
        let others = self.follows.iter().enumerate().filter(|(i, _)| i % step != 0);
        ends(others.map(|(_, n)| *n)).unwrap_or((0, 0))
    }
}

/// One order of `n` waters for each of `tasters` tasters in each of `rounds` rounds:
/// `orders[round][taster]`.
///
/// Whole Williams designs are used up before any row comes twice, so the session is balanced when
/// tasters × rounds is a multiple of the design, and as near as the rows allow when not. A taster
/// meets the same order twice only when there is no other way.
#[must_use]
pub fn complete_orders(
    n: usize,
    tasters: usize,
    rounds: usize,
    draw: &mut Draw,
) -> Vec<Vec<Vec<usize>>> {
    let rows = williams(n);
    if rows.is_empty() {
        return vec![vec![Vec::new(); tasters]; rounds];
    }
    let mut counts = Counts::new(n, n);
    let mut used = vec![0_usize; rows.len()];
    let mut had: Vec<Vec<usize>> = vec![Vec::new(); tasters];
    let mut orders = Vec::with_capacity(rounds);
    for _ in 0..rounds {
        let mut chosen = Vec::with_capacity(tasters);
        for _ in 0..tasters {
            let Some(next) = least_costly(&rows, &counts, &used) else { break };
            if let (Some(row), Some(times)) = (rows.get(next), used.get_mut(next)) {
                counts.add(row);
                *times += 1;
            }
            chosen.push(next);
        }
        draw.shuffle(&mut chosen);
        part_repeats(&mut chosen, &had);
        for (seen, &row) in had.iter_mut().zip(&chosen) {
            seen.push(row);
        }
        orders.push(chosen.iter().filter_map(|&row| rows.get(row).cloned()).collect());
    }
    orders
}

/// The row to serve next: the one used least, then the one that balances places best, then one of
/// the square that was begun (so that it is finished before its mirror image is), then the one
/// that balances followings best.
fn least_costly(rows: &[Vec<usize>], counts: &Counts, used: &[usize]) -> Option<usize> {
    let key = |(index, (row, times)): &(usize, (&Vec<usize>, &usize))| {
        let (place, follow) = counts.cost(row);
        (**times, place, index / row.len().max(1), follow)
    };
    rows.iter().zip(used).enumerate().min_by_key(key).map(|(index, _)| index)
}

/// Swaps rows between tasters so that none gets a row already had, as far as swaps can.
fn part_repeats(chosen: &mut [usize], had: &[Vec<usize>]) {
    let had_already = |taster: usize, row: usize| had.get(taster).is_some_and(|h| h.contains(&row));
    for taster in 0..chosen.len() {
        let Some(&mine) = chosen.get(taster) else { continue };
        if !had_already(taster, mine) {
            continue;
        }
        let partner = chosen
            .iter()
            .enumerate()
            .position(|(other, &theirs)| !had_already(taster, theirs) && !had_already(other, mine));
        if let Some(partner) = partner {
            chosen.swap(taster, partner);
        }
    }
}
