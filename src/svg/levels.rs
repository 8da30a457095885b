//! Lines along which a quantity of a grid is the same.

/// The pieces of the line on which a quantity of a grid is `level` (marching squares); cells with a
/// corner without a value are left out. `at` is the place of a corner, by column and row.
#[must_use]
pub fn level_pieces(
    columns: &[f64],
    rows: &[f64],
    value: &dyn Fn(usize, usize) -> Option<f64>,
    level: f64,
) -> Vec<[(f64, f64); 2]> {
    let mut pieces = Vec::new();
    for (j, ys) in rows.windows(2).enumerate() {
        for (i, xs) in columns.windows(2).enumerate() {
            let ([x0, x1], [y0, y1]) = (xs, ys) else { continue };
            let corners = [
                ((*x0, *y0), value(i, j)),
                ((*x1, *y0), value(i + 1, j)),
                ((*x1, *y1), value(i + 1, j + 1)),
                ((*x0, *y1), value(i, j + 1)),
            ];
            let mut crossings = Vec::new();
            let next = corners.iter().cycle().skip(1);
            for ((a, va), (b, vb)) in corners.iter().zip(next) {
                let (Some(va), Some(vb)) = (va, vb) else {
                    crossings.clear();
                    break;
                };
                if (*va < level) != (*vb < level) {
                    let t = (level - va) / (vb - va);
                    crossings.push((a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1)));
                }
            }
            // A saddle has four: the pairs as they come are one of its two readings.
            for pair in crossings.chunks_exact(2) {
                if let [a, b] = pair {
                    pieces.push([*a, *b]);
                }
            }
        }
    }
    pieces
}

/// Pieces whose ends meet as one path each, so that dashes run on.
pub(crate) fn joined(pieces: &[[(f64, f64); 2]]) -> Vec<Vec<(f64, f64)>> {
    // Crossings of one edge are computed once for either cell, in either direction.
    let meet =
        |a: &(f64, f64), b: &(f64, f64)| (a.0 - b.0).abs() < 1e-6 && (a.1 - b.1).abs() < 1e-6;
    let mut left = pieces.to_vec();
    let mut paths = Vec::new();
    while let Some([a, b]) = left.pop() {
        let mut path = std::collections::VecDeque::from([a, b]);
        while let (Some(first), Some(last)) = (path.front().copied(), path.back().copied()) {
            let touches = |end: &(f64, f64)| meet(end, &first) || meet(end, &last);
            let Some(next) = left.iter().position(|piece| piece.iter().any(touches)) else { break };
            let [a, b] = left.swap_remove(next);
            if meet(&a, &last) {
                path.push_back(b);
            } else if meet(&b, &last) {
                path.push_back(a);
            } else if meet(&a, &first) {
                path.push_front(b);
            } else {
                path.push_front(a);
            }
        }
        paths.push(path.into_iter().collect());
    }
    paths
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_of_a_ring_and_of_a_line_are_two_paths() {
        let turn = |n: u32| (f64::from(n) * 0.2 * std::f64::consts::TAU).sin_cos();
        let ring = (0..5)
            .map(|n| if n % 2 == 0 { [turn(n), turn(n + 1)] } else { [turn(n + 1), turn(n)] });
        let line = [[(9.0, 0.0), (9.0, 1.0)], [(9.0, 2.0), (9.0, 1.0)]];
        let pieces: Vec<_> = ring.chain(line).collect();
        let mut lengths: Vec<usize> = joined(&pieces).iter().map(Vec::len).collect();
        lengths.sort_unstable();
        assert_eq!(lengths, [3, 6]);
    }

    #[test]
    fn a_level_of_a_plane_is_a_straight_line() {
        let grid = [0.0, 1.0, 2.0, 3.0];
        let at = |n: usize| grid.get(n).copied();
        let value = |i: usize, j: usize| Some(at(i)? + 2.0 * at(j)?);
        let pieces = level_pieces(&grid, &grid, &value, 4.5);
        assert!(!pieces.is_empty());
        assert!(pieces.iter().flatten().all(|(x, y)| (x + 2.0 * y - 4.5).abs() < 1e-9));
    }
}
