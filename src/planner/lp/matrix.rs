//! The numbers that a solver works on: matrix, bounds, objectives.
#![expect(clippy::indexing_slicing, reason = "indices run over rows and columns of one program")]

use std::cmp::Ordering;

use crate::planner::lp::real::Real;

/// A sparse matrix by columns.
#[derive(Debug, Clone, Default)]
pub(crate) struct Matrix {
    rows: usize,
    columns: Vec<Vec<(usize, f64)>>,
}

impl Matrix {
    pub(crate) fn new(rows: usize, columns: Vec<Vec<(usize, f64)>>) -> Self {
        Self { rows, columns }
    }

    pub(crate) fn rows(&self) -> usize {
        self.rows
    }

    pub(crate) fn columns(&self) -> usize {
        self.columns.len()
    }

    /// The entries of a column that differ from zero.
    pub(crate) fn column(&self, j: usize) -> &[(usize, f64)] {
        &self.columns[j]
    }

    /// All columns in order.
    pub(crate) fn iter(&self) -> impl Iterator<Item = &[(usize, f64)]> {
        self.columns.iter().map(Vec::as_slice)
    }
}

/// The numbers of one program beside its matrix.
#[derive(Debug, Clone, Default)]
pub(crate) struct Numbers {
    pub(crate) lower: Vec<f64>,
    pub(crate) upper: Vec<f64>,
    pub(crate) rhs: Vec<f64>,
}

/// An objective to be made least.
#[derive(Debug, Clone, Default)]
pub(crate) struct Objective {
    costs: Vec<f64>,
    /// The columns that cost anything.
    columns: Vec<usize>,
    largest: f64,
}

impl Objective {
    /// Begins anew: nothing costs anything.
    pub(crate) fn clear(&mut self, columns: usize) {
        self.costs.clear();
        self.costs.resize(columns, 0.0);
        self.columns.clear();
        self.largest = 0.0;
    }

    pub(crate) fn set(&mut self, j: usize, cost: f64) {
        if cost != 0.0 {
            self.costs[j] = cost;
            self.columns.push(j);
            self.largest = self.largest.max(cost.abs());
        }
    }

    /// Cost of every column.
    pub(crate) fn costs(&self) -> &[f64] {
        &self.costs
    }

    /// The largest cost there is.
    pub(crate) fn largest(&self) -> f64 {
        self.largest
    }

    /// The objective of these values.
    pub(crate) fn value(&self, values: &[f64]) -> f64 {
        self.columns.iter().map(|j| self.costs[*j] * values[*j]).sum()
    }
}

/// Our choice: a value out of its bounds by no more is there by rounding. Columns are shares and meq/L.
const BOUND_ROUNDING: f64 = 1e-9;

/// Our choice: a value within its bounds that is nearer to one stands at it. No dispenser and no meter
/// knows of so little, but a ratio of two such amounts would be any number.
const AT_BOUND: f64 = 1e-12;

/// A value that rounding alone has carried out of its bounds, or a hair's breadth into them, put back to
/// them; what is further out is left for the recheck to find.
pub(crate) fn without_rounding(value: f64, lower: f64, upper: f64) -> f64 {
    if value < lower + AT_BOUND && value > lower - BOUND_ROUNDING {
        lower
    } else if value > upper - AT_BOUND && value < upper + BOUND_ROUNDING {
        upper
    } else {
        value
    }
}

/// Inverse of a dense matrix by rows, by Gauss–Jordan elimination with partial pivoting; `None`
/// when a pivot is not above `least`.
pub(crate) fn invert<R: Real>(mut a: Vec<R>, m: usize, least: R) -> Option<Vec<R>> {
    let mut inverse = vec![R::from(0.0); m * m];
    for i in 0..m {
        inverse[i * m + i] = R::from(1.0);
    }
    for k in 0..m {
        let size = |row: usize| a[row * m + k].abs();
        let pivot = (k..m).reduce(|p, q| if size(q) >= size(p) { q } else { p })?;
        // Not a number is above nothing.
        if size(pivot).partial_cmp(&least) != Some(Ordering::Greater) {
            return None;
        }
        for c in 0..m {
            a.swap(k * m + c, pivot * m + c);
            inverse.swap(k * m + c, pivot * m + c);
        }
        let scale = R::from(1.0) / a[k * m + k];
        for c in 0..m {
            a[k * m + c] = a[k * m + c] * scale;
            inverse[k * m + c] = inverse[k * m + c] * scale;
        }
        for r in (0..m).filter(|r| *r != k) {
            let factor = a[r * m + k];
            if factor == R::from(0.0) {
                continue;
            }
            for c in 0..m {
                let (of_a, of_inverse) = (a[k * m + c], inverse[k * m + c]);
                a[r * m + c] -= factor * of_a;
                inverse[r * m + c] -= factor * of_inverse;
            }
        }
    }
    Some(inverse)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inverse_undoes_its_matrix() {
        let a = vec![0.0, 2.0, 1.0, 1.0, 0.0, 3.0, 4.0, 1.0, 0.0];
        let inverse = invert(a.clone(), 3, 1e-12).unwrap_or_default();
        for r in 0..3 {
            for c in 0..3 {
                let product: f64 = (0..3).map(|k| a[r * 3 + k] * inverse[k * 3 + c]).sum();
                let unit = if r == c { 1.0 } else { 0.0 };
                assert!((product - unit).abs() < 1e-14);
            }
        }
        assert_eq!(invert(vec![1.0, 2.0, 2.0, 4.0], 2, 1e-12), None);
    }
}
