//! Where in a region to put waters: ladders, grids, mixtures of shares, space-filling points.
//!
//! All points are coordinates from 0 to 1; what they stand for is said elsewhere.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha20Rng;

/// A point: one coordinate for each factor.
pub type Point = Vec<f64>;

/// Every combination of evenly spaced levels, the first factor changing slowest. One factor
/// makes a ladder. A factor with one level stands in the middle.
///
/// ```
/// use waterflight::flight::design::grid;
/// assert_eq!(grid(&[2, 2]), [[0.0, 0.0], [0.0, 1.0], [1.0, 0.0], [1.0, 1.0]]);
/// ```
#[must_use]
pub fn grid(levels: &[u32]) -> Vec<Point> {
    let mut points: Vec<Point> = vec![Vec::new()];
    for &count in levels {
        points = points
            .iter()
            .flat_map(|point| {
                (0..count).map(move |n| {
                    let at = if count == 1 { 0.5 } else { f64::from(n) / f64::from(count - 1) };
                    [point.as_slice(), &[at]].concat()
                })
            })
            .collect();
    }
    points
}

/// The simplex lattice {q, m}: every mixture of `parts` of q components in steps of 1/m, that is
/// (m + q − 1)! / (m! (q − 1)!) mixtures (Scheffé, "Experiments with Mixtures", J. R. Stat. Soc. B
/// 20, 344, 1958).
///
/// ```
/// use waterflight::flight::design::simplex_lattice;
/// // {3, 2}: three pure components and three halves
/// assert_eq!(simplex_lattice(3, 2).len(), 6);
/// ```
#[must_use]
pub fn simplex_lattice(components: usize, parts: u32) -> Vec<Point> {
    fn fill(point: &mut Vec<u32>, components: usize, left: u32, out: &mut Vec<Vec<u32>>) {
        if point.len() + 1 == components {
            out.push([point.as_slice(), &[left]].concat());
            return;
        }
        for take in (0..=left).rev() {
            point.push(take);
            fill(point, components, left - take, out);
            point.pop();
        }
    }
    let mut out = Vec::new();
    if components > 0 && parts > 0 {
        fill(&mut Vec::new(), components, parts, &mut out);
    }
    out.into_iter()
        .map(|counts| counts.into_iter().map(|n| f64::from(n) / f64::from(parts)).collect())
        .collect()
}

/// The number of mixtures in a simplex lattice; `None` when it is beyond all counting.
#[must_use]
pub fn simplex_lattice_count(components: usize, parts: u32) -> Option<u64> {
    if components == 0 || parts == 0 {
        return Some(0);
    }
    // One factor after the other, so that every quotient is whole: C(m + k, k) for k = 1, 2, …
    (1..components as u64).try_fold(1_u64, |count, k| {
        count.checked_mul(u64::from(parts) + k).map(|product| product / k)
    })
}

/// Our choice: so many starts of the search for far-apart points, and so many distances looked at
/// in all; more take longer than a second and find little.
const STARTS: usize = 400;
const MOST_DISTANCES: usize = 100_000_000;

/// A Latin hypercube whose nearest two points are far apart: every factor takes each of `count`
/// evenly spaced levels once, from 0 to 1, and pairs of levels are exchanged as long as the least
/// distance grows (maximin criterion: Johnson, Moore & Ylvisaker, J. Stat. Plan. Inference 26,
/// 131, 1990; by exchanges: Morris & Mitchell, same journal 43, 381, 1995; from memory). The seed
/// makes it reproducible everywhere.
#[must_use]
pub fn latin_hypercube(factors: usize, count: u32, seed: u64) -> Vec<Point> {
    let mut random = ChaCha20Rng::seed_from_u64(seed);
    let mut best: Option<(Spread, Vec<Vec<u32>>)> = None;
    let pairs = (count as usize * (count as usize).saturating_sub(1) / 2).max(1);
    let mut trials = MOST_DISTANCES / pairs / factors.max(1);
    for _ in 0..STARTS {
        if best.is_some() && trials == 0 {
            break;
        }
        let mut columns: Vec<Vec<u32>> =
            (0..factors).map(|_| shuffled(count, &mut random)).collect();
        let mut spread = Spread::of(&columns);
        while let Some(better) = exchanged(&mut columns, spread, &mut trials) {
            spread = better;
        }
        if best.as_ref().is_none_or(|(known, _)| spread.beats(*known)) {
            best = Some((spread, columns));
        }
    }
    let columns = best.map(|(_, columns)| columns).unwrap_or_default();
    let span = f64::from(count.saturating_sub(1).max(1));
    let at = |n: usize, column: &Vec<u32>| {
        let level = column.get(n).copied().unwrap_or_default();
        if count == 1 { 0.5 } else { f64::from(level) / span }
    };
    (0..count as usize).map(|n| columns.iter().map(|column| at(n, column)).collect()).collect()
}

/// Tries all exchanges of two levels of one factor; the first that helps is made.
fn exchanged(columns: &mut [Vec<u32>], spread: Spread, trials: &mut usize) -> Option<Spread> {
    let count = columns.first().map_or(0, Vec::len);
    for factor in 1..columns.len() {
        for a in 0..count {
            for b in a + 1..count {
                if *trials == 0 {
                    return None;
                }
                *trials -= 1;
                if let Some(column) = columns.get_mut(factor) {
                    column.swap(a, b);
                }
                let other = Spread::of(columns);
                if other.beats(spread) {
                    return Some(other);
                }
                if let Some(column) = columns.get_mut(factor) {
                    column.swap(a, b);
                }
            }
        }
    }
    None
}

/// How far apart points are, in squared levels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Spread {
    /// The least squared distance.
    least: u64,
    /// How many pairs have it.
    pairs: usize,
}

impl Spread {
    fn of(columns: &[Vec<u32>]) -> Self {
        let count = columns.first().map_or(0, Vec::len);
        let mut spread = Spread { least: u64::MAX, pairs: 0 };
        for a in 0..count {
            for b in a + 1..count {
                let distance = columns
                    .iter()
                    .map(|c| match (c.get(a), c.get(b)) {
                        (Some(x), Some(y)) => u64::from(x.abs_diff(*y)).pow(2),
                        _ => 0,
                    })
                    .sum();
                if distance < spread.least {
                    spread = Spread { least: distance, pairs: 0 };
                }
                if distance == spread.least {
                    spread.pairs += 1;
                }
            }
        }
        spread
    }

    fn beats(self, other: Self) -> bool {
        self.least > other.least || (self.least == other.least && self.pairs < other.pairs)
    }
}

/// 0…count−1 in random order (Fisher–Yates; Durstenfeld 1964, from memory).
fn shuffled(count: u32, random: &mut ChaCha20Rng) -> Vec<u32> {
    let mut list: Vec<u32> = (0..count).collect();
    for n in (1..list.len()).rev() {
        list.swap(n, below(n + 1, random));
    }
    list
}

/// A number below `limit`, each as likely; drawn the same way on every machine.
fn below(limit: usize, random: &mut ChaCha20Rng) -> usize {
    let limit = limit as u64;
    let most = u64::MAX - u64::MAX % limit;
    loop {
        let drawn = random.next_u64();
        if drawn < most {
            return usize::try_from(drawn % limit).unwrap_or(0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factorial(n: u64) -> u64 {
        (1..=n).product()
    }

    #[test]
    fn lattices_have_the_published_counts() {
        for q in 1..6_usize {
            for m in 1..5_u32 {
                let (q64, m64) = (q as u64, u64::from(m));
                let expected = factorial(m64 + q64 - 1) / factorial(m64) / factorial(q64 - 1);
                let points = simplex_lattice(q, m);
                assert_eq!(points.len() as u64, expected, "{{{q}, {m}}}");
                assert_eq!(simplex_lattice_count(q, m), Some(expected));
                for point in points {
                    assert!((point.iter().sum::<f64>() - 1.0).abs() < 1e-12);
                }
            }
        }
    }

    #[test]
    fn every_level_of_a_hypercube_is_taken_once() {
        for factors in 1..5 {
            let points = latin_hypercube(factors, 9, 7);
            assert_eq!(points.len(), 9);
            for factor in 0..factors {
                let mut levels: Vec<f64> =
                    points.iter().filter_map(|p| p.get(factor).copied()).collect();
                levels.sort_by(f64::total_cmp);
                for (n, level) in (0_u32..).zip(&levels) {
                    assert!((level - f64::from(n) / 8.0).abs() < 1e-12);
                }
            }
        }
        assert_eq!(latin_hypercube(3, 8, 5), latin_hypercube(3, 8, 5));
        assert_ne!(latin_hypercube(3, 8, 5), latin_hypercube(3, 8, 6));
    }

    /// The largest least squared distance of two-factor Latin hypercubes, in levels: found by
    /// trying all permutations, for few points here and for eight and nine in a run outside.
    #[test]
    fn points_are_as_far_apart_as_they_can_be() {
        for (count, largest) in
            [(2, 2_u32), (3, 2), (4, 5), (5, 5), (6, 5), (7, 8), (8, 8), (9, 10)]
        {
            let points = latin_hypercube(2, count, 1);
            let scale = f64::from(count - 1);
            let mut least = f64::INFINITY;
            for (n, a) in points.iter().enumerate() {
                for b in points.iter().skip(n + 1) {
                    let squared: f64 =
                        a.iter().zip(b).map(|(x, y)| ((x - y) * scale).powi(2)).sum();
                    least = least.min(squared);
                }
            }
            assert!((least - f64::from(largest)).abs() < 1e-6, "{count} points: {least}");
            if count <= 6 {
                assert_eq!(by_trial(count), u64::from(largest), "{count} points");
            }
        }
    }

    /// The best of all permutations.
    fn by_trial(count: u32) -> u64 {
        fn permutations(rest: &mut Vec<u32>, taken: &mut Vec<u32>, best: &mut u64) {
            if rest.is_empty() {
                let first = (0..u32::try_from(taken.len()).unwrap_or(0)).collect();
                *best = (*best).max(Spread::of(&[first, taken.clone()]).least);
                return;
            }
            for n in 0..rest.len() {
                let one = rest.remove(n);
                taken.push(one);
                permutations(rest, taken, best);
                taken.pop();
                rest.insert(n, one);
            }
        }
        let mut best = 0;
        permutations(&mut (0..count).collect(), &mut Vec::new(), &mut best);
        best
    }

    #[test]
    fn ladders_and_grids_reach_both_ends() {
        assert_eq!(grid(&[3]), [[0.0], [0.5], [1.0]]);
        assert_eq!(grid(&[3, 4]).len(), 12);
        assert_eq!(grid(&[1]), [[0.5]]);
    }
}
