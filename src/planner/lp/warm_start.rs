//! Warm starts: the last optimal bases, tried on the numbers of another water before anything is
//! pivoted. The coefficients stay while goals move, so `B⁻¹b` says at once whether a basis still
//! gives doses, and each row in the segment of its cost that it was in: then it is optimal in all stages as
//! it was before, and there is nothing to minimise. Where none does, the one
//! that is nearest to it is repaired by steps of the dual simplex. What is optimal the recheck
//! decides, from either start.
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

/// A basic column out of its bounds or its segment.
#[derive(Debug, Clone, Copy)]
struct Outside {
    position: usize,
    /// Whether it must rise.
    rises: bool,
    /// The bound or end that it must come to.
    bound: f64,
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
        simplex.load(program, &self.bases[0]);
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
        for (row, &j) in basis.inverse.chunks_exact(right.len()).zip(&basis.columns) {
            let value = dot(row, right);
            let (low, high) = match j.checked_sub(program.columns) {
                None => (0.0, program.upper[j]),
                Some(i) => {
                    let (breaks, segment) = (&program.rows[i].breaks, basis.rows[i].1);
                    (breaks[segment], breaks[segment + 1])
                }
            };
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
        for ((status, row), &(basic, place)) in rows.zip(&basis.rows) {
            status.basic = basic;
            status.place = if basic { place } else { finite(place, &row.breaks) };
        }
        for &j in basis.columns.iter().filter(|j| **j < program.columns) {
            self.status[j] = BoundStatus::Basic;
        }
        if self.is_worn() {
            self.factorise(program);
        } else {
            self.compute_values(program);
        }
    }

    /// Steps of the dual simplex until no amount is out of its bounds and no row out of its segment,
    /// the entering column chosen by all stages in one sum; false when there is no way.
    ///
    /// A row that costs more beyond the end of its segment goes on into the next one where that is
    /// cheaper than any pivot.
    fn repair(&mut self, program: &Piecewise) -> bool {
        let nothing = vec![0.0; program.columns];
        let stage = StageCost::Blend(program.linear.first().unwrap_or(&nothing));
        for _ in 0..MOST_REPAIRS {
            let Some(out) = self.worst(program) else { return true };
            self.price(program, stage);
            let entering = self.dual_ratio_test(program, stage, out);
            if let Some((next, dearer)) = self.next_segment(program, stage, out)
                && entering.is_none_or(|(_, ratio)| ratio > dearer)
            {
                self.row_status[self.basis[out.position] - program.columns].place = next;
                continue;
            }
            let Some((j, _)) = entering else { return false };
            self.exchange(program, out, j);
        }
        false
    }

    /// Column `j` comes in for the one that is out of its bounds, which goes to the bound or break.
    fn exchange(&mut self, program: &Piecewise, out: Outside, j: usize) {
        let Outside { position, rises, bound, .. } = out;
        self.expand(program, j);
        let by = (self.now[position] - bound) / self.entering[position];
        axpy(&mut self.now, -by, &self.entering);
        let leaving = self.basis[position];
        match leaving.checked_sub(program.columns) {
            None => self.put_at_bound(program, leaving, rises),
            Some(i) => {
                let status = &mut self.row_status[i];
                status.basic = false;
                status.place += usize::from(!rises);
                self.t[i] = bound;
            }
        }
        let from = match j.checked_sub(program.columns) {
            None => self.x[j],
            Some(i) => {
                let (breaks, status) = (&program.rows[i].breaks, &mut self.row_status[i]);
                let from = breaks[status.place];
                let segment = if by > 0.0 { status.right(breaks) } else { status.left(breaks) };
                status.place = segment.unwrap_or(status.place);
                from
            }
        };
        self.pivot(position, j);
        self.now[position] = from + by;
    }

    /// What is furthest out of its bounds or its segment.
    fn worst(&self, program: &Piecewise) -> Option<Outside> {
        let mut most = FEASIBLE;
        let mut worst = None;
        for (position, (now, &j)) in self.now.iter().zip(&self.basis).enumerate() {
            let (low, high) = match j.checked_sub(program.columns) {
                None => (0.0, program.upper[j]),
                Some(i) => {
                    let (breaks, segment) = (&program.rows[i].breaks, self.row_status[i].place);
                    (breaks[segment], breaks[segment + 1])
                }
            };
            let (below, above) = (low - now, now - high);
            if below.max(above) > most {
                most = below.max(above);
                let rises = below > above;
                worst = Some(Outside { position, rises, bound: if rises { low } else { high } });
            }
        }
        worst
    }

    /// The segment behind the end that a row has passed, and how much dearer a unit of it is.
    fn next_segment(
        &self,
        program: &Piecewise,
        stage: StageCost<'_>,
        out: Outside,
    ) -> Option<(usize, f64)> {
        let i = self.basis[out.position].checked_sub(program.columns)?;
        let (row, status) = (&program.rows[i], &self.row_status[i]);
        let next = if out.rises {
            (status.from..status.place).rev().find(|k| row.breaks[*k] < out.bound)
        } else {
            (status.place + 1..=status.to).find(|k| row.breaks[*k + 1] > out.bound)
        }?;
        let slope = |segment| stage.slope(row.rate, segment);
        Some((next, (slope(next) - slope(status.place)).abs()))
    }

    /// The column that moves the basic one at a position at the least cost, and that cost.
    fn dual_ratio_test(
        &self,
        program: &Piecewise,
        stage: StageCost<'_>,
        Outside { position, rises, .. }: Outside,
    ) -> Option<(usize, f64)> {
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
        best.map(|(j, ratio, _)| (j, ratio))
    }
}
