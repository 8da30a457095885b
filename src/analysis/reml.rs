//! Restricted maximum likelihood for scores that belong to tasters.
//!
//! Model: y = Xβ + Σᵢ Zᵢuᵢ + e, uᵢ ~ N(0, σᵢ²I), e ~ N(0, σ²I), every Zᵢ marking groups of rows that
//! lie within one taster. With H = I + Σ θᵢZᵢZᵢ′, θᵢ = σᵢ²/σ², the criterion is
//! (n−p)(1 + ln 2πσ̂²) + ln|H| + ln|X′H⁻¹X| (Patterson H. D., Thompson R., Biometrika 58 (1971) 545).
//! H falls into one block for each taster, so all sums run over tasters.

#![expect(
    clippy::indexing_slicing,
    reason = "fixed-size numeric kernels: every index comes from the sizes the tables were made with"
)]

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use crate::chance::count;

use super::reml_fit::Fit;

/// Newton steps allowed. Our choice: quadratic convergence takes about ten; more means that the
/// surface is flat, and a flat surface is reported.
const STEPS: usize = 100;

/// Halvings of a step. Our choice: 2⁻⁴⁰ of a step changes no digit.
const HALVINGS: usize = 40;

/// Gain of the criterion that a further Newton step may still promise. Our choice: 1e-13 is
/// beyond what the criterion itself can resolve.
const SETTLED: f64 = 1e-13;

/// Largest variance ratio looked for. Our choice: there the noise of a cup is a ten-thousandth of
/// the component's spread, and scores given in steps cannot show less noise than that but none.
const CEILING: f64 = 1e8;

/// Share of the total sum of squares that counts as none. Our choice: rounding of scores with
/// fifteen digits leaves 1e-28; a real disagreement of one step leaves more than 1e-9.
const NOTHING: f64 = 1e-18;

/// Ratios from which the search starts. Our choice: one start below and one above the usual ratios,
/// since the surface may have two hollows when cups are missing.
const STARTS: [f64; 2] = [0.2, 3.0];

/// A model to be fitted.
pub(super) struct Problem {
    observations: usize,
    parameters: usize,
    terms: usize,
    xx: DMatrix<f64>,
    xy: DVector<f64>,
    yy: f64,
    total: f64,
    blocks: Vec<Block>,
}

/// One taster's groups: sums of X and y over the rows of each group.
struct Block {
    term_of: Vec<usize>,
    zz: DMatrix<f64>,
    zx: DMatrix<f64>,
    zy: DVector<f64>,
}

/// Why there is no fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoFit {
    /// No more rows than parameters.
    TooFewRows,
    /// The columns of X cannot be told apart.
    Aliased,
    /// Nothing is left unexplained, so there is no noise to judge by.
    NoNoise,
    /// The search did not settle.
    NotSettled,
}

impl Problem {
    /// Sums a model up. `x` holds a row for each observation, `taster` its taster and `groups` for
    /// each random term the group of each observation; groups must not reach over tasters.
    pub(super) fn new(
        x: &DMatrix<f64>,
        y: &[f64],
        taster: &[usize],
        groups: &[Vec<usize>],
    ) -> Self {
        let (n, p) = x.shape();
        // Scores are centred at their mean: it is in the column space of X, and digits are saved.
        let centre = y.iter().sum::<f64>() / count(n.max(1));
        let y = DVector::from_iterator(n, y.iter().map(|v| v - centre));
        let tasters = taster.iter().max().map_or(0, |most| most + 1);
        let mut rows_of = vec![Vec::new(); tasters];
        for (row, &t) in taster.iter().enumerate() {
            if let Some(rows) = rows_of.get_mut(t) {
                rows.push(row);
            }
        }
        let blocks = rows_of
            .iter()
            .filter(|rows| !rows.is_empty())
            .map(|rows| Block::new(x, &y, rows, groups))
            .collect();
        Self {
            observations: n,
            parameters: p,
            terms: groups.len(),
            xx: x.tr_mul(x),
            xy: x.tr_mul(&y),
            yy: y.norm_squared(),
            total: y.norm_squared(),
            blocks,
        }
    }

    /// Degrees of freedom left by the fixed part.
    pub(super) fn spare(&self) -> usize {
        self.observations.saturating_sub(self.parameters)
    }

    /// Fits the model.
    pub(super) fn fit(&self) -> Result<Fit, NoFit> {
        if self.spare() == 0 {
            return Err(NoFit::TooFewRows);
        }
        let starts = if self.terms == 0 { &STARTS[..1] } else { &STARTS[..] };
        let mut best: Option<(DVector<f64>, f64)> = None;
        let mut failure = NoFit::NotSettled;
        for &start in starts {
            match self.search(DVector::from_element(self.terms, start)) {
                Ok(found) if best.as_ref().is_none_or(|(_, least)| found.1 < *least) => {
                    best = Some(found);
                }
                Ok(_) => {}
                Err(reason) => failure = reason,
            }
        }
        let (theta, _) = best.ok_or(failure)?;
        let state = self.at(&theta)?;
        let curves = self.curves(&state);
        Ok(Fit::new(state, curves, count(self.spare())))
    }

    /// Projected Newton steps from a start; returns the ratios and the criterion.
    fn search(&self, start: DVector<f64>) -> Result<(DVector<f64>, f64), NoFit> {
        let mut state = self.at(&start)?;
        if self.terms == 0 {
            return Ok((start, state.criterion));
        }
        for _ in 0..STEPS {
            let curves = self.curves(&state);
            let gradient = curves.gradient(&state);
            let free: Vec<usize> = (0..self.terms)
                .filter(|&i| {
                    let (at, slope) = (state.theta[i], gradient[i]);
                    !(at <= 0.0 && slope >= 0.0 || at >= CEILING && slope <= 0.0)
                })
                .collect();
            let step = curves.newton(&state, &gradient, &free, count(self.spare()));
            let promise: f64 = free.iter().map(|&i| -gradient[i] * step[i]).sum();
            if free.is_empty() {
                return Ok((state.theta, state.criterion));
            }
            if promise < SETTLED {
                // The criterion no longer tells points apart; the last step doubles the digits.
                let theta = (&state.theta + step).map(|ratio| ratio.clamp(0.0, CEILING));
                return Ok((theta, state.criterion));
            }
            match self.better(&state, &step)? {
                Some(next) => state = next,
                None => return Ok((state.theta, state.criterion)),
            }
        }
        Err(NoFit::NotSettled)
    }

    /// The first of the halved steps that lowers the criterion; `None` when none does.
    fn better(&self, from: &State, step: &DVector<f64>) -> Result<Option<State>, NoFit> {
        let mut share = 1.0;
        for _ in 0..HALVINGS {
            let theta = (&from.theta + step * share).map(|ratio| ratio.clamp(0.0, CEILING));
            let next = self.at(&theta)?;
            if next.criterion < from.criterion {
                return Ok(Some(next));
            }
            share /= 2.0;
        }
        Ok(None)
    }

    /// Everything at given ratios.
    fn at(&self, theta: &DVector<f64>) -> Result<State, NoFit> {
        let mut xx = self.xx.clone();
        let mut xy = self.xy.clone();
        let mut yy = self.yy;
        let mut log_h = 0.0;
        let mut parts = Vec::with_capacity(self.blocks.len());
        for block in &self.blocks {
            let (part, log_block) = block.at(theta).ok_or(NoFit::Aliased)?;
            xx -= part.half_x.tr_mul(&part.half_x);
            xy -= part.half_x.tr_mul(&part.half_y);
            yy -= part.half_y.norm_squared();
            log_h += log_block;
            parts.push(part);
        }
        let solved = Cholesky::new(xx).ok_or(NoFit::Aliased)?;
        let beta = solved.solve(&xy);
        let residual = yy - xy.dot(&beta);
        if residual <= NOTHING * self.total || self.total <= 0.0 {
            return Err(NoFit::NoNoise);
        }
        let spare = count(self.spare());
        let variance = residual / spare;
        let log_xx: f64 = solved.l_dirty().diagonal().iter().map(|d| 2.0 * d.ln()).sum();
        let criterion = spare * (1.0 + (std::f64::consts::TAU * variance).ln()) + log_h + log_xx;
        Ok(State { theta: theta.clone(), criterion, variance, beta, cov: solved.inverse(), parts })
    }

    /// First and second derivatives in the ratios, at unit residual variance.
    fn curves(&self, state: &State) -> Curves {
        let (m, p) = (self.terms, self.parameters);
        let mut trace = DVector::zeros(m);
        let mut quad = DVector::zeros(m);
        let mut traces = DMatrix::zeros(m, m);
        let mut quads = DMatrix::zeros(m, m);
        let mut spread = vec![DMatrix::zeros(p, p); m];
        let mut lean = vec![DVector::zeros(p); m];
        for (block, part) in self.blocks.iter().zip(&state.parts) {
            let term_of = &block.term_of;
            let tc = &part.tx * &state.cov;
            let seen = &tc * part.tx.transpose();
            let own = &part.sz - &seen;
            let u = &part.ty - &part.tx * &state.beta;
            let groups = term_of.len();
            for a in 0..groups {
                let i = term_of[a];
                trace[i] += own[(a, a)];
                quad[i] += u[a] * u[a];
                lean[i].axpy(u[a], &part.tx.row(a).transpose(), 1.0);
                for b in 0..groups {
                    let l = term_of[b];
                    let s = part.sz[(a, b)];
                    traces[(i, l)] += s * (s - 2.0 * seen[(a, b)]);
                    quads[(i, l)] += u[a] * s * u[b];
                }
            }
            for (i, sum) in spread.iter_mut().enumerate() {
                let rows: Vec<usize> = (0..groups).filter(|&a| term_of[a] == i).collect();
                let picked = part.tx.select_rows(&rows);
                sum.gemm_tr(1.0, &picked, &picked, 1.0);
            }
        }
        let turned: Vec<DMatrix<f64>> = spread.iter().map(|b| &state.cov * b).collect();
        for i in 0..m {
            for l in 0..m {
                traces[(i, l)] += turned[i].dot(&turned[l].transpose());
                quads[(i, l)] -= lean[i].dot(&(&state.cov * &lean[l]));
            }
        }
        let bends = turned.iter().map(|b| b * &state.cov).collect();
        Curves { trace, quad, traces, quads, bends }
    }
}

impl Block {
    fn new(x: &DMatrix<f64>, y: &DVector<f64>, rows: &[usize], groups: &[Vec<usize>]) -> Self {
        let mut term_of = Vec::new();
        let mut members: Vec<Vec<usize>> = Vec::new();
        for (term, group) in groups.iter().enumerate() {
            let mut seen: Vec<usize> = Vec::new();
            let first = members.len();
            for &row in rows {
                let level = group[row];
                let place = seen.iter().position(|&l| l == level).unwrap_or_else(|| {
                    seen.push(level);
                    members.push(Vec::new());
                    term_of.push(term);
                    seen.len() - 1
                });
                members[first + place].push(row);
            }
        }
        let q = members.len();
        let zz = DMatrix::from_fn(q, q, |a, b| {
            count(members[a].iter().filter(|row| members[b].contains(row)).count())
        });
        let zx = DMatrix::from_fn(q, x.ncols(), |a, j| members[a].iter().map(|&r| x[(r, j)]).sum());
        let zy = DVector::from_fn(q, |a, _| members[a].iter().map(|&r| y[r]).sum());
        Self { term_of, zz, zx, zy }
    }

    /// With M = I + D^½ Z′Z D^½ = LL′, D = diag(θ): L⁻¹D^½Z′X and L⁻¹D^½Z′y, then
    /// Z′H⁻¹Z, Z′H⁻¹X and Z′H⁻¹y, and ln|H|.
    fn at(&self, theta: &DVector<f64>) -> Option<(Part, f64)> {
        let q = self.term_of.len();
        let root = DVector::from_fn(q, |a, _| theta[self.term_of[a]].sqrt());
        let mut m = DMatrix::from_fn(q, q, |a, b| root[a] * self.zz[(a, b)] * root[b]);
        for a in 0..q {
            m[(a, a)] += 1.0;
        }
        let l = Cholesky::new(m)?.unpack();
        let halved = |sums: &DMatrix<f64>| -> Option<DMatrix<f64>> {
            let scaled = DMatrix::from_fn(q, sums.ncols(), |a, j| root[a] * sums[(a, j)]);
            l.solve_lower_triangular(&scaled)
        };
        let half_x = halved(&self.zx)?;
        let half_z = halved(&self.zz)?;
        let half_y: DVector<f64> =
            halved(&DMatrix::from_columns(std::slice::from_ref(&self.zy)))?.column(0).into();
        let sz = &self.zz - half_z.tr_mul(&half_z);
        let tx = &self.zx - half_z.tr_mul(&half_x);
        let ty = &self.zy - half_z.tr_mul(&half_y);
        let log_h = l.diagonal().iter().map(|d| 2.0 * d.ln()).sum();
        Some((Part { half_x, half_y, sz, tx, ty }, log_h))
    }
}

/// One taster's share at given ratios.
struct Part {
    half_x: DMatrix<f64>,
    half_y: DVector<f64>,
    sz: DMatrix<f64>,
    tx: DMatrix<f64>,
    ty: DVector<f64>,
}

/// The model at given ratios.
pub(super) struct State {
    pub(super) theta: DVector<f64>,
    criterion: f64,
    pub(super) variance: f64,
    pub(super) beta: DVector<f64>,
    pub(super) cov: DMatrix<f64>,
    parts: Vec<Part>,
}

/// What the derivatives are made of, with K = ZZ′, P the projection at unit residual variance:
/// tr PKᵢ, y′PKᵢPy, tr PKᵢPKₗ, y′PKᵢPKₗPy, and C X′H⁻¹KᵢH⁻¹X C.
pub(super) struct Curves {
    trace: DVector<f64>,
    quad: DVector<f64>,
    traces: DMatrix<f64>,
    quads: DMatrix<f64>,
    pub(super) bends: Vec<DMatrix<f64>>,
}

impl Curves {
    /// Derivative of the criterion in the ratios.
    fn gradient(&self, state: &State) -> DVector<f64> {
        &self.trace - &self.quad / state.variance
    }

    /// The step that would reach the lowest point of a parabola, in the free ratios only. Where the
    /// observed curvature is no bowl, the expected one is used, which always is.
    fn newton(
        &self,
        state: &State,
        gradient: &DVector<f64>,
        free: &[usize],
        spare: f64,
    ) -> DVector<f64> {
        let s = state.variance;
        let pick = |full: &dyn Fn(usize, usize) -> f64| {
            DMatrix::from_fn(free.len(), free.len(), |a, b| full(free[a], free[b]))
        };
        let observed = pick(&|i, l| {
            2.0 * self.quads[(i, l)] / s
                - self.traces[(i, l)]
                - self.quad[i] * self.quad[l] / (s * s * spare)
        });
        let expected = pick(&|i, l| self.traces[(i, l)] - self.trace[i] * self.trace[l] / spare);
        let slope = DVector::from_fn(free.len(), |a, _| -gradient[free[a]]);
        let solved = Cholesky::new(observed)
            .or_else(|| Cholesky::new(expected))
            .map_or_else(|| slope.clone(), |bowl: Cholesky<f64, Dyn>| bowl.solve(&slope));
        let mut step = DVector::zeros(gradient.len());
        for (a, &i) in free.iter().enumerate() {
            step[i] = solved[a];
        }
        step
    }

    /// Which components can vary (`None` is the residual), and the second derivatives of the
    /// criterion in them.
    pub(super) fn information(
        &self,
        state: &State,
        spare: f64,
    ) -> (Vec<Option<usize>>, DMatrix<f64>) {
        let (theta, s, c) = (&state.theta, state.variance, self);
        let m = theta.len();
        // Appends the residual, whose K is I = H − Σ θᵢKᵢ.
        let mut t = c.traces.clone().resize(m + 1, m + 1, 0.0);
        let mut w = c.quads.clone().resize(m + 1, m + 1, 0.0);
        let yy = s * spare;
        for l in 0..m {
            let less_t: f64 = (0..m).map(|i| theta[i] * c.traces[(i, l)]).sum();
            let less_w: f64 = (0..m).map(|i| theta[i] * c.quads[(i, l)]).sum();
            t[(m, l)] = c.trace[l] - less_t;
            w[(m, l)] = c.quad[l] - less_w;
            t[(l, m)] = t[(m, l)];
            w[(l, m)] = w[(m, l)];
        }
        let trace: f64 = spare - theta.dot(&c.trace);
        let quad: f64 = yy - theta.dot(&c.quad);
        t[(m, m)] = trace - (0..m).map(|i| theta[i] * t[(m, i)]).sum::<f64>();
        w[(m, m)] = quad - (0..m).map(|i| theta[i] * w[(m, i)]).sum::<f64>();
        let mut free: Vec<Option<usize>> = (0..m).filter(|&i| theta[i] > 0.0).map(Some).collect();
        if theta.iter().all(|&ratio| ratio < CEILING) {
            free.push(None);
        }
        let place = |which: Option<usize>| which.unwrap_or(m);
        let information = DMatrix::from_fn(free.len(), free.len(), |a, b| {
            let at = (place(free[a]), place(free[b]));
            2.0 * w[at] / s.powi(3) - t[at] / s.powi(2)
        });
        (free, information)
    }
}
