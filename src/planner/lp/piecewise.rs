//! The program of one litre with piecewise-linear costs: one variable for each stock, base water and
//! row, and no column for any deviation.
//!
//! Row i has the value `t_i = Σ a_ij·x_j`. What it costs is a convex function of it with up to five
//! segments: beyond tolerance below, inside tolerance below, in the band, inside above, beyond above.
//! The volume is a row with one value, a limit a row with one segment. This is the statement of
//! [`crate::planner::lp::program`] with its deviations taken together; [`crate::planner::lp::litre`]
//! writes them out as columns for the solvers that need them so.
#![expect(clippy::indexing_slicing, reason = "indices run over rows and columns of one program")]

use crate::planner::lp::program::{Form, HardRow, PourableColumns, Priorities, Row};

/// Segments of the cost of a row.
pub(crate) const SEGMENTS: usize = 5;

/// The segment that costs nothing.
pub(crate) const BAND: usize = 2;

/// The cost of a row: where its segments end, and what one unit of deviation costs.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct RowCost {
    /// Segment k lies between places k and k + 1; the outermost are infinite, or all are one value.
    pub(crate) breaks: [f64; SEGMENTS + 1],
    pub(crate) rate: f64,
}

/// What is made least.
#[derive(Debug, Clone, Copy)]
pub(crate) enum StageCost<'a> {
    /// Deviations beyond tolerance.
    Beyond,
    /// Deviations inside tolerance.
    Inside,
    /// A cost of each stock and base water.
    Linear(&'a [f64]),
    /// All of them in one sum, to choose by and for no proof.
    Blend(&'a [f64]),
}

impl StageCost<'_> {
    /// Slope of the cost of a row in a segment.
    pub(crate) fn slope(self, rate: f64, segment: usize) -> f64 {
        rate * self.slopes()[segment]
    }

    /// Slopes of a row whose unit costs 1, segment by segment.
    pub(crate) fn slopes(self) -> &'static [f64; SEGMENTS] {
        match self {
            StageCost::Beyond => &[-1.0, 0.0, 0.0, 0.0, 1.0],
            StageCost::Inside => &[0.0, -1.0, 0.0, 1.0, 0.0],
            StageCost::Linear(_) => &[0.0; SEGMENTS],
            // Our choice: each stage a thousand times the next.
            StageCost::Blend(_) => &[-1e6, -1e3, 0.0, 1e3, 1e6],
        }
    }

    /// Cost of a unit of a stock or base water.
    pub(crate) fn of_column(self, j: usize) -> f64 {
        match self {
            StageCost::Linear(costs) | StageCost::Blend(costs) => costs[j],
            StageCost::Beyond | StageCost::Inside => 0.0,
        }
    }

    /// Those of all of them.
    pub(crate) fn columns_into(self, list: &mut Vec<f64>, columns: usize) {
        list.clear();
        match self {
            StageCost::Linear(costs) | StageCost::Blend(costs) => list.extend_from_slice(costs),
            StageCost::Beyond | StageCost::Inside => list.resize(columns, 0.0),
        }
    }

    /// What these amounts of stocks and base waters cost.
    pub(crate) fn of_columns(self, x: &[f64]) -> f64 {
        match self {
            StageCost::Linear(costs) | StageCost::Blend(costs) => dot(costs, x),
            StageCost::Beyond | StageCost::Inside => 0.0,
        }
    }
}

/// One litre; the coefficients are kept while the forms of the rows stay the same.
#[derive(Debug, Clone, Default)]
pub(crate) struct Piecewise {
    /// What the coefficients were stated for.
    pourable: Option<PourableColumns>,
    forms: Vec<Form>,
    hard: Vec<HardRow>,
    /// Number of stocks and base waters.
    pub(crate) columns: usize,
    /// Coefficients row by row, and the same column by column.
    by_row: Vec<f64>,
    by_column: Vec<f64>,
    pub(crate) rows: Vec<RowCost>,
    /// Bounds of stocks and base waters; all lower ones are 0.
    pub(crate) upper: Vec<f64>,
    /// Costs of the preference stages.
    pub(crate) linear: Vec<Vec<f64>>,
    /// The largest cost of a deviation.
    pub(crate) largest_rate: f64,
}

impl Piecewise {
    /// States a litre; whether its coefficients are still those of the one before.
    pub(crate) fn prepare(
        &mut self,
        pourable: &PourableColumns,
        rows: &[Row],
        priorities: &Priorities,
        hard: &[HardRow],
        excluded: &[bool],
    ) -> bool {
        let same = self.forms.len() == rows.len()
            && self.forms.iter().zip(rows).all(|(form, row)| same_bits(form, &row.form))
            && self.hard == hard
            && self.pourable.as_ref() == Some(pourable);
        if !same {
            self.state(pourable, rows, hard);
        }
        self.rows.clear();
        self.rows.push(RowCost { breaks: [1.0; SEGMENTS + 1], rate: 0.0 });
        self.rows.extend(rows.iter().map(row_cost));
        self.rows.extend(hard.iter().map(|row| RowCost {
            breaks: [
                f64::NEG_INFINITY,
                f64::NEG_INFINITY,
                f64::NEG_INFINITY,
                row.most,
                row.most,
                row.most,
            ],
            rate: 0.0,
        }));
        self.largest_rate = rows.iter().fold(0.0, |most, row| most.max(row.rate));
        self.upper.clear();
        self.upper.resize(pourable.stocks.len(), f64::INFINITY);
        self.upper.extend(pourable.base.iter().map(|(_, at_most)| *at_most));
        for (most, excluded) in self.upper.iter_mut().zip(excluded) {
            if *excluded {
                *most = 0.0;
            }
        }
        self.linear.resize_with(priorities.preference.len(), Vec::new);
        for (costs, (stocks, base)) in self.linear.iter_mut().zip(&priorities.preference) {
            costs.clear();
            costs.extend_from_slice(stocks);
            costs.resize(pourable.stocks.len(), 0.0);
            costs.extend_from_slice(base);
            costs.resize(self.columns, 0.0);
        }
        same
    }

    fn state(&mut self, pourable: &PourableColumns, rows: &[Row], hard: &[HardRow]) {
        self.forms = rows.iter().map(|row| row.form).collect();
        self.hard = hard.to_vec();
        self.pourable = Some(pourable.clone());
        self.columns = pourable.stocks.len() + pourable.base.len();
        self.by_row = pourable.coefficients(rows, hard).concat();
        let m = self.by_row.len() / self.columns.max(1);
        self.by_column.clear();
        for j in 0..self.columns {
            self.by_column.extend((0..m).map(|i| self.by_row[i * self.columns + j]));
        }
    }

    /// Number of stocks.
    pub(crate) fn stocks(&self) -> usize {
        self.pourable.as_ref().map_or(0, |pourable| pourable.stocks.len())
    }

    /// Whether a row is a goal, and not the volume or a limit.
    pub(crate) fn is_goal(&self, i: usize) -> bool {
        (1..=self.forms.len()).contains(&i)
    }

    /// Coefficients of a row.
    pub(crate) fn row(&self, i: usize) -> &[f64] {
        &self.by_row[i * self.columns..(i + 1) * self.columns]
    }

    /// Coefficients of a stock or base water.
    pub(crate) fn column(&self, j: usize) -> &[f64] {
        let m = self.rows.len();
        &self.by_column[j * m..(j + 1) * m]
    }

    /// The ends of the range of a stock or base water, or of the segment that a row is in.
    pub(crate) fn ends(&self, j: usize, segment_of: impl Fn(usize) -> usize) -> (f64, f64) {
        match j.checked_sub(self.columns) {
            None => (0.0, self.upper[j]),
            Some(i) => {
                let segment = segment_of(i);
                (self.rows[i].breaks[segment], self.rows[i].breaks[segment + 1])
            }
        }
    }

    /// The value of a row.
    pub(crate) fn value(&self, i: usize, x: &[f64]) -> f64 {
        dot(self.row(i), x)
    }

    /// The stages in order; largest deviations are none of this program.
    pub(crate) fn stages(&self) -> impl Iterator<Item = StageCost<'_>> {
        let linear = self.linear.iter().map(|costs| StageCost::Linear(costs));
        [StageCost::Beyond, StageCost::Inside].into_iter().chain(linear)
    }

    /// The largest cost of a stage.
    pub(crate) fn largest_cost(&self, stage: StageCost<'_>) -> f64 {
        match stage {
            StageCost::Linear(costs) | StageCost::Blend(costs) => {
                costs.iter().fold(0.0, |most, c| most.max(c.abs()))
            }
            StageCost::Beyond | StageCost::Inside => self.largest_rate,
        }
    }
}

/// The segments of a goal row.
fn row_cost(row: &Row) -> RowCost {
    let (low, high) = (row.reference + row.slack_low, row.reference + row.slack_high);
    let breaks =
        [f64::NEG_INFINITY, low - row.tolerance, low, high, high + row.tolerance, f64::INFINITY];
    RowCost { breaks, rate: row.rate }
}

/// Forms are compared as they are stored: a form that differs at all is another matrix.
fn same_bits(a: &Form, b: &Form) -> bool {
    a.iter().zip(b).all(|(x, y)| x.to_bits() == y.to_bits())
}

/// `y += a·x`.
pub(crate) fn axpy(y: &mut [f64], a: f64, x: &[f64]) {
    for (y, x) in y.iter_mut().zip(x) {
        *y += a * x;
    }
}

/// The product of two rows, in four sums so that one addition need not wait for the one before.
pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (fours_a, fours_b) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = fours_a.remainder().iter().zip(fours_b.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in fours_a.zip(fours_b) {
        for (sum, (x, y)) in sums.iter_mut().zip(x.iter().zip(y)) {
            *sum += x * y;
        }
    }
    rest + ((sums[0] + sums[1]) + (sums[2] + sums[3]))
}
