//! Every answer is re-evaluated outside the solver. A disagreement is an error, not a note.
//!
//! Three independent checks: the rows and bounds hold ([`feasibility`]); no better value exists,
//! by weak duality from the original numbers ([`optimality`]); and the goals, evaluated on the
//! composition that the doses really give, miss by what the solver says ([`misses`]).

use crate::chemistry::Composition;
use crate::planner::program::Row;
use crate::planner::simplex::{Matrix, Numbers, Simplex};
use crate::planner::stages::{Solution, SolveError};

/// Our choice: differences up to this share of the numbers compared are rounding. Rows are in
/// meq/L, so it is a billionth of what any dispenser resolves.
const ROUNDING: f64 = 1e-8;

/// Rows and bounds hold.
pub(super) fn feasibility(
    matrix: &Matrix,
    numbers: &Numbers,
    values: &[f64],
) -> Result<(), SolveError> {
    let mut worst = 0.0_f64;
    let mut residual = numbers.rhs.clone();
    let mut size = vec![1.0_f64; residual.len()];
    for (j, value) in values.iter().enumerate() {
        for &(i, v) in matrix.column(j) {
            if let (Some(r), Some(s)) = (residual.get_mut(i), size.get_mut(i)) {
                *r -= v * value;
                *s = s.max((v * value).abs());
            }
        }
    }
    for (r, s) in residual.iter().zip(&size) {
        worst = worst.max(r.abs() / s);
    }
    for ((value, low), high) in values.iter().zip(&numbers.lower).zip(&numbers.upper) {
        let outside = (low - value).max(value - high).max(0.0);
        worst = worst.max(outside / value.abs().max(1.0));
    }
    agree("a row or bound of the program", worst)
}

/// The value of a stage cannot be bettered: any multipliers of the rows give a lower bound on
/// it, and those of the solver give the value itself.
pub(super) fn optimality(
    matrix: &Matrix,
    numbers: &Numbers,
    cost: &[f64],
    simplex: &Simplex,
) -> Result<(), SolveError> {
    let values = &simplex.values;
    let multipliers = &simplex.multipliers;
    let value: f64 = cost.iter().zip(values).filter(|(c, _)| **c != 0.0).map(|(c, v)| c * v).sum();
    let largest_cost = cost.iter().fold(0.0_f64, |a, c| a.max(c.abs()));
    let mut bound: f64 = multipliers.iter().zip(&numbers.rhs).map(|(p, b)| p * b).sum();
    let mut size = value.abs().max(largest_cost);
    for (j, ((v, low), high)) in values.iter().zip(&numbers.lower).zip(&numbers.upper).enumerate() {
        let start = cost.get(j).copied().unwrap_or_default();
        let reduced = matrix
            .column(j)
            .iter()
            .fold(start, |d, (i, a)| d - a * multipliers.get(*i).copied().unwrap_or_default());
        let least = if simplex.is_frozen(j) {
            *v
        } else if reduced.abs() <= ROUNDING * largest_cost {
            continue;
        } else if reduced > 0.0 {
            *low
        } else {
            *high
        };
        if !least.is_finite() {
            return agree("the proof of optimality", reduced.abs() / largest_cost);
        }
        if least != 0.0 {
            bound += reduced * least;
            size = size.max((reduced * least).abs());
        }
    }
    agree("the proof of optimality", (value - bound).abs() / size.max(f64::MIN_POSITIVE))
}

/// The composition that the doses give misses the goals by what the solver says.
///
/// # Errors
/// [`SolveError::Disagreement`] when it does not.
pub fn misses(water: &Composition, rows: &[Row], solution: &Solution) -> Result<(), SolveError> {
    let (mut beyond, mut inside, mut size) = (0.0, 0.0, 1.0_f64);
    for row in rows {
        let value = water.dot(&row.form);
        let (b, i) = row.costs(value);
        beyond += b;
        inside += i;
        // What rounding of the value itself can do to the cost.
        size = size.max(row.rate * value.abs().max(row.reference.abs()));
    }
    agree("the sum of misses beyond tolerance", (beyond - solution.beyond).abs() / size)?;
    agree("the sum of misses inside tolerance", (inside - solution.inside).abs() / size)
}

fn agree(what: &'static str, by: f64) -> Result<(), SolveError> {
    // A comparison that is false for NaN as well.
    if by <= ROUNDING { Ok(()) } else { Err(SolveError::Disagreement { what, by }) }
}
