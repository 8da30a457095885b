//! The problem of one water when stocks come in whole portions, and what a choice of portions is
//! worth.
//!
//! In each bottle the dose of stock j is `n_j` portions, `n_j` a whole number that is 0 or at
//! least `least_j`; so `u_j = meq_j·n_j` with `meq_j` the meq that one portion brings to a litre as
//! it is poured: of finished water, or of base water when doses are added to it. Base waters stay
//! continuous: they are filled up to the mark. The stages are those of [`crate::planner::lp::program`].
//!
//! The finished volume is `F = 1 + Σ f_j·u_j` litres, where `f_j` is 0 when the litre is made up to
//! its mark and the volume of the dose when it is added. Every row and every stage is one of the
//! finished litre: a miss `m` counted on what was poured is a miss `m/F` of the water. So a goal
//! `low ≤ form/F ≤ high` is stated at its edges, `form − low·F ≥ 0`, which is linear in the doses, a
//! stage `M/F` with `M` linear, and one value serves both conventions: the one that is printed.
#![expect(clippy::indexing_slicing, reason = "indices run over stocks and rows of one statement")]

use crate::flight::Convention;
use crate::planner::lp::program::{Deviations, PourableColumns, Row};
use crate::planner::lp::stages::LIMIT_ROUNDING;

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
pub enum Stage {
    /// The largest weighted miss beyond tolerance.
    Largest,
    /// The weighted misses beyond tolerance.
    Beyond,
    /// Those inside tolerance. What is made least, and kept, is the sum of all misses: behind the
    /// misses beyond tolerance that is the same, and it is linear.
    Inside,
    /// The number of stocks in use.
    Count,
    /// A linear cost, by its number in the statement.
    Linear(usize),
}

impl Stage {
    /// The stages of misses, in order.
    pub(crate) fn of_misses(largest_first: bool) -> Vec<Self> {
        let largest = largest_first.then_some(Self::Largest);
        largest.into_iter().chain([Self::Beyond, Self::Inside]).collect()
    }
}

/// A row as poured: coefficients on stocks (per meq) and base waters (per share), and the band that
/// their sum is to lie in.
#[derive(Debug, Clone)]
pub(crate) struct StatedRow {
    pub(crate) coefficients: Vec<f64>,
    pub(crate) low: f64,
    pub(crate) high: f64,
    /// Misses up to this are inside tolerance.
    pub(crate) tolerance: f64,
    pub(crate) rate: f64,
    /// Whether its misses are beyond tolerance, and whether all of them are counted in the sum of
    /// all misses.
    pub(crate) beyond: bool,
    pub(crate) total: bool,
}

/// A row that is kept whatever is missed: its value is at most `most`.
#[derive(Debug, Clone)]
pub(crate) struct StatedLimit {
    pub(crate) coefficients: Vec<f64>,
    pub(crate) most: f64,
}

/// One water, stated for portions.
#[derive(Debug, Clone)]
pub(crate) struct Statement {
    pub(crate) portions: Vec<Portion>,
    pub(crate) base_at_most: Vec<f64>,
    pub(crate) rows: Vec<StatedRow>,
    pub(crate) limits: Vec<StatedLimit>,
    /// Coefficients of the volume row; its right-hand side is 1.
    pub(crate) volume: Vec<f64>,
    /// What a meq of each stock adds to the litre that is finished.
    pub(crate) finished: Vec<f64>,
    /// Litres that are finished at most.
    pub(crate) most_litres: f64,
    /// Linear costs on stocks (per meq) and base waters (per share).
    pub(crate) linear: Vec<Vec<f64>>,
    pub(crate) stages: Vec<Stage>,
    /// The rows of the finished water, and their forms on what is poured: what values come from.
    wanted: Vec<(Row, Vec<f64>)>,
}

/// A choice of portions.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Choice {
    pub(crate) portions: Vec<u32>,
    pub(crate) shares: Vec<f64>,
    /// The value of each stage.
    pub(crate) values: Vec<f64>,
}

/// Our choice: a column this near to a whole number of portions, in portions, is whole.
pub(crate) const WHOLE: f64 = 1e-6;

/// Our choice: a billionth of a litre is no volume.
const FULL: f64 = 1e-9;

impl Statement {
    /// States the rows of a target.
    pub(crate) fn new(
        pourable: &PourableColumns,
        portions: &[Portion],
        rows: &[Row],
        preference: &[(Vec<f64>, Vec<f64>)],
        stages: Vec<Stage>,
    ) -> Self {
        let added = pourable.convention == Convention::AddedToALitre;
        let litres: Vec<f64> = pourable.stocks.iter().map(|(_, ml)| ml / 1000.0).collect();
        let nothing = vec![0.0; litres.len()];
        let ones = vec![1.0; pourable.base.len()];
        let (taken, finished) = if added { (&nothing, &litres) } else { (&litres, &nothing) };
        let volume = [taken.as_slice(), &ones].concat();
        let forms = pourable.coefficients(rows, &[]).into_iter().skip(1);
        let wanted: Vec<(Row, Vec<f64>)> = rows.iter().copied().zip(forms).collect();
        let mut stated = Vec::with_capacity(rows.len());
        for (row, form) in &wanted {
            if added {
                at_edges(form, finished, row, &mut stated);
            } else {
                stated.push(StatedRow {
                    coefficients: form.clone(),
                    low: row.reference + row.slack_low,
                    high: row.reference + row.slack_high,
                    tolerance: row.tolerance,
                    rate: row.rate,
                    beyond: row.tolerance.is_finite(),
                    total: true,
                });
            }
        }
        let limits = limits(pourable, finished);
        let most = |(j, portion): (usize, &Portion)| {
            // No more than the limits leave room for: they bound the search.
            let room = |of: &StatedLimit| {
                let least_base: f64 = of.coefficients[litres.len()..]
                    .iter()
                    .fold(f64::INFINITY, |least, c| least.min(*c))
                    .min(0.0);
                let per_portion = of.coefficients[j] * portion.meq_per_l;
                if per_portion > 0.0 { (of.most - least_base) / per_portion } else { f64::INFINITY }
            };
            let in_litre = 1.0 / (taken[j] * portion.meq_per_l);
            let room = limits.iter().map(room).fold(in_litre, f64::min);
            portion.most.min(whole(room * (1.0 + FULL) + FULL))
        };
        // Where the least amount is too much there is none at all.
        let portions = portions
            .iter()
            .enumerate()
            .map(|(j, p)| {
                let most = most((j, p));
                Portion { most: if most < p.least.max(1) { 0 } else { most }, ..*p }
            })
            .collect();
        Self {
            portions,
            base_at_most: pourable.base.iter().map(|(_, at_most)| *at_most).collect(),
            rows: stated,
            limits,
            volume,
            finished: finished.clone(),
            most_litres: 1.0 + if added { pourable.limits.stocks_ml_per_l / 1000.0 } else { 0.0 },
            linear: preference.iter().map(|(s, b)| [s.as_slice(), b].concat()).collect(),
            stages,
            wanted,
        }
    }

    pub(crate) fn stocks(&self) -> usize {
        self.portions.len()
    }

    /// Finished litres per litre poured.
    pub(crate) fn finished_litres(&self, portions: &[u32]) -> f64 {
        let each = portions.iter().zip(&self.portions).zip(&self.finished);
        1.0 + each.map(|((n, p), f)| f64::from(*n) * p.meq_per_l * f).sum::<f64>()
    }

    /// The value of every stage, worked out from the doses and nothing else; `None` when the litre
    /// is over-full, a share too large or a limit exceeded.
    pub(crate) fn values(&self, portions: &[u32], shares: &[f64]) -> Option<Vec<f64>> {
        let amounts: Vec<f64> = portions
            .iter()
            .zip(&self.portions)
            .map(|(n, p)| f64::from(*n) * p.meq_per_l)
            .chain(shares.iter().copied())
            .collect();
        let dot = |of: &[f64]| -> f64 { of.iter().zip(&amounts).map(|(a, b)| a * b).sum() };
        let delivered = |(n, p): (&u32, &Portion)| {
            if *n == 0 { !p.required } else { (p.least..=p.most).contains(n) }
        };
        let fits = portions.iter().zip(&self.portions).all(delivered)
            && (dot(&self.volume) - 1.0).abs() <= FULL
            && shares
                .iter()
                .zip(&self.base_at_most)
                .all(|(y, most)| *y >= -FULL && *y <= most + FULL)
            && self.limits.iter().all(|limit| {
                dot(&limit.coefficients) <= limit.most + LIMIT_ROUNDING * limit.most.abs().max(1.0)
            });
        if !fits {
            return None;
        }
        let finished = self.finished_litres(portions);
        let Deviations { largest, beyond, inside } =
            Deviations::of(self.wanted.iter().map(|(row, form)| (row, dot(form) / finished)));
        Some(
            self.stages
                .iter()
                .map(|stage| match stage {
                    Stage::Largest => largest,
                    Stage::Beyond => beyond,
                    Stage::Inside => beyond + inside,
                    Stage::Count => count(portions),
                    Stage::Linear(k) => dot(&self.linear[*k]) / finished,
                })
                .collect(),
        )
    }

    /// Shares near `like` that fill the litre beside these portions.
    pub(crate) fn filled(&self, portions: &[u32], like: &[f64]) -> Vec<f64> {
        let taken: f64 = portions
            .iter()
            .zip(&self.portions)
            .zip(&self.volume)
            .map(|((n, p), v)| f64::from(*n) * p.meq_per_l * v)
            .sum();
        let wanted = 1.0 - taken;
        let together: f64 = like.iter().sum();
        let scale = if together > 0.0 { wanted / together } else { 0.0 };
        let mut shares: Vec<f64> = like
            .iter()
            .zip(&self.base_at_most)
            .map(|(y, most)| (y * scale).clamp(0.0, *most))
            .collect();
        // What a limit cuts off the others take.
        for (k, most) in self.base_at_most.iter().enumerate() {
            let open = wanted - shares.iter().sum::<f64>();
            shares[k] = (shares[k] + open.max(0.0)).min(*most);
        }
        shares
    }
}

/// The number of stocks in use.
pub(crate) fn count(portions: &[u32]) -> f64 {
    portions.iter().map(|n| f64::from(u8::from(*n > 0))).sum()
}

/// A count of portions.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the range of the type just before"
)]
pub(crate) fn whole(value: f64) -> u32 {
    value.clamp(0.0, f64::from(u32::MAX)) as u32
}

/// The limits of what is poured, per litre as poured. A share of the finished volume is `b/F`, and
/// `Σ b` is 1 where doses are added; so all of them are linear here too.
fn limits(pourable: &PourableColumns, finished: &[f64]) -> Vec<StatedLimit> {
    let added = pourable.convention == Convention::AddedToALitre;
    pourable
        .hard_rows()
        .into_iter()
        .map(|row| {
            // value(u/F, b/F) ≤ most  ⇔  value(u, b) − most·(F − 1) ≤ most
            let most = if added { row.most } else { 0.0 };
            let on_stocks = row.on_stocks.iter().zip(finished).map(|(c, f)| c - most * f);
            StatedLimit { coefficients: on_stocks.chain(row.on_base).collect(), most: row.most }
        })
        .collect()
}

/// A row on the finished water, stated at its edges for what is poured.
fn at_edges(form: &[f64], finished: &[f64], row: &Row, stated: &mut Vec<StatedRow>) {
    let mut edge = |at: f64, (below, above): (bool, bool), beyond: bool, total: bool| {
        // form(u, b)/F ≥ at  ⇔  form(u, b) − at·(F − 1) ≥ at
        let on_stocks = form.iter().zip(finished).map(|(c, f)| c - at * f);
        let on_base = form.iter().skip(finished.len()).copied();
        stated.push(StatedRow {
            coefficients: on_stocks.chain(on_base).collect(),
            low: if below { at } else { f64::NEG_INFINITY },
            high: if above { at } else { f64::INFINITY },
            tolerance: if beyond { 0.0 } else { f64::INFINITY },
            rate: row.rate,
            beyond,
            total,
        });
    };
    let (low, high) = (row.reference + row.slack_low, row.reference + row.slack_high);
    if row.tolerance.is_finite() {
        // Without a tolerance a miss beyond it is all there is of it.
        let all = row.tolerance <= 0.0;
        if low >= high && all {
            edge(low, (true, true), true, true);
            return;
        }
        if low.is_finite() {
            edge(low - row.tolerance, (true, false), true, all);
        }
        if high.is_finite() {
            edge(high + row.tolerance, (false, true), true, all);
        }
    }
    if row.tolerance > 0.0 {
        if low >= high {
            edge(low, (true, true), false, true);
            return;
        }
        if low.is_finite() {
            edge(low, (true, false), false, true);
        }
        if high.is_finite() {
            edge(high, (false, true), false, true);
        }
    }
}
