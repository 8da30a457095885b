//! The program of [`crate::planner::lp::program`] written with good_lp, and read back from it. The only file
//! that knows good_lp.
//!
//! Two solvers stand under the same model: the simplex of this crate, which answers thousands of
//! targets, and microlp, which good_lp brings along and which serves as a second opinion.

use std::collections::HashMap;

use good_lp::solvers::microlp::microlp;
use good_lp::{
    Constraint, Expression, IntoAffineExpression, ProblemVariables, ResolutionError, Solution,
    SolverModel, Variable, VariableDefinition, variable,
};

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

/// A stated model: the columns in the order of the layout and the rows as equalities.
pub(crate) struct Model {
    pub(crate) layout: Layout,
    columns: Vec<Variable>,
    rows: Vec<Constraint>,
}

/// States the rows; `bounds` gives each column its definition.
fn state(
    pourable: &PourableColumns,
    rows: &[Row],
    hard: &[HardRow],
    largest: bool,
    variables: &mut ProblemVariables,
    bounds: impl Fn(usize) -> VariableDefinition,
) -> Model {
    let layout = Layout {
        stocks: pourable.stocks.len(),
        base: pourable.base.len(),
        rows: rows.len(),
        largest,
        hard: hard.len(),
    };
    let columns: Vec<Variable> = (0..layout.columns()).map(|j| variables.add(bounds(j))).collect();
    let at = |j: usize| columns.get(j).copied();
    let mut volume = Expression::with_capacity(layout.stocks + layout.base + 1);
    let add = |expression: &mut Expression, factor: f64, j: usize| {
        if let Some(column) = at(j).filter(|_| factor != 0.0) {
            expression.add_mul(factor, column);
        }
    };
    for (j, (_, ml_per_meq)) in pourable.stocks.iter().enumerate() {
        add(&mut volume, ml_per_meq / 1000.0, j);
    }
    for k in 0..layout.base {
        add(&mut volume, 1.0, layout.share(k));
    }
    add(&mut volume, 1.0, layout.volume_gap());
    let mut constraints = vec![volume.eq(1.0)];
    for (i, row) in rows.iter().enumerate() {
        let mut expression = Expression::with_capacity(layout.stocks + layout.base + PER_ROW);
        for (j, (per_meq, _)) in pourable.stocks.iter().enumerate() {
            add(&mut expression, per_meq.dot(&row.form), j);
        }
        for (k, (per_litre, _)) in pourable.base.iter().enumerate() {
            add(&mut expression, per_litre.dot(&row.form), layout.share(k));
        }
        add(&mut expression, 1.0, layout.under_inside(i));
        add(&mut expression, 1.0, layout.under_beyond(i));
        add(&mut expression, -1.0, layout.over_inside(i));
        add(&mut expression, -1.0, layout.over_beyond(i));
        add(&mut expression, -1.0, layout.place_in_band(i));
        constraints.push(expression.eq(row.reference));
    }
    if largest {
        for (i, row) in rows.iter().enumerate() {
            // largest ≥ rate·(n2 + p2), divided by the rate so that coefficients stay near 1
            let mut expression = Expression::with_capacity(4);
            add(&mut expression, highest_rate(rows) / row.rate, layout.largest_miss());
            add(&mut expression, -1.0, layout.under_beyond(i));
            add(&mut expression, -1.0, layout.over_beyond(i));
            add(&mut expression, -1.0, layout.below_largest(i));
            constraints.push(expression.eq(0.0));
        }
    }
    for (h, row) in hard.iter().enumerate() {
        let mut expression = Expression::with_capacity(layout.stocks + layout.base + 1);
        for (j, factor) in row.on_stocks.iter().chain(&row.on_base).enumerate() {
            add(&mut expression, *factor, j);
        }
        add(&mut expression, 1.0, layout.spare(h));
        constraints.push(expression.eq(row.most));
    }
    Model { layout, columns, rows: constraints }
}

/// The matrix of the program for the simplex of this crate.
pub(crate) fn matrix(
    pourable: &PourableColumns,
    rows: &[Row],
    hard: &[HardRow],
    largest: bool,
) -> (Layout, Matrix) {
    let mut variables = ProblemVariables::new();
    let model = state(pourable, rows, hard, largest, &mut variables, |_| variable().min(0.0));
    let index: HashMap<Variable, usize> =
        model.columns.iter().enumerate().map(|(j, column)| (*column, j)).collect();
    let mut columns = vec![Vec::new(); model.columns.len()];
    for (i, row) in model.rows.iter().enumerate() {
        for (column, coefficient) in row.expression().linear_coefficients() {
            let entries = index.get(&column).and_then(|j| columns.get_mut(*j));
            if let Some(entries) = entries {
                entries.push((i, coefficient));
            }
        }
    }
    (model.layout, Matrix::new(model.rows.len(), &columns))
}

/// The stages solved by microlp, each held for the next by a cap with a small slack: a second
/// opinion on the stage values, not on the doses, which need not be unique.
///
/// # Errors
/// Whatever ending microlp reports instead of an optimum.
pub(crate) fn second_opinion(
    pourable: &PourableColumns,
    rows: &[Row],
    hard: &[HardRow],
    largest: bool,
    bounds: impl Fn(usize) -> (f64, f64),
    stages: &[&[f64]],
) -> Result<Vec<f64>, ResolutionError> {
    /// Our choice: a cap may be exceeded by this share of its size, or this much of a unit of
    /// miss, far below anything that can be poured; without it rounding makes later stages
    /// infeasible.
    const CAP_SLACK: f64 = 1e-9;
    let mut values: Vec<f64> = Vec::with_capacity(stages.len());
    for stage in stages {
        let mut variables = ProblemVariables::new();
        let model = state(pourable, rows, hard, largest, &mut variables, |j| {
            let (low, high) = bounds(j);
            variable().min(low).max(high)
        });
        let objective = |costs: &[f64]| {
            let mut sum = Expression::with_capacity(costs.len());
            for (column, cost) in model.columns.iter().zip(costs).filter(|(_, c)| **c != 0.0) {
                sum.add_mul(*cost, *column);
            }
            sum
        };
        let mut problem = variables.minimise(objective(stage)).using(microlp);
        for row in &model.rows {
            problem = problem.with(row.clone());
        }
        for (earlier, value) in stages.iter().zip(&values) {
            let cap: f64 = *value + CAP_SLACK * value.max(1.0);
            problem = problem.with(objective(earlier).leq(cap));
        }
        let solution = problem.solve()?;
        values.push(solution.eval(objective(stage)));
    }
    Ok(values)
}
