//! The sums behind the mixed model: cups within cells, so that no matrix of observations is met.
//!
//! A cell is a taster's cups of one water. With n the cups of a cell, w = 1/(1+θn) and s the sum of a
//! cell's rows, the inverse of H acts on sums alone (Sherman J., Morrison W. J., Ann. Math. Statist. 21
//! (1950) 124): A′H⁻¹A = A′A − Σ_cells θw ss′, where A = (X y). Cells of equal size share their weights,
//! so their sums of squares are taken once.

#![expect(
    clippy::indexing_slicing,
    reason = "fixed-size numeric kernels: every index comes from the sizes the tables were made with"
)]

use nalgebra::{Cholesky, DMatrix};

use crate::numerics::count;

use crate::session::analysis::MixedError;
use crate::session::analysis::criterion::{CriterionDerivatives, State};

/// Share of the total sum of squares that counts as none. Our choice: rounding of scores with
/// fifteen digits leaves 1e-28; a real disagreement of one step leaves more than 1e-9.
const NEGLIGIBLE: f64 = 1e-18;

/// The data, summed up.
pub(crate) struct Nested {
    observations: usize,
    /// Columns of X.
    parameters: usize,
    /// A′A.
    whole: DMatrix<f64>,
    total: f64,
    /// Cells by their number of cups.
    sizes: Vec<Size>,
}

/// All cells with the same number of cups.
struct Size {
    /// Cups of a cell.
    cups: f64,
    /// Number of such cells.
    cells: f64,
    /// Σ ss′ over the cells.
    squares: DMatrix<f64>,
}

impl Nested {
    /// Sums data up: the rows of X by their entries that are not zero, of `parameters` columns,
    /// each with its score and cell.
    pub(crate) fn new(
        rows: &[Vec<(usize, f64)>],
        parameters: usize,
        y: &[f64],
        cell: &[usize],
    ) -> Self {
        let (n, p) = (rows.len(), parameters);
        // Scores are centred at their mean: it is in the column space of X, and digits are saved.
        let centre = y.iter().sum::<f64>() / count(n.max(1));
        let (cells, place) = numbered(cell);
        let mut whole: DMatrix<f64> = DMatrix::zeros(p + 1, p + 1);
        let mut sums: DMatrix<f64> = DMatrix::zeros(p + 1, cells);
        let mut cups = vec![0; cells];
        for (row, entries) in rows.iter().enumerate() {
            let c = place[row];
            cups[c] += 1;
            let score = [(p, y[row] - centre)];
            for &(i, a) in entries.iter().chain(&score) {
                sums[(i, c)] += a;
                for &(j, b) in entries.iter().chain(&score) {
                    whole[(i, j)] += a * b;
                }
            }
        }
        let mut different = cups.clone();
        different.sort_unstable();
        different.dedup();
        let sizes = different
            .into_iter()
            .map(|size| {
                let mut squares = DMatrix::zeros(p + 1, p + 1);
                let mut number = 0;
                for c in (0..cells).filter(|&c| cups[c] == size) {
                    let filled: Vec<(usize, f64)> =
                        (0..=p).map(|i| (i, sums[(i, c)])).filter(|(_, s)| *s != 0.0).collect();
                    for &(i, a) in &filled {
                        for &(j, b) in &filled {
                            squares[(i, j)] += a * b;
                        }
                    }
                    number += 1;
                }
                Size { cups: count(size), cells: count(number), squares }
            })
            .collect();
        let total = whole[(p, p)];
        Self { observations: n, parameters: p, whole, total, sizes }
    }

    /// Degrees of freedom left by the fixed part.
    pub(crate) fn spare(&self) -> usize {
        self.observations.saturating_sub(self.parameters)
    }

    /// Degrees of freedom of cells that the fixed part leaves: what tasters by waters is seen by.
    pub(crate) fn spare_cells(&self) -> f64 {
        self.sizes.iter().map(|size| size.cells).sum::<f64>() - count(self.parameters)
    }

    /// Below this ratio H is no covariance: θ > −1/n for the largest cell.
    pub(crate) fn floor(&self) -> f64 {
        -1.0 / self.sizes.iter().map(|size| size.cups).fold(1.0, f64::max)
    }

    /// Everything at a given ratio.
    pub(crate) fn at(&self, theta: f64) -> Result<State, MixedError> {
        let p = self.parameters;
        let mut left = self.whole.clone();
        let mut log_h = 0.0;
        for size in self.sizes.iter().filter(|_| theta != 0.0) {
            let grown = 1.0 + theta * size.cups;
            left -= &size.squares * (theta / grown);
            log_h += size.cells * grown.ln();
        }
        let solved = Cholesky::new(left.view((0, 0), (p, p)).into_owned())
            .ok_or(MixedError::NotSeparable)?;
        let xy = left.view((0, p), (p, 1)).column(0).into_owned();
        let beta = solved.solve(&xy);
        let residual = left[(p, p)] - xy.dot(&beta);
        if residual <= NEGLIGIBLE * self.total || self.total <= 0.0 {
            return Err(MixedError::NoResidual);
        }
        let spare = count(self.spare());
        let variance = residual / spare;
        let log_xx: f64 = solved.l_dirty().diagonal().iter().map(|d| 2.0 * d.ln()).sum();
        let criterion = spare * (1.0 + (std::f64::consts::TAU * variance).ln()) + log_h + log_xx;
        Ok(State { theta, criterion, variance, beta, cov: solved.inverse() })
    }

    /// First and second derivatives in the ratio, at unit residual variance. Z′H⁻¹A holds ws for a
    /// cell and Z′H⁻¹Z holds f = nw on its diagonal.
    pub(crate) fn curves(&self, state: &State) -> CriterionDerivatives {
        let (p, cov) = (self.parameters, &state.cov);
        let (mut sum_f, mut sum_f2) = (0.0, 0.0);
        let mut outer: DMatrix<f64> = DMatrix::zeros(p + 1, p + 1);
        let mut outer_f: DMatrix<f64> = DMatrix::zeros(p + 1, p + 1);
        for size in &self.sizes {
            let w = 1.0 / (1.0 + state.theta * size.cups);
            let f = size.cups * w;
            sum_f += size.cells * f;
            sum_f2 += size.cells * f * f;
            outer += &size.squares * (w * w);
            outer_f += &size.squares * (w * w * f);
        }
        // (−β, 1) turns A into what is left of y.
        let mut rest = state.beta.clone().insert_row(p, -1.0);
        rest.neg_mut();
        let inner = |of: &DMatrix<f64>| of.view((0, 0), (p, p)).into_owned();
        let of_rest = |of: &DMatrix<f64>| rest.dot(&(of * &rest));
        let turned = cov * inner(&outer);
        let lean = (&outer * &rest).rows(0, p).into_owned();
        CriterionDerivatives {
            trace: sum_f - turned.trace(),
            quad: of_rest(&outer),
            // Both are symmetric: the trace of their product is the sum of the products of their entries.
            traces: sum_f2 - 2.0 * cov.dot(&inner(&outer_f)) + turned.tr_dot(&turned),
            quads: of_rest(&outer_f) - lean.dot(&(cov * &lean)),
        }
    }

    /// C X′H⁻¹KH⁻¹X C, with K = ZZ′ and C the covariance of the effects at unit residual variance.
    pub(crate) fn bend(&self, state: &State) -> DMatrix<f64> {
        let p = self.parameters;
        let mut outer: DMatrix<f64> = DMatrix::zeros(p, p);
        for size in &self.sizes {
            let w = 1.0 / (1.0 + state.theta * size.cups);
            outer += size.squares.view((0, 0), (p, p)) * (w * w);
        }
        &state.cov * outer * &state.cov
    }
}

/// Numbers labels 0, 1, … in the order of their first appearance.
fn numbered(labels: &[usize]) -> (usize, Vec<usize>) {
    let mut seen = std::collections::BTreeMap::new();
    let places = labels
        .iter()
        .map(|label| {
            let next = seen.len();
            *seen.entry(*label).or_insert(next)
        })
        .collect();
    (seen.len(), places)
}
