//! The sums behind the mixed model: groups within groups, so that no matrix of observations is met.
//!
//! Cells (a taster's cups of one water) lie within tasters. With n the cups of a cell, w = 1/(1+θ₂n),
//! s the sum of a cell's rows and, over a taster's cells, m = Σ nw, r = Σ ws, b = θ₁/(1+θ₁m), the
//! inverse of H acts on sums alone (Sherman J., Morrison W. J., Ann. Math. Statist. 21 (1950) 124):
//! A′H⁻¹A = A′A − Σ_cells θ₂w ss′ − Σ_tasters b rr′, where A = (X y). Cells of equal size share their
//! weights, so their sums of squares are taken once.

#![expect(
    clippy::indexing_slicing,
    reason = "fixed-size numeric kernels: every index comes from the sizes the tables were made with"
)]

use nalgebra::{Cholesky, DMatrix, DVector};

use crate::chance::count;

use super::reml::{Curves, NoFit};

/// Random terms: tasters, and tasters by waters.
pub(super) const TERMS: usize = 2;

/// Share of the total sum of squares that counts as none. Our choice: rounding of scores with
/// fifteen digits leaves 1e-28; a real disagreement of one step leaves more than 1e-9.
const NOTHING: f64 = 1e-18;

/// The data, summed up.
pub(super) struct Nested {
    observations: usize,
    /// Columns of X.
    parameters: usize,
    /// A′A.
    whole: DMatrix<f64>,
    total: f64,
    /// Cells by their number of cups.
    sizes: Vec<Size>,
    tasters: usize,
}

/// All cells with the same number of cups.
struct Size {
    /// Cups of a cell.
    cups: f64,
    /// Σ ss′ over the cells.
    squares: DMatrix<f64>,
    /// Number of cells of each taster.
    cells: DVector<f64>,
    /// Σ s over each taster's cells, a row for each taster.
    sums: DMatrix<f64>,
}

/// The model at given ratios.
pub(super) struct State {
    pub(super) theta: DVector<f64>,
    pub(super) criterion: f64,
    /// Residual variance.
    pub(super) variance: f64,
    pub(super) beta: DVector<f64>,
    /// (X′H⁻¹X)⁻¹.
    pub(super) cov: DMatrix<f64>,
    /// r of each taster, a row for each.
    r: DMatrix<f64>,
    /// m of each taster.
    m: DVector<f64>,
}

impl Nested {
    /// Sums data up: the rows of X by their entries that are not zero, of `parameters` columns,
    /// each with its score, taster and cell.
    pub(super) fn new(
        rows: &[Vec<(usize, f64)>],
        parameters: usize,
        y: &[f64],
        taster: &[usize],
        cell: &[usize],
    ) -> Self {
        let (n, p) = (rows.len(), parameters);
        // Scores are centred at their mean: it is in the column space of X, and digits are saved.
        let centre = y.iter().sum::<f64>() / count(n.max(1));
        let (tasters, owner) = numbered(taster);
        let (cells, place) = numbered(cell);
        let mut whole: DMatrix<f64> = DMatrix::zeros(p + 1, p + 1);
        let mut sums: DMatrix<f64> = DMatrix::zeros(p + 1, cells);
        let mut cups = vec![0; cells];
        let mut of = vec![0; cells];
        for (row, entries) in rows.iter().enumerate() {
            let c = place[row];
            cups[c] += 1;
            of[c] = owner[row];
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
                let mut by_taster = DMatrix::zeros(tasters, p + 1);
                let mut number = DVector::zeros(tasters);
                for c in (0..cells).filter(|&c| cups[c] == size) {
                    let filled: Vec<(usize, f64)> =
                        (0..=p).map(|i| (i, sums[(i, c)])).filter(|(_, s)| *s != 0.0).collect();
                    for &(i, a) in &filled {
                        by_taster[(of[c], i)] += a;
                        for &(j, b) in &filled {
                            squares[(i, j)] += a * b;
                        }
                    }
                    number[of[c]] += 1.0;
                }
                Size { cups: count(size), squares, cells: number, sums: by_taster }
            })
            .collect();
        let total = whole[(p, p)];
        Self { observations: n, parameters: p, whole, total, sizes, tasters }
    }

    /// Degrees of freedom left by the fixed part.
    pub(super) fn spare(&self) -> usize {
        self.observations.saturating_sub(self.parameters)
    }

    /// Everything at given ratios.
    pub(super) fn at(&self, theta: &DVector<f64>) -> Result<State, NoFit> {
        let (one, two) = (theta[0], theta[1]);
        let p = self.parameters;
        let mut left = self.whole.clone();
        let mut r = DMatrix::zeros(self.tasters, p + 1);
        let mut m = DVector::zeros(self.tasters);
        let mut log_h = 0.0;
        for size in &self.sizes {
            let w = 1.0 / (1.0 + two * size.cups);
            left -= &size.squares * (two * w);
            r += &size.sums * w;
            m += &size.cells * (size.cups * w);
            log_h -= size.cells.sum() * w.ln();
        }
        let grown = m.map(|m| 1.0 + one * m);
        log_h += grown.iter().map(|g| g.ln()).sum::<f64>();
        left -= weighted(&r, &grown.map(|g| one / g));
        let solved = Cholesky::new(left.view((0, 0), (p, p)).into_owned()).ok_or(NoFit::Aliased)?;
        let xy = left.view((0, p), (p, 1)).column(0).into_owned();
        let beta = solved.solve(&xy);
        let residual = left[(p, p)] - xy.dot(&beta);
        if residual <= NOTHING * self.total || self.total <= 0.0 {
            return Err(NoFit::NoNoise);
        }
        let spare = count(self.spare());
        let variance = residual / spare;
        let log_xx: f64 = solved.l_dirty().diagonal().iter().map(|d| 2.0 * d.ln()).sum();
        let criterion = spare * (1.0 + (std::f64::consts::TAU * variance).ln()) + log_h + log_xx;
        Ok(State { theta: theta.clone(), criterion, variance, beta, cov: solved.inverse(), r, m })
    }

    /// First and second derivatives in the ratios, at unit residual variance.
    ///
    /// With d = 1/(1+θ₁m) the rows of Z′H⁻¹A are dr for a taster and w(s − nbr) for a cell; with
    /// f = nw, Z′H⁻¹Z holds md for a taster, fd between it and its cells, f − bf² for a cell and
    /// −bff′ between two of them. Only sums of these over a taster's cells are ever needed, and
    /// g = Σ fw(s − nbr)/w is one of them.
    pub(super) fn curves(&self, state: &State) -> Curves {
        let (one, two, p) = (state.theta[0], state.theta[1], self.parameters);
        let State { r, m, cov, .. } = state;
        let d = m.map(|m| 1.0 / (1.0 + one * m));
        let b = &d * one;
        // Sums over a taster's cells of f², f³, and g.
        let mut f2 = DVector::zeros(self.tasters);
        let mut f3 = DVector::zeros(self.tasters);
        let mut g: DMatrix<f64> = DMatrix::zeros(self.tasters, p + 1);
        for size in &self.sizes {
            let w = 1.0 / (1.0 + two * size.cups);
            let f = size.cups * w;
            f2 += &size.cells * (f * f);
            f3 += &size.cells * (f * f * f);
            g += &size.sums * (f * w);
        }
        g -= scaled(r, &b.component_mul(&f2));
        // Σ TT′ over tasters, over cells, and over cells weighted by f.
        let outer_one = weighted(r, &d.component_mul(&d));
        let mut outer_two: DMatrix<f64> = DMatrix::zeros(p + 1, p + 1);
        let mut outer_f: DMatrix<f64> = DMatrix::zeros(p + 1, p + 1);
        for size in &self.sizes {
            let w = 1.0 / (1.0 + two * size.cups);
            let f = size.cups * w;
            let nb = &b * size.cups;
            let across = size.sums.tr_mul(&scaled(r, &nb));
            let own = weighted(r, &nb.component_mul(&nb).component_mul(&size.cells));
            let outer = (&size.squares - &across - across.transpose() + own) * (w * w);
            outer_f += &outer * f;
            outer_two += outer;
        }
        // (−β, 1) turns A into what is left of y.
        let mut rest = state.beta.clone().insert_row(p, -1.0);
        rest.neg_mut();
        let (r_rest, g_rest) = (r * &rest, &g * &rest);
        let (rx, gx) = (r.columns(0, p), g.columns(0, p));
        let rc = rx * cov;
        let along = |a: &DMatrix<f64>, j: usize| rc.row(j).dot(&a.row(j).columns(0, p));
        let cg = gx * cov;
        let inner = |outer: &DMatrix<f64>| outer.view((0, 0), (p, p)).into_owned();
        let (x_one, x_two) = (inner(&outer_one), inner(&outer_two));
        let (turned_one, turned_two) = (cov * &x_one, cov * &x_two);
        let lean = |outer: &DMatrix<f64>| (outer * &rest).rows(0, p).into_owned();
        let (lean_one, lean_two) = (lean(&outer_one), lean(&outer_two));
        let both = |a: &DMatrix<f64>, b: &DMatrix<f64>| a.dot(&b.transpose());
        let of_rest = |outer: &DMatrix<f64>| rest.dot(&(outer * &rest));
        let (mut t11, mut t12, mut t22) = (0.0, 0.0, 0.0);
        let (mut q11, mut q12, mut q22) = (0.0, 0.0, 0.0);
        let (mut trace_one, mut trace_two) = (0.0, 0.0);
        for j in 0..self.tasters {
            let (dj, bj, s) = (d[j], b[j], m[j] * d[j]);
            let rr = along(r, j);
            trace_one += s - dj * dj * rr;
            trace_two += m[j] - bj * f2[j];
            t11 += s * s - 2.0 * s * dj * dj * rr;
            t12 += dj * dj * (f2[j] - 2.0 * along(&g, j));
            t22 += f2[j] - 2.0 * bj * f3[j]
                + (bj * f2[j]).powi(2)
                + 2.0 * bj * cg.row(j).dot(&gx.row(j));
            let own = dj * r_rest[j];
            q11 += s * own * own;
            q12 += own * dj * g_rest[j];
            q22 -= bj * g_rest[j] * g_rest[j];
        }
        trace_two -= turned_two.trace();
        t11 += both(&turned_one, &turned_one);
        t12 += both(&turned_one, &turned_two);
        t22 += both(&turned_two, &turned_two) - 2.0 * (cov * inner(&outer_f)).trace();
        q11 -= lean_one.dot(&(cov * &lean_one));
        q12 -= lean_one.dot(&(cov * &lean_two));
        q22 += of_rest(&outer_f) - lean_two.dot(&(cov * &lean_two));
        Curves {
            trace: DVector::from_vec(vec![trace_one, trace_two]),
            quad: DVector::from_vec(vec![of_rest(&outer_one), of_rest(&outer_two)]),
            traces: DMatrix::from_row_slice(TERMS, TERMS, &[t11, t12, t12, t22]),
            quads: DMatrix::from_row_slice(TERMS, TERMS, &[q11, q12, q12, q22]),
            bends: vec![turned_one * cov, turned_two * cov],
        }
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

/// Rows times weights.
fn scaled(rows: &DMatrix<f64>, weights: &DVector<f64>) -> DMatrix<f64> {
    let mut scaled = rows.clone();
    for mut column in scaled.column_iter_mut() {
        column.component_mul_assign(weights);
    }
    scaled
}

/// Σ weight · row′row.
fn weighted(rows: &DMatrix<f64>, weights: &DVector<f64>) -> DMatrix<f64> {
    rows.tr_mul(&scaled(rows, weights))
}
