//! A primal simplex with piecewise-linear costs and lexicographic stages.
//!
//! Made for programs of some ten rows and twenty columns of which thousands are solved one after the
//! other. A basic row passes from segment to segment of its cost within one step, as long as the
//! objective still falls; so a deviation needs no column and no pivot of its own. Method: the
//! simplex method for piecewise-linear programming (Fourer, Math. Programming 33 (1985) 204–233;
//! from memory), with the inverse of the basis kept dense. A stage is fixed for the next ones by
//! leaving each column and row only what costs nothing by its reduced cost: that is exactly the
//! optimal face, so no cap row and no slack is needed.
//!
//! [`crate::planner::lp::block_angular`] is the other solver. Both are needed: this one is quick and
//! knows separable costs only, that one joins waters, makes the largest deviation least, and
//! computes in numbers of any precision.
//!
//! A little above 400 lines: the state of one run and what changes it.
#![expect(clippy::indexing_slicing, reason = "indices run over rows and columns of one program")]

use crate::planner::lp::matrix::{invert, without_rounding};
use crate::planner::lp::piecewise::{Piecewise, StageCost, axpy, dot};
use crate::planner::lp::status::{BoundStatus, RowStatus};

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ending {
    /// No column can improve the objective.
    Optimal,
    /// The objective falls without end.
    Unbounded,
    /// The limit of iterations was reached.
    Stalled,
}

/// Our choice of numerical tolerances. Rows are in meq/L with coefficients near 1, so a pivot
/// below 1e-9 is rounding, a step below 1e-13 is no progress, and a reduced cost below 1e-10 of
/// the largest cost is zero. Moving them by a factor of a hundred changes no tested answer.
pub(super) const PIVOT: f64 = 1e-9;
pub(super) const STEP: f64 = 1e-13;
const REDUCED_COST: f64 = 1e-10;
/// Reduced costs within this factor of the border are looked at again after a fresh
/// factorisation. Exact columns have none there; heavy weights on contradicting goals may.
const DOUBT: f64 = 1e4;
/// Our choice: after so many pivots the inverse is made anew from the basis.
const MOST_UPDATES: usize = 100;

/// The state of a run; kept between programs so that nothing is allocated twice. Columns are the
/// stocks and base waters, then the values of the rows.
#[derive(Debug, Clone, Default)]
pub(crate) struct Simplex {
    pub(super) status: Vec<BoundStatus>,
    pub(crate) row_status: Vec<RowStatus>,
    /// Values of stocks and base waters, and of the rows.
    pub(crate) x: Vec<f64>,
    pub(crate) t: Vec<f64>,
    pub(super) basis: Vec<usize>,
    /// Row by row, in the order of the basis.
    pub(super) inverse: Vec<f64>,
    /// Pivots since the inverse was made.
    pub(super) updates: usize,
    /// Values of the basic columns, with the ends of where they may be before a break.
    pub(super) now: Vec<f64>,
    pub(super) low: Vec<f64>,
    pub(super) high: Vec<f64>,
    /// Multipliers of the rows.
    pub(crate) multipliers: Vec<f64>,
    /// Reduced costs of stocks and base waters, and what turns them into the gain of a move.
    pub(super) reduced: Vec<f64>,
    pub(super) sign: Vec<f64>,
    /// By row: the slopes on both sides of the break it stands at; infinite where it cannot move.
    pub(super) left: Vec<f64>,
    pub(super) right: Vec<f64>,
    /// The entering column in terms of the basis, how far each basic column lets it go, and the
    /// segments that they have come to.
    pub(super) entering: Vec<f64>,
    pub(super) reach: Vec<f64>,
    pub(super) segment: Vec<usize>,
    /// A row of the inverse, and the entries of stocks and base waters in it.
    pub(super) row_of_inverse: Vec<f64>,
    pub(super) row_of_columns: Vec<f64>,
    work: Vec<f64>,
}

/// The column that enters: its number, whether it rises, and what a unit of the move gains.
#[derive(Clone, Copy)]
pub(super) struct Entering {
    pub(super) column: usize,
    pub(super) rises: bool,
    pub(super) gain: f64,
}

impl Simplex {
    /// Columns at their lower bounds, rows in no basis yet.
    pub(super) fn reset(&mut self, program: &Piecewise) {
        let m = program.rows.len();
        for list in [
            &mut self.now,
            &mut self.low,
            &mut self.high,
            &mut self.multipliers,
            &mut self.left,
            &mut self.right,
            &mut self.entering,
            &mut self.reach,
            &mut self.work,
            &mut self.t,
        ] {
            list.resize(m, 0.0);
        }
        self.segment.resize(m, 0);
        self.status.clear();
        self.status.extend(program.upper.iter().map(|upper| BoundStatus::at(*upper, true)));
        self.x.clear();
        self.x.resize(program.columns, 0.0);
        self.row_status.clear();
        self.row_status.extend(program.rows.iter().map(RowStatus::new));
    }

    /// Starts with the values of all rows in the basis, but for the volume, which base water `last`
    /// fills up beside those `at_upper`.
    pub(crate) fn start(&mut self, program: &Piecewise, at_upper: &[usize], last: usize) {
        self.reset(program);
        for &j in at_upper {
            self.put_at_bound(program, j, false);
        }
        let m = program.rows.len();
        self.inverse.clear();
        self.inverse.resize(m * m, 0.0);
        self.updates = 0;
        self.basis.clear();
        for i in 0..m {
            self.basis.push(program.columns + i);
            self.inverse[i * m + i] = -1.0;
            self.row_status[i].basic = i > 0;
        }
        self.expand(program, last);
        self.pivot(0, last);
        self.compute_values(program);
        self.find_segments(program);
    }

    pub(super) fn put_at_bound(&mut self, program: &Piecewise, j: usize, at_lower: bool) {
        let upper = program.upper[j];
        self.status[j] = BoundStatus::at(upper, at_lower);
        self.x[j] = if at_lower { 0.0 } else { upper };
    }

    /// Values of the basic columns from those of the others.
    pub(super) fn compute_values(&mut self, program: &Piecewise) {
        let m = program.rows.len();
        for (i, (row, status)) in program.rows.iter().zip(&self.row_status).enumerate() {
            self.work[i] = 0.0;
            if !status.basic {
                self.t[i] = row.breaks[status.place];
                self.work[i] = self.t[i];
            }
        }
        for (j, (x, status)) in self.x.iter().zip(&self.status).enumerate() {
            if *status != BoundStatus::Basic && *x != 0.0 {
                axpy(&mut self.work, -x, program.column(j));
            }
        }
        for (now, row) in self.now.iter_mut().zip(self.inverse.chunks_exact(m)) {
            *now = dot(row, &self.work);
        }
    }

    /// The segments that the basic rows lie in.
    pub(super) fn find_segments(&mut self, program: &Piecewise) {
        for (now, &j) in self.now.iter().zip(&self.basis) {
            if let Some(i) = j.checked_sub(program.columns) {
                let (breaks, status) = (&program.rows[i].breaks, &mut self.row_status[i]);
                status.place = status.from;
                while status.place < status.to && *now > breaks[status.place + 1] {
                    status.place += 1;
                }
            }
        }
    }

    /// Minimises one stage over what earlier stages have left.
    pub(crate) fn minimise(&mut self, program: &Piecewise, stage: StageCost<'_>) -> Ending {
        let m = program.rows.len();
        let threshold = REDUCED_COST * program.largest_cost(stage);
        for i in 0..m {
            self.set_slopes(program, stage, i);
            self.set_ends(program, i);
        }
        self.set_signs();
        let mut ending = Ending::Stalled;
        for _ in 0..50 * (m + program.columns) {
            self.price(program, stage);
            let Some(entering) = self.choose(threshold) else {
                ending = Ending::Optimal;
                break;
            };
            self.expand(program, entering.column);
            if !self.step(program, stage, entering) {
                ending = Ending::Unbounded;
                break;
            }
        }
        self.set_values(program);
        ending
    }

    /// What turns the reduced cost of each column into the gain of a move.
    pub(super) fn set_signs(&mut self) {
        self.sign.clear();
        self.sign.extend(self.status.iter().map(|s| s.sign()));
    }

    /// The values of the basic columns among those of all.
    pub(crate) fn set_values(&mut self, program: &Piecewise) {
        for (now, &j) in self.now.iter().zip(&self.basis) {
            match j.checked_sub(program.columns) {
                Some(i) => self.t[i] = *now,
                None => self.x[j] = *now,
            }
        }
    }

    /// Fixes the stage just solved: what has a reduced cost may not move again.
    pub(crate) fn freeze(&mut self, program: &Piecewise, stage: StageCost<'_>, reduced: &[f64]) {
        let threshold = REDUCED_COST * program.largest_cost(stage);
        for (reduced, status) in reduced.iter().zip(&mut self.status) {
            if status.sign() != 0.0 && reduced.abs() > threshold {
                *status = BoundStatus::Fixed;
            }
        }
        let slopes = stage.slopes();
        let rows = self.row_status.iter_mut().zip(&program.rows).zip(&self.multipliers);
        for ((status, row), multiplier) in rows {
            let reduced = |k: usize| row.rate * slopes[k] + multiplier;
            while status.from <= status.to && reduced(status.from) < -threshold {
                status.from += 1;
            }
            while status.from <= status.to && reduced(status.to) > threshold {
                if status.to == 0 {
                    status.from = 1;
                } else {
                    status.to -= 1;
                }
            }
        }
    }

    /// Whether a reduced cost lies so near to the border between zero and not zero that rounding
    /// may have carried it across. Then something could be fixed that should stay free.
    pub(crate) fn is_unsure(&self, program: &Piecewise, stage: StageCost<'_>) -> bool {
        let border = REDUCED_COST * program.largest_cost(stage);
        let unsure = (border / DOUBT)..(border * DOUBT);
        let columns = self.reduced.iter().zip(&self.sign);
        let rows = self.left.iter().chain(&self.right);
        columns.filter(|(_, sign)| **sign != 0.0).any(|(d, _)| unsure.contains(&d.abs()))
            || rows
                .zip(self.multipliers.iter().chain(&self.multipliers))
                .any(|(slope, multiplier)| unsure.contains(&(slope + multiplier).abs()))
    }

    /// Whether nothing gains by a move, and no reduced cost is unsure: what [`Self::minimise`] would find
    /// after a look at each column and row.
    pub(crate) fn is_surely_optimal(
        &self,
        program: &Piecewise,
        stage: StageCost<'_>,
        reduced: &[f64],
    ) -> bool {
        let border = REDUCED_COST * program.largest_cost(stage);
        let gains_nothing = |gain: f64| {
            // Between the two ends a rounding may have carried it across.
            gain <= border / DOUBT && (gain >= -border / DOUBT || gain <= -border * DOUBT)
        };
        let mut columns = reduced.iter().zip(&self.status).map(|(d, status)| d * status.sign());
        let slopes = stage.slopes();
        let mut rows = program.rows.iter().zip(&self.row_status).zip(&self.multipliers);
        columns.all(gains_nothing)
            && rows.all(|((row, status), multiplier)| {
                let cost = |segment: usize| row.rate * slopes[segment] + multiplier;
                status.basic
                    || (status.left(&row.breaks).is_none_or(|k| gains_nothing(cost(k)))
                        && status.right(&row.breaks).is_none_or(|k| gains_nothing(-cost(k))))
            })
    }

    /// Whether other doses may be as good in every stage: something can move that costs nothing.
    pub(crate) fn has_ties(&self, program: &Piecewise) -> bool {
        let mut rows = program.rows.iter().zip(&self.row_status);
        self.status.iter().any(|status| status.sign() != 0.0)
            || rows.any(|(row, status)| {
                !status.basic
                    && (status.left(&row.breaks).is_some() || status.right(&row.breaks).is_some())
            })
    }

    /// Whether a stock or base water cannot move: it has no range, or an earlier stage fixed it.
    pub(crate) fn is_fixed(&self, j: usize) -> bool {
        self.status[j] == BoundStatus::Fixed
    }

    /// Factorises the basis anew and recomputes the values: removes what rounding has added.
    pub(crate) fn refresh(&mut self, program: &Piecewise) {
        self.factorise(program);
        self.find_segments(program);
    }

    /// The same, with the segments left as they are.
    pub(super) fn factorise(&mut self, program: &Piecewise) {
        let (m, n) = (program.rows.len(), program.columns);
        let mut work = vec![0.0; m * m];
        for (position, &j) in self.basis.iter().enumerate() {
            if j < n {
                for (i, v) in program.column(j).iter().enumerate() {
                    work[i * m + position] = *v;
                }
            } else {
                work[(j - n) * m + position] = -1.0;
            }
        }
        if let Some(inverse) = invert(work, m, PIVOT * PIVOT) {
            self.inverse = inverse;
            self.updates = 0;
        }
        self.compute_values(program);
    }

    /// Corrects the values for the rounding of the pivots since the start.
    pub(crate) fn polish(&mut self, program: &Piecewise) {
        let (m, n) = (program.rows.len(), program.columns);
        let mut worst = 0.0_f64;
        for i in 0..m {
            self.work[i] = self.t[i] - program.value(i, &self.x);
            worst = worst.max(self.work[i].abs());
        }
        let is_rough = worst > STEP;
        for (row, &j) in self.inverse.chunks_exact(m).zip(&self.basis) {
            let correction = if is_rough { dot(row, &self.work) } else { 0.0 };
            if j < n {
                self.x[j] = without_rounding(self.x[j] + correction, 0.0, program.upper[j]);
            } else {
                self.t[j - n] += correction;
            }
        }
    }

    /// Multipliers and reduced costs.
    pub(super) fn price(&mut self, program: &Piecewise, stage: StageCost<'_>) {
        self.find_multipliers(program, stage);
        stage.columns_into(&mut self.reduced, program.columns);
        for (i, multiplier) in self.multipliers.iter().enumerate() {
            if *multiplier != 0.0 {
                axpy(&mut self.reduced, -multiplier, program.row(i));
            }
        }
    }

    /// Multipliers of the rows.
    pub(crate) fn find_multipliers(&mut self, program: &Piecewise, stage: StageCost<'_>) {
        let (m, slopes) = (program.rows.len(), stage.slopes());
        self.multipliers.fill(0.0);
        for (row, &j) in self.inverse.chunks_exact(m).zip(&self.basis) {
            let cost = match j.checked_sub(program.columns) {
                Some(i) => program.rows[i].rate * slopes[self.row_status[i].place],
                None => stage.of_column(j),
            };
            if cost != 0.0 {
                axpy(&mut self.multipliers, cost, row);
            }
        }
    }

    /// The slopes on both sides of a nonbasic row.
    pub(super) fn set_slopes(&mut self, program: &Piecewise, stage: StageCost<'_>, i: usize) {
        let (row, status) = (&program.rows[i], self.row_status[i]);
        let slope = |segment: usize| stage.slope(row.rate, segment);
        let side = |segment: Option<usize>, none: f64| {
            if status.basic { none } else { segment.map_or(none, slope) }
        };
        self.left[i] = side(status.left(&row.breaks), f64::NEG_INFINITY);
        self.right[i] = side(status.right(&row.breaks), f64::INFINITY);
    }

    /// The ends of the segment or range of the basic column at a position.
    pub(super) fn set_ends(&mut self, program: &Piecewise, position: usize) {
        let ends = program.ends(self.basis[position], |i| self.row_status[i].place);
        (self.low[position], self.high[position]) = ends;
    }

    /// The column that gains most by moving.
    fn choose(&self, threshold: f64) -> Option<Entering> {
        let mut largest = threshold;
        let mut best = usize::MAX;
        for (j, (reduced, sign)) in self.reduced.iter().zip(&self.sign).enumerate() {
            let gain = reduced * sign;
            best = if gain > largest { j } else { best };
            largest = if gain > largest { gain } else { largest };
        }
        let columns = self.sign.len();
        let slopes = self.left.iter().zip(&self.right);
        for (i, (multiplier, (left, right))) in self.multipliers.iter().zip(slopes).enumerate() {
            let gain = (left + multiplier).max(-(right + multiplier));
            best = if gain > largest { columns + i } else { best };
            largest = if gain > largest { gain } else { largest };
        }
        if best == usize::MAX {
            return None;
        }
        let rises = match best.checked_sub(columns) {
            None => self.sign[best] < 0.0,
            Some(i) => -(self.right[i] + self.multipliers[i]) >= largest,
        };
        Some(Entering { column: best, rises, gain: largest })
    }

    /// `entering` becomes the column in terms of the basis.
    pub(super) fn expand(&mut self, program: &Piecewise, j: usize) {
        let m = program.rows.len();
        let rows = self.entering.iter_mut().zip(self.inverse.chunks_exact(m));
        if let Some(i) = j.checked_sub(program.columns) {
            rows.for_each(|(entry, row)| *entry = -row[i]);
        } else {
            let column = program.column(j);
            rows.for_each(|(entry, row)| *entry = dot(row, column));
        }
    }

    /// Column `j`, already expanded, takes the place of the basic column at a position.
    pub(super) fn pivot(&mut self, position: usize, j: usize) {
        let m = self.basis.len();
        let scale = 1.0 / self.entering[position];
        for v in &mut self.inverse[position * m..(position + 1) * m] {
            *v *= scale;
        }
        let (before, rest) = self.inverse.split_at_mut(position * m);
        let (pivot_row, after) = rest.split_at_mut(m);
        let (above, below) = self.entering.split_at(position);
        let rows = before.chunks_exact_mut(m).zip(above);
        for (row, factor) in rows.chain(after.chunks_exact_mut(m).zip(below.iter().skip(1))) {
            if *factor != 0.0 {
                axpy(row, -factor, pivot_row);
            }
        }
        self.basis[position] = j;
        self.updates += 1;
        match j.checked_sub(self.status.len()) {
            Some(i) => self.row_status[i].basic = true,
            None => self.status[j] = BoundStatus::Basic,
        }
    }

    /// Whether so many pivots have rounded the inverse that it is to be made anew.
    pub(crate) fn is_worn(&self) -> bool {
        self.updates > MOST_UPDATES
    }
}
