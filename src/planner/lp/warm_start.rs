//! Warm starts: the last optimal bases, tried on the numbers of another water before anything is
//! pivoted. The coefficients stay while goals move, so `B⁻¹b` says at once whether a basis still
//! gives doses, and each row in the segment of its cost that it was in: then it is optimal in all stages as
//! it was before, and there is nothing to minimise. Where none does, the one
//! that is nearest to it is repaired by steps of the dual simplex. What is optimal the recheck
//! decides, from either start.
#![expect(clippy::indexing_slicing, reason = "indices run over rows and columns of one program")]

use crate::planner::lp::piecewise::{Piecewise, SEGMENTS, axpy, dot};
use crate::planner::lp::simplex::Simplex;
use crate::planner::lp::status::BoundStatus;

/// Our choice: bases that are kept. More of them save hardly a pivot and each must be tried.
const KEPT: usize = 8;
/// Our choice: an amount below nothing by less is rounding.
pub(super) const FEASIBLE: f64 = 1e-11;

/// An optimal basis.
#[derive(Debug, Clone, Default)]
struct Basis {
    columns: Vec<usize>,
    inverse: Vec<f64>,
    updates: usize,
    /// Stocks and base waters at their upper bounds.
    at_upper: Vec<usize>,
    /// By row: whether it is basic, and the segment that it is in; the break that it stands at else.
    rows: Vec<(bool, usize)>,
}

/// What the last bases are worth for another water.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Start {
    /// One of them serves as it is.
    Same,
    /// One of them was near enough to start from.
    Near,
    /// None is near enough.
    Far,
}

/// The last optimal bases of one matrix, the latest first.
#[derive(Debug, Clone, Default)]
pub(crate) struct RecentBases {
    bases: Vec<Basis>,
    right_hand_side: Vec<f64>,
    /// What the basis looked at last gives its columns.
    values: Vec<f64>,
}

impl RecentBases {
    /// Another matrix: none of them is of use.
    pub(crate) fn clear(&mut self) {
        self.bases.clear();
    }

    /// Keeps the basis that a run has ended with.
    pub(crate) fn keep(&mut self, simplex: &Simplex, program: &Piecewise) {
        let known = self.bases.iter().position(|b| b.columns == simplex.basis);
        let mut basis = match known {
            Some(place) => self.bases.remove(place),
            None if self.bases.len() >= KEPT => self.bases.pop().unwrap_or_default(),
            None => Basis::default(),
        };
        basis.columns.clone_from(&simplex.basis);
        basis.inverse.clone_from(&simplex.inverse);
        basis.updates = simplex.updates;
        basis.at_upper.clear();
        for (j, (x, upper)) in simplex.x.iter().zip(&program.upper).enumerate() {
            if simplex.status[j] != BoundStatus::Basic && *x > 0.0 && x >= upper {
                basis.at_upper.push(j);
            }
        }
        basis.rows.clear();
        basis.rows.extend(simplex.row_status.iter().map(|s| (s.basic, s.place)));
        self.bases.insert(0, basis);
    }

    /// Starts from the nearest of the bases.
    pub(crate) fn start(&mut self, simplex: &mut Simplex, program: &Piecewise) -> Start {
        let mut nearest = None;
        let mut least = f64::INFINITY;
        for place in 0..self.bases.len() {
            let outside = self.outside(program, place, least);
            if outside < least {
                least = outside;
                nearest = Some(place);
            }
            if least <= FEASIBLE {
                break;
            }
        }
        let Some(nearest) = nearest else { return Start::Far };
        self.bases[..=nearest].rotate_right(1);
        let basis = &self.bases[0];
        simplex.load(program, basis);
        if simplex.is_worn() {
            simplex.factorise(program);
        } else if least <= FEASIBLE {
            simplex.now.clone_from(&self.values);
        } else {
            simplex.compute_values(program);
        }
        if least <= FEASIBLE {
            Start::Same
        } else if simplex.repair(program) {
            Start::Near
        } else {
            Start::Far
        }
    }

    /// How far a basis puts an amount out of its bounds, or a row out of its segment, at most; looked
    /// at no further than `limit`.
    fn outside(&mut self, program: &Piecewise, place: usize, limit: f64) -> f64 {
        let basis = &self.bases[place];
        let right = &mut self.right_hand_side;
        right.clear();
        right.extend(basis.rows.iter().zip(&program.rows).map(|((basic, place), row)| {
            if *basic { 0.0 } else { row.breaks[finite(*place, &row.breaks)] }
        }));
        for &j in &basis.at_upper {
            axpy(right, -program.upper[j], program.column(j));
        }
        let mut outside = 0.0_f64;
        self.values.clear();
        for (row, &j) in basis.inverse.chunks_exact(right.len()).zip(&basis.columns) {
            let value = dot(row, right);
            self.values.push(value);
            let (low, high) = program.ends(j, |i| basis.rows[i].1);
            outside = outside.max(low - value).max(value - high);
            if outside >= limit {
                break;
            }
        }
        outside
    }
}

/// The nearest break that is finite.
fn finite(place: usize, breaks: &[f64; SEGMENTS + 1]) -> usize {
    let mut place = place;
    while place < SEGMENTS - 1 && !breaks[place].is_finite() {
        place += 1;
    }
    while place > 1 && !breaks[place].is_finite() {
        place -= 1;
    }
    place
}

impl Simplex {
    fn load(&mut self, program: &Piecewise, basis: &Basis) {
        self.reset(program);
        for &j in &basis.at_upper {
            if program.upper[j].is_finite() {
                self.put_at_bound(program, j, false);
            }
        }
        self.basis.clone_from(&basis.columns);
        self.inverse.clone_from(&basis.inverse);
        self.updates = basis.updates;
        let rows = self.row_status.iter_mut().zip(&program.rows);
        for (i, ((status, row), &(basic, place))) in rows.zip(&basis.rows).enumerate() {
            status.basic = basic;
            status.place = if basic { place } else { finite(place, &row.breaks) };
            self.t[i] = row.breaks[status.place];
        }
        for &j in basis.columns.iter().filter(|j| **j < program.columns) {
            self.status[j] = BoundStatus::Basic;
        }
    }
}
