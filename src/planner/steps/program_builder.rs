//! Rows and columns of a stage under construction.
#![expect(clippy::indexing_slicing, reason = "indices run over stocks and rows of one statement")]

use crate::planner::steps::cap_margin::CapMargin;
use crate::planner::steps::tableau::Columns;

/// Columns under construction.
pub(super) struct Builder {
    pub(super) program: Columns,
    /// Entries by column: row, value.
    pub(super) entries: Vec<Vec<(usize, f64)>>,
    pub(super) cap_margins: Vec<CapMargin>,
    pub(super) rows: usize,
}

impl Builder {
    pub(super) fn column(
        &mut self,
        lower: f64,
        upper: f64,
        cost: f64,
        entries: &[(usize, f64)],
    ) -> usize {
        self.program.lower.push(lower);
        self.program.upper.push(upper);
        self.program.costs.push(cost);
        self.entries.push(entries.to_vec());
        self.entries.len() - 1
    }

    pub(super) fn row(&mut self, rhs: f64) -> usize {
        self.program.rhs.push(rhs);
        self.program.first.push(None);
        self.rows += 1;
        self.rows - 1
    }

    /// A row `Σ entries + rest = most` with `0 ≤ rest ≤ room`, numbers brought near 1.
    pub(super) fn at_most(&mut self, entries: &[(usize, f64)], most: f64, room: f64) -> usize {
        let largest = entries.iter().fold(most.abs(), |size, (_, v)| size.max(v.abs()));
        let scale = 1.0 / near_one(largest);
        let row = self.row(most * scale);
        for (j, v) in entries {
            self.entries[*j].push((row, v * scale));
        }
        let rest = self.column(0.0, room * scale, 0.0, &[(row, 1.0)]);
        self.program.first[row] = Some((rest, 1.0));
        rest
    }

    /// The largest and the least value of a row over the bounds of its columns.
    pub(super) fn range(&self, coefficients: &[f64]) -> (f64, f64) {
        let (mut low, mut high) = (0.0, 0.0);
        for (j, c) in coefficients.iter().enumerate().filter(|(_, c)| **c != 0.0) {
            let ends = [c * self.program.lower[j], c * self.program.upper[j]];
            low += ends[0].min(ends[1]);
            high += ends[0].max(ends[1]);
        }
        (low, high)
    }

    pub(super) fn finish(mut self) -> Self {
        // An equality has a column of its own for the first basis, which never takes a value.
        for row in 0..self.rows {
            if self.program.first[row].is_none() {
                let gap = self.column(0.0, 0.0, 0.0, &[(row, 1.0)]);
                self.program.first[row] = Some((gap, 1.0));
            }
        }
        let n = self.entries.len();
        self.program.rows = vec![vec![0.0; n]; self.rows];
        for (j, entries) in self.entries.iter().enumerate() {
            for (i, v) in entries {
                self.program.rows[*i][j] += *v;
            }
        }
        self
    }
}

/// A bound that is there to be finite and must never bind.
pub(super) fn loosely(size: f64) -> f64 {
    1.0 + 2.0 * size.max(0.0)
}

/// The power of two next to a number: multiplying by it rounds nothing.
pub(super) fn near_one(size: f64) -> f64 {
    if size > 0.0 && size.is_finite() { size.log2().round().exp2() } else { 1.0 }
}
