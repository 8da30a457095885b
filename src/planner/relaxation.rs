//! One stage of a statement as rows and columns, portions taken as divisible.
//!
//! Stocks and base waters come first among the columns. A row that cannot cost anything in this
//! stage or an earlier one is left out; what a finished stage has proved is kept by a cap.
#![expect(clippy::indexing_slicing, reason = "indices run over stocks and rows of one statement")]

use crate::planner::portions::{Stage, Statement};
use crate::planner::tableau::{Columns, FirstBasic};

/// Our choice: a stage value up to this is nothing, and its columns are left out afterwards.
const NOTHING: f64 = 1e-9;

/// Our choice: what a stage has reached may be exceeded by this much of a unit of miss (relative
/// above 1) in later stages, so that rounding does not make them infeasible. A tenth of a
/// millionth of a tolerance is far below anything that can be poured.
const CAP_SLACK: f64 = 1e-7;

/// The largest value of a finished stage that later stages must keep.
pub(super) fn cap(value: f64) -> f64 {
    value + CAP_SLACK * value.abs().max(1.0)
}

/// Columns under construction.
struct Builder {
    program: Columns,
    /// Entries by column: row, value.
    entries: Vec<Vec<(usize, f64)>>,
    rows: usize,
}

impl Builder {
    fn column(&mut self, lower: f64, upper: f64, cost: f64, entries: &[(usize, f64)]) -> usize {
        self.program.lower.push(lower);
        self.program.upper.push(upper);
        self.program.costs.push(cost);
        self.entries.push(entries.to_vec());
        self.entries.len() - 1
    }

    fn row(&mut self, rhs: f64) -> usize {
        self.program.rhs.push(rhs);
        self.program.first.push(FirstBasic::Fixed);
        self.rows += 1;
        self.rows - 1
    }

    fn finish(mut self) -> Columns {
        let n = self.entries.len();
        self.program.rows = vec![vec![0.0; n]; self.rows];
        for (j, entries) in self.entries.iter().enumerate() {
            for (i, v) in entries {
                self.program.rows[*i][j] = *v;
            }
        }
        self.program
    }
}

/// The program of stage number `at`; `reached` holds the values of the stages before it.
pub(super) fn columns(statement: &Statement, at: usize, reached: &[f64]) -> Columns {
    let mut b = Builder { program: Columns::default(), entries: Vec::new(), rows: 0 };
    let stage = statement.stages[at];
    let before = |wanted: Stage| {
        statement.stages[..at].iter().zip(reached).find(|(s, _)| **s == wanted).map(|(_, v)| *v)
    };
    let linear_cost = |column: usize| match stage {
        Stage::Linear(k) => statement.linear[k][column],
        _ => 0.0,
    };
    let volume_row = b.row(1.0);
    for (j, portion) in statement.portions.iter().enumerate() {
        let low = if portion.required { f64::from(portion.least) * portion.meq_per_l } else { 0.0 };
        let high = f64::from(portion.most) * portion.meq_per_l;
        b.column(low, high, linear_cost(j), &[(volume_row, statement.volume[j])]);
    }
    let stocks = statement.stocks();
    for (k, most) in statement.base_at_most.iter().enumerate() {
        let j = stocks + k;
        b.column(0.0, *most, linear_cost(j), &[(volume_row, statement.volume[j])]);
    }
    let (largest, beyond, inside) =
        (before(Stage::Largest), before(Stage::Beyond), before(Stage::Inside));
    let early = matches!(stage, Stage::Largest | Stage::Beyond);
    let largest_column = (stage == Stage::Largest).then(|| b.column(0.0, f64::INFINITY, 1.0, &[]));
    let beyond_cap = beyond.filter(|v| *v > NOTHING).map(|v| capped(&mut b, v));
    let inside_cap = inside.filter(|v| *v > NOTHING).map(|v| capped(&mut b, v));
    for stated in &statement.rows {
        let row = &stated.row;
        let tolerance = row.tolerance;
        if early && tolerance.is_infinite() {
            continue;
        }
        let i = b.row(row.reference);
        for (j, v) in stated.coefficients.iter().enumerate() {
            if *v != 0.0 {
                b.entries[j].push((i, *v));
            }
        }
        // The place in the band; before the inside counts, the tolerance belongs to it.
        let wider = if early { tolerance } else { 0.0 };
        let (low, high) = (row.slack_low - wider, row.slack_high + wider);
        if low < high {
            let place = b.column(low, high, 0.0, &[(i, -1.0)]);
            b.program.first[i] = FirstBasic::Column(place, -1.0);
        }
        let inside_left = inside.is_none_or(|v| v > NOTHING);
        if !early && tolerance > 0.0 && inside_left {
            let cost = if stage == Stage::Inside { row.rate } else { 0.0 };
            for sign in [1.0, -1.0] {
                let mut entries = vec![(i, sign)];
                entries.extend(inside_cap.map(|c| (c, row.rate)));
                b.column(0.0, tolerance, cost, &entries);
            }
        }
        if tolerance.is_finite() && beyond.is_none_or(|v| v > NOTHING) {
            let most = largest.map_or(f64::INFINITY, |v| cap(v) / row.rate);
            let cost = if stage == Stage::Beyond { row.rate } else { 0.0 };
            let mut entries: Vec<Vec<(usize, f64)>> = vec![vec![(i, 1.0)], vec![(i, -1.0)]];
            for of_column in &mut entries {
                of_column.extend(beyond_cap.map(|c| (c, row.rate)));
            }
            if let Some(largest) = largest_column {
                // largest ≥ rate·miss, divided by the rate so that entries stay near 1
                let below = b.row(0.0);
                b.entries[largest].push((below, 1.0 / row.rate));
                for of_column in &mut entries {
                    of_column.push((below, -1.0));
                }
                let rest = b.column(0.0, f64::INFINITY, 0.0, &[(below, -1.0)]);
                b.program.first[below] = FirstBasic::Column(rest, -1.0);
            }
            for of_column in &entries {
                b.column(0.0, most, cost, of_column);
            }
        }
    }
    cap_linear(&mut b, statement, at, reached);
    b.finish()
}

/// A row that keeps a sum of columns below what its stage has reached.
fn capped(b: &mut Builder, value: f64) -> usize {
    let row = b.row(cap(value));
    let rest = b.column(0.0, f64::INFINITY, 0.0, &[(row, 1.0)]);
    b.program.first[row] = FirstBasic::Column(rest, 1.0);
    row
}

/// The caps of linear stages that are done.
fn cap_linear(b: &mut Builder, statement: &Statement, at: usize, reached: &[f64]) {
    for (stage, value) in statement.stages[..at].iter().zip(reached) {
        if let Stage::Linear(k) = stage {
            let row = capped(b, *value);
            for (j, cost) in statement.linear[*k].iter().enumerate() {
                if *cost != 0.0 {
                    b.entries[j].push((row, *cost));
                }
            }
        }
    }
}
