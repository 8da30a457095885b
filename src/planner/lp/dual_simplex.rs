//! Steps of the dual simplex: from a basis that was optimal for another water back to doses that can
//! be poured.
//!
//! All stages count in one sum, each a thousand times the next: that is near enough to choose by, and
//! what it leaves over the stages minimise. A row costs by segments, so one that is out of the segment
//! that it was in is out of bounds as well: it comes to the break, or goes on into the next segment
//! where that is cheaper than any pivot (the long step of the dual; from memory).
#![expect(clippy::indexing_slicing, reason = "indices run over rows and columns of one program")]

use crate::planner::lp::piecewise::{Piecewise, StageCost, axpy};
use crate::planner::lp::simplex::{PIVOT, Simplex};
use crate::planner::lp::status::RowStatus;
use crate::planner::lp::warm_start::FEASIBLE;

/// Our choice: a basis that is not repaired by so many steps is too far away.
const MOST_REPAIRS: usize = 16;

/// A basic column out of its bounds or its segment.
#[derive(Debug, Clone, Copy)]
struct Outside {
    position: usize,
    /// Whether it must rise.
    rises: bool,
    /// The bound or end that it must come to.
    bound: f64,
}

/// The column that comes in for it.
#[derive(Debug, Clone, Copy)]
struct Replacement {
    column: usize,
    /// What it costs, by unit of the leaving column.
    ratio: f64,
    /// Its entry in the row of the leaving column.
    entry: f64,
    /// Its reduced cost.
    reduced: f64,
}

impl Simplex {
    /// Steps until no amount is out of its bounds and no row out of its segment; false when there is
    /// no way.
    pub(super) fn repair(&mut self, program: &Piecewise) -> bool {
        let Some(mut out) = self.worst(program) else { return true };
        let nothing;
        let stage = StageCost::Blend(if let Some(costs) = program.linear.first() {
            costs
        } else {
            nothing = vec![0.0; program.columns];
            &nothing
        });
        self.price(program, stage);
        for i in 0..program.rows.len() {
            self.set_slopes(program, stage, i);
        }
        self.set_signs();
        for _ in 0..MOST_REPAIRS {
            self.expand_row(program, out.position);
            let entering = self.cheapest(out);
            if let Some((next, dearer)) = self.next_segment(program, stage, out)
                && entering.is_none_or(|entering| entering.ratio > dearer)
            {
                let i = self.basis[out.position] - program.columns;
                self.row_status[i].place = next;
                self.shift(if out.rises { -dearer } else { dearer });
            } else {
                let Some(entering) = entering else { return false };
                self.shift(entering.reduced / entering.entry);
                self.exchange(program, stage, out, entering.column);
            }
            let Some(next) = self.worst(program) else { return true };
            out = next;
        }
        false
    }

    /// Multipliers and reduced costs after a step of the dual along the row.
    fn shift(&mut self, by: f64) {
        axpy(&mut self.multipliers, by, &self.row_of_inverse);
        axpy(&mut self.reduced, -by, &self.row_of_columns);
    }

    /// Row of the inverse at a position, and the entries of stocks and base waters in it.
    fn expand_row(&mut self, program: &Piecewise, position: usize) {
        let m = program.rows.len();
        self.row_of_inverse.clear();
        self.row_of_inverse.extend_from_slice(&self.inverse[position * m..(position + 1) * m]);
        self.row_of_columns.clear();
        self.row_of_columns.resize(program.columns, 0.0);
        for (i, entry) in self.row_of_inverse.iter().enumerate() {
            if *entry != 0.0 {
                axpy(&mut self.row_of_columns, *entry, program.row(i));
            }
        }
    }

    /// Column `j` comes in for the one that is out of its bounds, which goes to the bound or break.
    fn exchange(&mut self, program: &Piecewise, stage: StageCost<'_>, out: Outside, j: usize) {
        let Outside { position, rises, bound } = out;
        self.expand(program, j);
        let by = (self.now[position] - bound) / self.entering[position];
        axpy(&mut self.now, -by, &self.entering);
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
        let leaving = self.basis[position];
        self.pivot(position, j);
        self.now[position] = from + by;
        match leaving.checked_sub(program.columns) {
            None => {
                self.put_at_bound(program, leaving, rises);
                self.sign[leaving] = self.status[leaving].sign();
            }
            Some(i) => {
                let status = &mut self.row_status[i];
                status.basic = false;
                status.place += usize::from(!rises);
                self.t[i] = bound;
                self.set_slopes(program, stage, i);
            }
        }
        match j.checked_sub(program.columns) {
            None => self.sign[j] = 0.0,
            Some(i) => self.set_slopes(program, stage, i),
        }
    }

    /// What is furthest out of its bounds or its segment.
    fn worst(&self, program: &Piecewise) -> Option<Outside> {
        let mut most = FEASIBLE;
        let mut worst = None;
        for (position, (now, &j)) in self.now.iter().zip(&self.basis).enumerate() {
            let (low, high) = program.ends(j, |i| self.row_status[i].place);
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
        let (row, status) = (&program.rows[i], self.row_status[i]);
        let next = if out.rises {
            status.left(&row.breaks)
        } else {
            RowStatus { place: status.place + 1, ..status }.right(&row.breaks)
        }?;
        let slope = |segment| stage.slope(row.rate, segment);
        Some((next, (slope(next) - slope(status.place)).abs()))
    }

    /// The column that moves the basic one at the least cost.
    fn cheapest(&self, Outside { rises, .. }: Outside) -> Option<Replacement> {
        let mut best: Option<Replacement> = None;
        // A rise of the column must move the basic one to where it must go.
        let mut consider = |column: usize, sign: f64, entry: f64, reduced: f64| {
            if entry.abs() <= PIVOT || (sign * entry < 0.0) != rises {
                return;
            }
            let ratio = (sign * reduced).max(0.0) / entry.abs();
            // Between equal ratios the larger pivot rounds less.
            let better = best.is_none_or(|best| {
                ratio < best.ratio - PIVOT * best.ratio
                    || (ratio <= best.ratio + PIVOT * best.ratio && entry.abs() > best.entry.abs())
            });
            if better {
                best = Some(Replacement { column, ratio, entry, reduced });
            }
        };
        let columns = self.sign.iter().zip(&self.row_of_columns).zip(&self.reduced).enumerate();
        for (j, ((sign, entry), reduced)) in columns {
            if *sign != 0.0 {
                consider(j, -sign, *entry, *reduced);
            }
        }
        let slopes = self.left.iter().zip(&self.right);
        let rows = slopes.zip(self.row_of_inverse.iter().zip(&self.multipliers)).enumerate();
        for (i, ((left, right), (entry, multiplier))) in rows {
            let j = self.sign.len() + i;
            if right.is_finite() {
                consider(j, 1.0, -entry, right + multiplier);
            }
            if left.is_finite() {
                consider(j, -1.0, -entry, left + multiplier);
            }
        }
        best
    }
}
