//! One step of the simplex: the entering column moves on through the breaks of the basic rows for as
//! long as the objective falls.
#![expect(clippy::indexing_slicing, reason = "indices run over rows and columns of one program")]

use crate::planner::lp::piecewise::{Piecewise, StageCost, axpy};
use crate::planner::lp::simplex::{Entering, PIVOT, STEP, Simplex};
use crate::planner::lp::status::RowStatus;

impl Simplex {
    /// Moves the entering column for as long as the objective falls; false when it falls for ever.
    pub(super) fn step(
        &mut self,
        program: &Piecewise,
        stage: StageCost<'_>,
        entering: Entering,
    ) -> bool {
        let n = program.columns;
        let Entering { column: j, rises, mut gain } = entering;
        let sign = if rises { 1.0 } else { -1.0 };
        let own_row = j.checked_sub(n).map(|i| (i, program.rows[i]));
        let start =
            own_row.map_or_else(|| self.x[j], |(i, row)| row.breaks[self.row_status[i].place]);
        let own_segment = own_row.map_or(Some(0), |(i, row)| {
            let status = self.row_status[i];
            if rises { status.right(&row.breaks) } else { status.left(&row.breaks) }
        });
        let own_break = |segment: usize| match own_row {
            None => program.upper[j],
            Some((_, row)) if rises => row.breaks[segment + 1] - start,
            Some((_, row)) => start - row.breaks[segment],
        };
        let Some(mut segment) = own_segment else { return false };
        let mut own = own_break(segment);
        self.measure_reach(program, sign);
        let (length, leaving) = loop {
            let (mut length, mut first) = (own, usize::MAX);
            for (position, reach) in self.reach.iter().enumerate() {
                first = if *reach < length { position } else { first };
                length = if *reach < length { *reach } else { length };
            }
            if !length.is_finite() {
                return false;
            }
            if first == usize::MAX {
                // The entering column comes to its own bound or break first.
                let Some((i, row)) = own_row else { break (length, None) };
                let Some(next) = beyond(segment, rises, &self.row_status[i]) else {
                    break (length, None);
                };
                gain -= (stage.slope(row.rate, next) - stage.slope(row.rate, segment)).abs();
                if gain <= 0.0 {
                    break (length, None);
                }
                segment = next;
                own = own_break(segment);
            } else if !self.passes(program, stage, first, sign, &mut gain) {
                break (length, Some(self.strongest(first, length)));
            }
        };
        axpy(&mut self.now, -sign * length, &self.entering);
        for position in 0..self.basis.len() {
            if let Some(i) = self.basis[position].checked_sub(n)
                && self.row_status[i].place != self.segment[position]
            {
                self.row_status[i].place = self.segment[position];
                self.set_ends(program, position);
            }
        }
        let own_place = if rises { segment + 1 } else { segment };
        match (leaving, j.checked_sub(n)) {
            (None, None) => {
                self.put_at_bound(program, j, !rises);
                self.sign[j] = self.status[j].sign();
            }
            (None, Some(i)) => {
                self.row_status[i].place = own_place;
                self.t[i] = program.rows[i].breaks[own_place];
                self.set_slopes(program, stage, i);
            }
            (Some(position), own) => {
                if let Some(i) = own {
                    self.row_status[i].place = segment;
                }
                self.leave(program, stage, position, sign);
                self.pivot(position, j);
                self.now[position] = start + sign * length;
                self.set_ends(program, position);
                match own {
                    Some(i) => self.set_slopes(program, stage, i),
                    None => self.sign[j] = 0.0,
                }
            }
        }
        true
    }

    /// How far each basic column lets the entering one go before its own next break.
    fn measure_reach(&mut self, program: &Piecewise, sign: f64) {
        let ends = self.low.iter().zip(&self.high).zip(&self.now);
        for ((alpha, reach), ((low, high), now)) in
            self.entering.iter().zip(&mut self.reach).zip(ends)
        {
            let slope = sign * alpha;
            let room = if slope < 0.0 { high - now } else { now - low };
            let far = (room / slope.abs()).max(0.0);
            *reach = if slope.abs() > PIVOT { far } else { f64::INFINITY };
        }
        for (segment, &j) in self.segment.iter_mut().zip(&self.basis) {
            *segment = j.checked_sub(program.columns).map_or(0, |i| self.row_status[i].place);
        }
    }

    /// Whether a basic row may go on into its next segment, the objective still falling.
    fn passes(
        &mut self,
        program: &Piecewise,
        stage: StageCost<'_>,
        position: usize,
        sign: f64,
        gain: &mut f64,
    ) -> bool {
        let Some(i) = self.basis[position].checked_sub(program.columns) else { return false };
        let rate_of_change = -sign * self.entering[position];
        let (row, at) = (&program.rows[i], self.segment[position]);
        let Some(next) = beyond(at, rate_of_change > 0.0, &self.row_status[i]) else {
            return false;
        };
        let steeper = (stage.slope(row.rate, next) - stage.slope(row.rate, at)).abs();
        let left = *gain - steeper * rate_of_change.abs();
        if left <= 0.0 {
            return false;
        }
        *gain = left;
        self.segment[position] = next;
        let end = if rate_of_change > 0.0 { row.breaks[next + 1] } else { row.breaks[next] };
        self.reach[position] = (end - self.now[position]) / rate_of_change;
        true
    }

    /// Between columns that stop the step at the same length the strongest pivot rounds least.
    fn strongest(&self, first: usize, length: f64) -> usize {
        let mut best = first;
        for (position, reach) in self.reach.iter().enumerate() {
            if *reach <= length + STEP && self.entering[position].abs() > self.entering[best].abs()
            {
                best = position;
            }
        }
        best
    }

    /// The basic column at a position comes to the bound or break that it was moving to.
    fn leave(&mut self, program: &Piecewise, stage: StageCost<'_>, position: usize, sign: f64) {
        let j = self.basis[position];
        let rises = sign * self.entering[position] < 0.0;
        match j.checked_sub(program.columns) {
            None => {
                self.put_at_bound(program, j, !rises);
                self.sign[j] = self.status[j].sign();
            }
            Some(i) => {
                let status = &mut self.row_status[i];
                status.basic = false;
                status.place = self.segment[position] + usize::from(rises);
                self.t[i] = program.rows[i].breaks[status.place];
                self.set_slopes(program, stage, i);
            }
        }
    }
}

/// The segment behind the next break, when the row may go there.
fn beyond(segment: usize, rises: bool, status: &RowStatus) -> Option<usize> {
    if rises {
        (segment < status.to).then_some(segment + 1)
    } else {
        (segment > status.from).then(|| segment - 1)
    }
}
