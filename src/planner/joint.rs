//! All waters of a flight together, when what is left in the bottles of stock must do for all.
//!
//! Columns and rows are those of one water, once per target; one more row per limited stock:
//! `Σ_targets ml_per_meq·litres·u ≤ left`. The stages are sums over the targets.
#![expect(clippy::indexing_slicing, reason = "indices run over the columns stated here")]

use crate::planner::program::{Pourable, Row};
use crate::planner::relaxation::cap;
use crate::planner::stages::SolveError;
use crate::planner::tableau::{Columns, End, FirstBasic, Tableau};

/// What is asked of all waters together.
#[derive(Debug, Clone, Default)]
pub struct Together {
    /// Rows of each target.
    pub rows: Vec<Vec<Row>>,
    /// Which stocks each target may use.
    pub allowed: Vec<Vec<bool>>,
    /// Litres of finished water for each target.
    pub litres: f64,
    /// Stocks with the mL left in their bottle.
    pub left: Vec<(usize, f64)>,
}

/// Doses of all waters, meq/L by target and stock, and shares of base water.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct JointDoses {
    /// meq/L of each stock, per target.
    pub meq_per_l: Vec<Vec<f64>>,
    /// Shares of the base waters, per target.
    pub shares: Vec<Vec<f64>>,
    /// Sums over the targets: beyond tolerance, inside tolerance, mL per litre.
    pub stages: [f64; 3],
}

/// The best doses within what is left: fewest misses beyond tolerance over all targets, then
/// inside, then the least volume.
///
/// # Errors
/// When the solver finds no optimum.
pub fn plan_together(pourable: &Pourable, asked: &Together) -> Result<JointDoses, SolveError> {
    let mut stages = [0.0; 3];
    let mut doses = JointDoses::default();
    for stage in 0..3 {
        let (columns, starts) = state(pourable, asked, stage, &stages);
        let mut tableau = Tableau::new(&columns);
        match tableau.minimise(f64::INFINITY) {
            End::Optimal => {}
            End::Infeasible => return Err(SolveError::NothingFits),
            End::CutOff | End::Stalled => {
                return Err(SolveError::Ended { ending: "no progress", stage });
            }
        }
        stages[stage] = tableau.value;
        let n = pourable.stocks.len();
        let block = |from: usize, count: usize| -> Vec<f64> {
            (from..from + count).map(|j| tableau.at(j).max(0.0)).collect()
        };
        doses.meq_per_l = starts.iter().map(|at| block(*at, n)).collect();
        doses.shares = starts.iter().map(|at| block(at + n, pourable.base.len())).collect();
    }
    doses.stages = stages;
    Ok(doses)
}

/// The program of one stage, and where the columns of each target begin.
fn state(
    pourable: &Pourable,
    asked: &Together,
    stage: usize,
    reached: &[f64; 3],
) -> (Columns, Vec<usize>) {
    let mut program = Columns::default();
    let mut entries: Vec<Vec<(usize, f64)>> = Vec::new();
    let mut column =
        |program: &mut Columns, low: f64, high: f64, cost: f64, of: Vec<(usize, f64)>| {
            program.lower.push(low);
            program.upper.push(high);
            program.costs.push(cost);
            entries.push(of);
            entries.len() - 1
        };
    let row = |program: &mut Columns, rhs: f64| {
        program.rhs.push(rhs);
        program.first.push(FirstBasic::Fixed);
        program.rhs.len() - 1
    };
    let caps: Vec<usize> = (0..stage)
        .map(|s| {
            let at = row(&mut program, cap(reached[s]));
            let rest = column(&mut program, 0.0, f64::INFINITY, 0.0, vec![(at, 1.0)]);
            program.first[at] = FirstBasic::Column(rest, 1.0);
            at
        })
        .collect();
    let limits: Vec<(usize, usize)> = asked
        .left
        .iter()
        .map(|(stock, ml)| {
            let at = row(&mut program, *ml);
            let rest = column(&mut program, 0.0, f64::INFINITY, 0.0, vec![(at, 1.0)]);
            program.first[at] = FirstBasic::Column(rest, 1.0);
            (*stock, at)
        })
        .collect();
    let costs_at = |s: usize| if s == stage { 1.0 } else { 0.0 };
    let mut starts = Vec::new();
    for (rows, allowed) in asked.rows.iter().zip(&asked.allowed) {
        let volume = row(&mut program, 1.0);
        let goals: Vec<usize> = rows.iter().map(|r| row(&mut program, r.reference)).collect();
        let mut first = None;
        for (j, (per_meq, ml)) in pourable.stocks.iter().enumerate() {
            let mut of = vec![(volume, ml / 1000.0)];
            of.extend(rows.iter().zip(&goals).map(|(r, i)| (*i, per_meq.dot(&r.form))));
            of.extend(
                limits.iter().filter(|(s, _)| *s == j).map(|(_, at)| (*at, ml * asked.litres)),
            );
            let high = if allowed[j] { f64::INFINITY } else { 0.0 };
            let at = column(&mut program, 0.0, high, ml * costs_at(2), of);
            first.get_or_insert(at);
        }
        for (k, (per_litre, most)) in pourable.base.iter().enumerate() {
            let mut of = vec![(volume, 1.0)];
            of.extend(rows.iter().zip(&goals).map(|(r, i)| (*i, per_litre.dot(&r.form))));
            let at = column(&mut program, 0.0, *most, 0.0, of);
            if k == 0 {
                first.get_or_insert(at);
            }
        }
        starts.push(first.unwrap_or_default());
        for (r, &i) in rows.iter().zip(&goals) {
            if r.slack_low < r.slack_high {
                let place = column(&mut program, r.slack_low, r.slack_high, 0.0, vec![(i, -1.0)]);
                program.first[i] = FirstBasic::Column(place, -1.0);
            }
            for sign in [1.0, -1.0] {
                for (s, most) in [(0, f64::INFINITY), (1, r.tolerance)] {
                    let pointless = most <= 0.0 || (s == 0 && r.tolerance.is_infinite());
                    if pointless {
                        continue;
                    }
                    let mut of = vec![(i, sign)];
                    of.extend(caps.get(s).map(|at| (*at, r.rate)));
                    column(&mut program, 0.0, most, r.rate * costs_at(s), of);
                }
            }
        }
    }
    let n = entries.len();
    program.rows = vec![vec![0.0; n]; program.rhs.len()];
    for (j, of) in entries.iter().enumerate() {
        for (i, v) in of {
            program.rows[*i][j] = *v;
        }
    }
    (program, starts)
}
