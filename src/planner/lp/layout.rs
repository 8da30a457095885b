//! The columns and rows of the program with every deviation written out.

use crate::planner::lp::matrix::Matrix;
use crate::planner::lp::program::{HardRow, PourableColumns, Row};

/// Where each kind of column stands; the order is that of the program's documentation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Layout {
    pub(crate) stocks: usize,
    pub(crate) base: usize,
    pub(crate) rows: usize,
    /// Whether the largest miss has a column and a row per goal row.
    pub(crate) largest: bool,
    /// Rows that are kept whatever is missed.
    pub(crate) hard: usize,
}

/// Columns that belong to one goal row.
const PER_ROW: usize = 5;

impl Layout {
    pub(crate) fn share(self, k: usize) -> usize {
        self.stocks + k
    }

    /// The column of row 0 that is always 0: the start of a basis for the volume row.
    pub(crate) fn volume_gap(self) -> usize {
        self.stocks + self.base
    }

    fn of_row(self, i: usize) -> usize {
        self.volume_gap() + 1 + PER_ROW * i
    }

    pub(crate) fn under_inside(self, i: usize) -> usize {
        self.of_row(i)
    }

    pub(crate) fn over_inside(self, i: usize) -> usize {
        self.of_row(i) + 1
    }

    pub(crate) fn under_beyond(self, i: usize) -> usize {
        self.of_row(i) + 2
    }

    pub(crate) fn over_beyond(self, i: usize) -> usize {
        self.of_row(i) + 3
    }

    pub(crate) fn place_in_band(self, i: usize) -> usize {
        self.of_row(i) + 4
    }

    pub(crate) fn largest_miss(self) -> usize {
        self.of_row(self.rows)
    }

    pub(crate) fn below_largest(self, i: usize) -> usize {
        self.largest_miss() + 1 + i
    }

    /// What is left up to the limit of a hard row.
    pub(crate) fn spare(self, h: usize) -> usize {
        self.of_row(self.rows) + if self.largest { 1 + self.rows } else { 0 } + h
    }

    pub(crate) fn columns(self) -> usize {
        self.spare(self.hard)
    }

    /// Index of the row of goal row `i`; row 0 is the volume.
    pub(crate) fn goal_row(i: usize) -> usize {
        1 + i
    }

    /// Index of the row that holds goal row `i` below the largest miss.
    pub(crate) fn largest_row(self, i: usize) -> usize {
        1 + self.rows + i
    }

    /// Index of hard row `h`.
    pub(crate) fn hard_row(self, h: usize) -> usize {
        1 + self.rows + if self.largest { self.rows } else { 0 } + h
    }
}

/// The largest miss is counted in this, so that no coefficient of its column is below 1: a small
/// one would be a poor pivot.
pub(crate) fn highest_rate(rows: &[Row]) -> f64 {
    rows.iter().map(|row| row.rate).fold(f64::MIN_POSITIVE, f64::max)
}

/// The matrix of the program with every deviation as a column.
pub(crate) fn matrix(
    pourable: &PourableColumns,
    rows: &[Row],
    hard: &[HardRow],
    largest: bool,
) -> (Layout, Matrix) {
    let layout = Layout {
        stocks: pourable.stocks.len(),
        base: pourable.base.len(),
        rows: rows.len(),
        largest,
        hard: hard.len(),
    };
    let mut columns: Vec<Vec<(usize, f64)>> = vec![Vec::new(); layout.columns()];
    let mut add = |row: usize, j: usize, value: f64| {
        if let Some(column) = columns.get_mut(j).filter(|_| value != 0.0) {
            column.push((row, value));
        }
    };
    let row_of = |n: usize| match n.checked_sub(1 + rows.len()) {
        Some(h) => layout.hard_row(h),
        None => n,
    };
    for (n, coefficients) in pourable.coefficients(rows, hard).iter().enumerate() {
        for (j, value) in coefficients.iter().enumerate() {
            add(row_of(n), j, *value);
        }
    }
    add(0, layout.volume_gap(), 1.0);
    for (i, row) in rows.iter().enumerate() {
        let goal = Layout::goal_row(i);
        add(goal, layout.under_inside(i), 1.0);
        add(goal, layout.under_beyond(i), 1.0);
        add(goal, layout.over_inside(i), -1.0);
        add(goal, layout.over_beyond(i), -1.0);
        add(goal, layout.place_in_band(i), -1.0);
        if largest {
            // largest ≥ rate·(n2 + p2), divided by the rate so that coefficients stay near 1
            let of = layout.largest_row(i);
            add(of, layout.largest_miss(), highest_rate(rows) / row.rate);
            add(of, layout.under_beyond(i), -1.0);
            add(of, layout.over_beyond(i), -1.0);
            add(of, layout.below_largest(i), -1.0);
        }
    }
    for h in 0..hard.len() {
        add(layout.hard_row(h), layout.spare(h), 1.0);
    }
    let count = 1 + rows.len() * if largest { 2 } else { 1 } + hard.len();
    (layout, Matrix::new(count, columns))
}
