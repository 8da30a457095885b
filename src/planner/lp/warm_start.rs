//! Warm starts: the last optimal bases, tried on the numbers of another water before anything is
//! pivoted. The coefficients stay while goals move, so `B⁻¹b` says at once whether a basis still
//! gives doses; where none does, the one that is nearest to it is repaired by steps of the dual
//! simplex. What is optimal the stages decide, from either start.
#![expect(clippy::indexing_slicing, reason = "indices run over rows and columns of one program")]

use crate::planner::lp::piecewise::{Piecewise, SEGMENTS, StageCost, axpy, dot};
use crate::planner::lp::simplex::{PIVOT, Simplex};
use crate::planner::lp::status::BoundStatus;

/// Our choice: bases that are kept. More of them save hardly a pivot and each must be tried.
const KEPT: usize = 8;
/// Our choice: an amount below nothing by less is rounding.
const FEASIBLE: f64 = 1e-11;
/// Our choice: a basis that is not repaired by so many pivots is too far away.
const MOST_REPAIRS: usize = 12;

/// An optimal basis.
#[derive(Debug, Clone, Default)]
struct Basis {
    columns: Vec<usize>,
    inverse: Vec<f64>,
    updates: usize,
    /// Stocks and base waters at their upper bounds.
    at_upper: Vec<usize>,
    /// The break that each row stands at; none where it is basic.
    breaks: Vec<Option<usize>>,
}

/// The last optimal bases of one matrix, the latest first.
#[derive(Debug, Clone, Default)]
pub(crate) struct RecentBases {
    bases: Vec<Basis>,
    right_hand_side: Vec<f64>,
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
        basis.breaks.clear();
        let places = simplex.row_status.iter().map(|s| (!s.basic).then_some(s.place));
        basis.breaks.extend(places);
        self.bases.insert(0, basis);
    }

    /// Starts from the nearest of the bases; false when none is near enough.
    pub(crate) fn start(&mut self, simplex: &mut Simplex, program: &Piecewise) -> bool {
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
        let Some(basis) = nearest.and_then(|place| self.bases.get(place)) else { return false };
        simplex.load(program, basis);
        least <= FEASIBLE || simplex.repair(program)
    }

    /// How far a basis puts an amount out of its bounds at most; looked at no further than `limit`.
    fn outside(&mut self, program: &Piecewise, place: usize, limit: f64) -> f64 {
        let basis = &self.bases[place];
        let right = &mut self.right_hand_side;
        right.clear();
        right.extend(
            basis.breaks.iter().zip(&program.rows).map(|(place, row)| {
                place.map_or(0.0, |place| row.breaks[finite(place, &row.breaks)])
            }),
        );
        for &j in &basis.at_upper {
            axpy(right, -program.upper[j], program.column(j));
        }
        let mut outside = 0.0_f64;
        for (row, &j) in basis.inverse.chunks_exact(right.len()).zip(&basis.columns) {
            if j < program.columns {
                let value = dot(row, right);
                outside = outside.max(-value).max(value - program.upper[j]);
                if outside >= limit {
                    break;
                }
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
        for ((status, row), place) in rows.zip(&basis.breaks) {
            status.basic = place.is_none();
            status.place = finite(place.unwrap_or(status.place), &row.breaks);
        }
        for &j in basis.columns.iter().filter(|j| **j < program.columns) {
            self.status[j] = BoundStatus::Basic;
        }
        if self.is_worn() {
            self.refresh(program);
        } else {
            self.compute_values(program);
        }
    }

    /// Steps of the dual simplex until no amount is out of its bounds, the entering column chosen by
    /// all stages in one sum; false when there is no way.
    fn repair(&mut self, program: &Piecewise) -> bool {
        let nothing = vec![0.0; program.columns];
        let costs = program.linear.first().unwrap_or(&nothing);
        let stage = StageCost::Blend(costs);
        for _ in 0..MOST_REPAIRS {
            let Some((position, rises)) = self.worst(program) else { return true };
            self.price(program, stage);
            let Some(j) = self.dual_ratio_test(program, stage, position, rises) else {
                return false;
            };
            self.expand(program, j);
            let out = self.basis[position];
            let bound = if rises { 0.0 } else { program.upper[out] };
            let by = (self.now[position] - bound) / self.entering[position];
            let from = match j.checked_sub(program.columns) {
                None => self.x[j],
                Some(i) => program.rows[i].breaks[self.row_status[i].place],
            };
            axpy(&mut self.now, -by, &self.entering);
            self.put_at_bound(program, out, rises);
            self.pivot(position, j);
            self.now[position] = from + by;
            self.find_segments(program);
        }
        false
    }

    /// The amount furthest out of its bounds, by its position, and whether it must rise.
    fn worst(&self, program: &Piecewise) -> Option<(usize, bool)> {
        let mut most = FEASIBLE;
        let mut worst = None;
        for (position, (now, &j)) in self.now.iter().zip(&self.basis).enumerate() {
            if j < program.columns {
                let (below, above) = (-now, now - program.upper[j]);
                if below.max(above) > most {
                    most = below.max(above);
                    worst = Some((position, below > above));
                }
            }
        }
        worst
    }

    /// The column that moves the basic one at a position at the least cost.
    fn dual_ratio_test(
        &self,
        program: &Piecewise,
        stage: StageCost<'_>,
        position: usize,
        rises: bool,
    ) -> Option<usize> {
        let m = program.rows.len();
        let row = &self.inverse[position * m..(position + 1) * m];
        let mut best: Option<(usize, f64, f64)> = None;
        let mut consider = |j: usize, sign: f64, entry: f64, cost: f64| {
            if entry.abs() <= PIVOT || (sign * entry < 0.0) != rises {
                return;
            }
            let ratio = cost.max(0.0) / entry.abs();
            // Between equal ratios the larger pivot rounds less.
            let better = best.is_none_or(|(_, least, size)| {
                ratio < least - PIVOT * least
                    || (ratio <= least + PIVOT * least && entry.abs() > size)
            });
            if better {
                best = Some((j, ratio, entry.abs()));
            }
        };
        for (j, (status, reduced)) in self.status.iter().zip(&self.reduced).enumerate() {
            let entry = || dot(row, program.column(j));
            match status {
                BoundStatus::Lower => consider(j, 1.0, entry(), *reduced),
                BoundStatus::Upper => consider(j, -1.0, entry(), -reduced),
                BoundStatus::Basic | BoundStatus::Fixed => {}
            }
        }
        for (i, (status, cost)) in self.row_status.iter().zip(&program.rows).enumerate() {
            if status.basic {
                continue;
            }
            let reduced = |segment| stage.slope(cost.rate, segment) + self.multipliers[i];
            let j = program.columns + i;
            if let Some(segment) = status.right(&cost.breaks) {
                consider(j, 1.0, -row[i], reduced(segment));
            }
            if let Some(segment) = status.left(&cost.breaks) {
                consider(j, -1.0, -row[i], -reduced(segment));
            }
        }
        best.map(|(j, _, _)| j)
    }
}
