//! The problem of one water when stocks come in whole portions, and what a choice of portions is
//! worth.
//!
//! In each bottle the dose of stock j is `n_j` portions, `n_j` a whole number that is 0 or at
//! least `least_j`; so `u_j = meq_j·n_j` with `meq_j` the meq/L that one portion brings. Base
//! waters stay continuous: they are filled up to the mark. The stages are those of
//! [`super::program`].
//!
//! When doses are added to a litre of base water, the finished volume is `F = 1 + Σ dose/1000`
//! and a goal `low ≤ form/F ≤ high` is stated at its edges, `form − low·F ≥ 0`, which is linear
//! in the doses. Its misses are then counted per litre of base water.
#![expect(clippy::indexing_slicing, reason = "indices run over stocks and rows of one statement")]

use crate::planner::program::{Pourable, Row};
use crate::waters::Convention;

/// What one portion of a stock brings, and how many there may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Portion {
    /// meq per litre (finished, or of base water when doses are added to it) in one portion.
    pub meq_per_l: f64,
    /// The least number of portions that can be delivered, if any are.
    pub least: u32,
    /// The largest number of portions.
    pub most: u32,
    /// Whether the stock must be used.
    pub required: bool,
}

/// What is made least, in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stage {
    /// The largest weighted miss beyond tolerance.
    Largest,
    /// The weighted misses beyond tolerance.
    Beyond,
    /// Those inside tolerance.
    Inside,
    /// The number of stocks in use.
    Count,
    /// A linear cost, by its number in the statement.
    Linear(usize),
}

/// A row with its coefficients on stocks (per meq) and base waters (per share).
#[derive(Debug, Clone)]
pub(super) struct StatedRow {
    pub(super) coefficients: Vec<f64>,
    pub(super) row: Row,
}

/// One water, stated for portions.
#[derive(Debug, Clone)]
pub(super) struct Statement {
    pub(super) portions: Vec<Portion>,
    pub(super) base_at_most: Vec<f64>,
    pub(super) rows: Vec<StatedRow>,
    /// Coefficients of the volume row; its right-hand side is 1.
    pub(super) volume: Vec<f64>,
    /// Linear costs on stocks (per meq) and base waters (per share).
    pub(super) linear: Vec<Vec<f64>>,
    pub(super) stages: Vec<Stage>,
}

/// A choice of portions.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Choice {
    pub(super) portions: Vec<u32>,
    pub(super) shares: Vec<f64>,
    /// The value of each stage.
    pub(super) values: Vec<f64>,
}

impl Statement {
    /// States the rows of a target.
    pub(super) fn new(
        pourable: &Pourable,
        portions: &[Portion],
        rows: &[Row],
        convention: Convention,
        preference: &[(Vec<f64>, Vec<f64>)],
        stages: Vec<Stage>,
    ) -> Self {
        let millilitres = pourable.stocks.iter().map(|(_, ml)| ml / 1000.0);
        let finished: Vec<f64> =
            millilitres.clone().chain(pourable.base.iter().map(|_| 1.0)).collect();
        let volume = match convention {
            Convention::MadeUpToALitre => finished.clone(),
            Convention::AddedToALitre => {
                millilitres.map(|_| 0.0).chain(pourable.base.iter().map(|_| 1.0)).collect()
            }
        };
        let mut stated = Vec::with_capacity(rows.len());
        for row in rows {
            let form: Vec<f64> = pourable
                .stocks
                .iter()
                .map(|(c, _)| c.dot(&row.form))
                .chain(pourable.base.iter().map(|(c, _)| c.dot(&row.form)))
                .collect();
            match convention {
                Convention::MadeUpToALitre => {
                    stated.push(StatedRow { coefficients: form, row: *row });
                }
                Convention::AddedToALitre => at_edges(&form, &finished, row, &mut stated),
            }
        }
        Self {
            // Where the least amount is too much there is none at all.
            portions: portions
                .iter()
                .map(|p| Portion { most: if p.most < p.least.max(1) { 0 } else { p.most }, ..*p })
                .collect(),
            base_at_most: pourable.base.iter().map(|(_, at_most)| *at_most).collect(),
            rows: stated,
            volume,
            linear: preference.iter().map(|(s, b)| [s.as_slice(), b].concat()).collect(),
            stages,
        }
    }

    pub(super) fn stocks(&self) -> usize {
        self.portions.len()
    }

    /// The value of every stage; `None` when the litre is over-full or a share too large.
    pub(super) fn values(&self, portions: &[u32], shares: &[f64]) -> Option<Vec<f64>> {
        /// Our choice: a billionth of a litre is no volume.
        const FULL: f64 = 1e-9;
        let amounts: Vec<f64> = portions
            .iter()
            .zip(&self.portions)
            .map(|(n, p)| f64::from(*n) * p.meq_per_l)
            .chain(shares.iter().copied())
            .collect();
        let dot = |of: &[f64]| -> f64 { of.iter().zip(&amounts).map(|(a, b)| a * b).sum() };
        let fits = (dot(&self.volume) - 1.0).abs() <= FULL
            && shares
                .iter()
                .zip(&self.base_at_most)
                .all(|(y, most)| *y >= -FULL && *y <= most + FULL);
        if !fits {
            return None;
        }
        let (mut largest, mut beyond, mut inside) = (0.0_f64, 0.0, 0.0);
        for stated in &self.rows {
            let (out, within) = stated.row.costs(dot(&stated.coefficients));
            largest = largest.max(out);
            beyond += out;
            inside += within;
        }
        Some(
            self.stages
                .iter()
                .map(|stage| match stage {
                    Stage::Largest => largest,
                    Stage::Beyond => beyond,
                    Stage::Inside => inside,
                    Stage::Count => count(portions),
                    Stage::Linear(k) => dot(&self.linear[*k]),
                })
                .collect(),
        )
    }

    /// Shares in the proportion of `like` that fill the litre beside these portions.
    pub(super) fn filled(&self, portions: &[u32], like: &[f64]) -> Vec<f64> {
        let taken: f64 = portions
            .iter()
            .zip(&self.portions)
            .zip(&self.volume)
            .map(|((n, p), v)| f64::from(*n) * p.meq_per_l * v)
            .sum();
        let together: f64 = like.iter().sum();
        let scale = if together > 0.0 { (1.0 - taken) / together } else { 0.0 };
        like.iter().map(|y| y * scale).collect()
    }
}

/// The number of stocks in use.
pub(super) fn count(portions: &[u32]) -> f64 {
    portions.iter().map(|n| f64::from(u8::from(*n > 0))).sum()
}

/// A row on the composition of the finished water, stated at its edges per litre of base water.
fn at_edges(form: &[f64], finished: &[f64], row: &Row, stated: &mut Vec<StatedRow>) {
    let mut edge = |at: f64, low: f64, high: f64, tolerance: f64| {
        let coefficients = form.iter().zip(finished).map(|(f, v)| f - at * v).collect();
        let row = Row::band(row.form, low, high, tolerance, row.rate);
        stated.push(StatedRow { coefficients, row });
    };
    let (low, high) = (row.reference + row.slack_low, row.reference + row.slack_high);
    let endless = f64::INFINITY;
    if row.tolerance.is_finite() {
        if low.is_finite() {
            edge(low - row.tolerance, 0.0, endless, 0.0);
        }
        if high.is_finite() {
            edge(high + row.tolerance, -endless, 0.0, 0.0);
        }
    }
    if row.tolerance > 0.0 {
        if (high - low).abs() < f64::EPSILON {
            edge(low, 0.0, 0.0, endless);
            return;
        }
        if low.is_finite() {
            edge(low, 0.0, endless, endless);
        }
        if high.is_finite() {
            edge(high, -endless, 0.0, endless);
        }
    }
}
