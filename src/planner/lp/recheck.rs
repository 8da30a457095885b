//! Every answer is re-evaluated outside the solver. A disagreement is an error, not a note.
//!
//! Independent checks: no better value of a stage exists, by weak duality from the original
//! numbers ([`optimality`]); the final values still have it ([`held`]) and keep the rows and
//! bounds ([`feasibility`]); and the goals, evaluated on the composition that the doses really
//! give, miss by what the solver says ([`misses`]).

#![expect(clippy::indexing_slicing, reason = "row numbers come from the matrix they index")]

use crate::chemistry::Composition;
use crate::planner::lp::block_angular::Optimum;
use crate::planner::lp::matrix::{Matrix, Numbers, Objective};
use crate::planner::lp::program::{PourableColumns, Row};
use crate::planner::lp::simplex::Simplex;
use crate::planner::lp::stages::{Solution, SolveError};

/// Our choice: differences up to this share of the numbers compared are rounding. Rows are in
/// meq/L, so it is a billionth of what any dispenser resolves.
const ROUNDING: f64 = 1e-8;

/// Rows and bounds hold.
pub(crate) fn feasibility(
    matrix: &Matrix,
    numbers: &Numbers,
    values: &[f64],
) -> Result<(), SolveError> {
    // `max` would pass over a NaN.
    if !values.iter().all(|v| v.is_finite()) {
        return Err(SolveError::Disagreement { what: "a value", by: f64::INFINITY });
    }
    let mut worst = 0.0_f64;
    let mut residual = numbers.rhs.clone();
    let mut size = vec![1.0_f64; residual.len()];
    for (value, entries) in values.iter().zip(matrix.iter()).filter(|(v, _)| **v != 0.0) {
        for &(i, v) in entries {
            residual[i] -= v * value;
            size[i] = size[i].max((v * value).abs());
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
/// it, and those of the solver give the value itself, which is returned.
pub(crate) fn optimality(
    matrix: &Matrix,
    numbers: &Numbers,
    objective: &Objective,
    simplex: &Simplex,
) -> Result<f64, SolveError> {
    let values = &simplex.values;
    let multipliers = &simplex.multipliers;
    let value = objective.value(values);
    let largest_cost = objective.largest();
    let mut bound: f64 = multipliers.iter().zip(&numbers.rhs).map(|(p, b)| p * b).sum();
    let mut size = value.abs().max(largest_cost);
    let bounds = numbers.lower.iter().zip(&numbers.upper);
    let columns = values.iter().zip(bounds).zip(objective.costs()).zip(matrix.iter());
    for (j, (((v, (low, high)), c), entries)) in columns.enumerate() {
        let frozen = simplex.is_frozen(j);
        if frozen && *v == 0.0 {
            continue;
        }
        let reduced = entries
            .iter()
            .fold(*c, |d, (i, a)| d - a * multipliers.get(*i).copied().unwrap_or_default());
        let least = if frozen {
            *v
        } else if reduced.abs() <= ROUNDING * largest_cost {
            continue;
        } else if reduced > 0.0 {
            *low
        } else {
            *high
        };
        if !least.is_finite() {
            let by = reduced.abs() / largest_cost;
            return Err(SolveError::Disagreement { what: "the proof of optimality", by });
        }
        if least != 0.0 {
            bound += reduced * least;
            size = size.max((reduced * least).abs());
        }
    }
    agree("the proof of optimality", (value - bound).abs() / size.max(f64::MIN_POSITIVE))?;
    Ok(value)
}

/// An optimum of the second solver: its own proof closes, and its values keep rows and bounds.
pub(crate) fn optimum(found: &Optimum) -> Result<(), SolveError> {
    for stage in &found.stages {
        let size = stage.value.abs().max(1.0);
        agree("the proof of optimality", (stage.value - stage.bound).abs() / size)?;
    }
    agree("a row or bound of the program", found.residual)
}

/// The doses that come out in the end still have the value that was proved for a stage.
pub(crate) fn held(objective: &Objective, values: &[f64], proved: f64) -> Result<(), SolveError> {
    let size = proved.abs().max(objective.largest()).max(f64::MIN_POSITIVE);
    agree("the value of a finished stage", (objective.value(values) - proved).abs() / size)
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

/// Doses and base waters fill the litre, and no share or dose is out of its bounds.
pub(crate) fn filled(pourable: &PourableColumns, solution: &Solution) -> Result<(), SolveError> {
    let doses = solution.meq_per_l.iter().zip(&pourable.stocks).map(|(u, (_, ml))| u * ml / 1000.0);
    let litre = doses.sum::<f64>() + solution.shares.iter().sum::<f64>();
    agree("the volume of the litre", (litre - 1.0).abs())?;
    let mut outside = solution.meq_per_l.iter().fold(0.0_f64, |worst, u| worst.max(-u));
    for (share, (_, at_most)) in solution.shares.iter().zip(&pourable.base) {
        outside = outside.max(-share).max(share - at_most);
    }
    agree("a share of base water", outside)
}

fn agree(what: &'static str, by: f64) -> Result<(), SolveError> {
    // A comparison that is false for NaN as well.
    if by <= ROUNDING { Ok(()) } else { Err(SolveError::Disagreement { what, by }) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chemistry::Conserved;
    use crate::water::Measure;

    /// Least `x` with `x + y = 1`: 0, with `y = 1`.
    fn program() -> (Matrix, Numbers, Objective, Simplex) {
        let matrix = Matrix::new(1, &[vec![(0, 1.0)], vec![(0, 1.0)]]);
        let numbers =
            Numbers { lower: vec![0.0; 2], upper: vec![f64::INFINITY; 2], rhs: vec![1.0] };
        let mut objective = Objective::default();
        objective.clear(2);
        objective.set(0, 1.0);
        let mut simplex = Simplex::default();
        simplex.start(&matrix, &numbers, &[0], &[], &[]);
        (matrix, numbers, objective, simplex)
    }

    #[test]
    fn only_an_optimum_is_proved() {
        let (matrix, numbers, objective, mut simplex) = program();
        let early = optimality(&matrix, &numbers, &objective, &simplex);
        assert!(matches!(early, Err(SolveError::Disagreement { .. })));
        simplex.minimise(&matrix, &numbers, &objective);
        assert_eq!(optimality(&matrix, &numbers, &objective, &simplex), Ok(0.0));
    }

    #[test]
    fn a_broken_row_a_negative_dose_and_a_lost_stage_are_found() {
        let (matrix, numbers, objective, _) = program();
        assert_eq!(feasibility(&matrix, &numbers, &[0.25, 0.75]), Ok(()));
        assert!(feasibility(&matrix, &numbers, &[0.25, 0.76]).is_err());
        assert!(feasibility(&matrix, &numbers, &[-0.25, 1.25]).is_err());
        assert!(feasibility(&matrix, &numbers, &[f64::NAN, 1.0]).is_err());
        assert_eq!(held(&objective, &[0.25, 0.75], 0.25), Ok(()));
        assert!(held(&objective, &[0.25, 0.75], 0.24).is_err());
    }

    #[test]
    fn misses_are_those_of_the_water() {
        let rows = [Row::band(Measure::Calcium.coefficients(), 2.0, 2.0, 0.1, 10.0)];
        let mut water = Composition::PURE_WATER;
        water.set_mmol_per_l(Conserved::Ca, 0.9);
        let said = |beyond, inside| Solution { beyond, inside, ..Solution::default() };
        // 1.8 meq/L miss 2 by 0.2: 0.1 inside and 0.1 beyond the tolerance, 10 each per meq/L
        assert_eq!(misses(&water, &rows, &said(1.0, 1.0)), Ok(()));
        assert!(misses(&water, &rows, &said(0.9, 1.0)).is_err());
        assert!(misses(&water, &rows, &said(1.0, 0.9)).is_err());
    }
}
