//! Every answer is re-evaluated outside the solver. A disagreement is an error, not a note.
//!
//! Independent checks: no better value of a stage exists, by weak duality from the original
//! numbers ([`optimality`]); the final values still have it ([`held`]) and keep the rows and
//! bounds ([`feasibility`]); and the goals, evaluated on the composition that the doses really
//! give, miss by what the solver says ([`misses`]).

#![expect(clippy::indexing_slicing, reason = "row numbers come from the matrix they index")]

use crate::chemistry::Composition;
use crate::planner::lp::block_angular::Optimum;
use crate::planner::lp::piecewise::{BAND, Piecewise, SEGMENTS, StageCost, axpy};
use crate::planner::lp::program::{Deviations, PourableColumns, Row};
use crate::planner::lp::simplex::Simplex;
use crate::planner::lp::solution::{Solution, SolveError};
use crate::planner::lp::status::RowStatus;

/// Our choice: differences up to this share of the numbers compared are rounding. Rows are in
/// meq/L, so it is a billionth of what any dispenser resolves.
const ROUNDING: f64 = 1e-8;

/// Rows and bounds hold: the values `t` of the rows are those of the stocks and base waters `x`.
pub(crate) fn feasibility(program: &Piecewise, x: &[f64], t: &[f64]) -> Result<(), SolveError> {
    // `max` would pass over a NaN.
    if !x.iter().all(|v| v.is_finite()) {
        return Err(SolveError::Disagreement { what: "a value", by: f64::INFINITY });
    }
    let mut worst = 0.0_f64;
    for (value, upper) in x.iter().zip(&program.upper) {
        worst = worst.max((-value).max(value - upper) / value.abs().max(1.0));
    }
    for (i, (row, t)) in program.rows.iter().zip(t).enumerate() {
        let value = program.value(i, x);
        let mut outside = (value - t).abs();
        if !program.is_goal(i) {
            // The volume and the limits; a goal may have any value.
            outside = outside.max(row.breaks[BAND] - value).max(value - row.breaks[BAND + 1]);
        }
        worst = worst.max(outside / value.abs().max(1.0));
    }
    agree("a row or bound of the program", worst)
}

/// The value of a stage cannot be bettered: any multipliers of the rows give a lower bound on
/// it, and those of the solver give the value itself, which is returned. `reduced` is room for the
/// reduced costs.
pub(crate) fn optimality(
    program: &Piecewise,
    rows: &[Row],
    stage: StageCost<'_>,
    simplex: &Simplex,
    reduced: &mut Vec<f64>,
) -> Result<f64, SolveError> {
    let largest_cost = program.largest_cost(stage);
    let none = ROUNDING * largest_cost;
    let unproved = |reduced: f64| SolveError::Disagreement {
        what: "the proof of optimality",
        by: reduced.abs() / largest_cost,
    };
    let (mut value, mut bound, mut size) = (0.0, 0.0, largest_cost);
    stage.columns_into(reduced, program.columns);
    let slopes = stage.slopes();
    for (i, (row, status)) in program.rows.iter().zip(&simplex.row_status).enumerate() {
        let multiplier = simplex.multipliers[i];
        if multiplier != 0.0 {
            axpy(reduced, -multiplier, program.row(i));
        }
        let (t, goal) = (simplex.t[i], i.checked_sub(1).and_then(|i| rows.get(i)));
        let cost = goal.map_or(0.0, |goal| cost_at(stage, goal, t));
        if multiplier == 0.0 && cost <= 0.0 {
            // No value of a row costs less than nothing.
            continue;
        }
        value += cost;
        let is_set = status.from > status.to || row.breaks[0] > f64::NEG_INFINITY;
        bound += if is_set {
            cost + multiplier * t
        } else {
            let slope = |segment: usize| row.rate * slopes[segment] + multiplier;
            let place = lowest(status, &row.breaks, slope, none);
            let t = row.breaks[place.ok_or_else(|| unproved(multiplier))?];
            goal.map_or(0.0, |goal| cost_at(stage, goal, t)) + multiplier * t
        };
        size = size.max((multiplier * t).abs());
    }
    for (j, (d, x)) in reduced.iter().zip(&simplex.x).enumerate() {
        let is_fixed = *x > 0.0 && simplex.is_fixed(j);
        if *d >= -none && !is_fixed {
            // The lower bound is zero; what is no cost adds nothing at either bound.
            continue;
        }
        let least = if simplex.is_fixed(j) { *x } else { program.upper[j] };
        if !least.is_finite() {
            return Err(unproved(*d));
        }
        bound += d * least;
        size = size.max((d * least).abs());
    }
    value += stage.of_columns(&simplex.x);
    size = size.max(value.abs());
    agree("the proof of optimality", (value - bound).abs() / size.max(f64::MIN_POSITIVE))?;
    Ok(value)
}

/// The break at which a row's cost, with its multiplier, is least; none when it falls without end by
/// more than `none`.
fn lowest(
    status: &RowStatus,
    breaks: &[f64; SEGMENTS + 1],
    slope: impl Fn(usize) -> f64,
    none: f64,
) -> Option<usize> {
    // Slopes rise from segment to segment.
    let rising = (status.from..=status.to).find(|segment| slope(*segment) >= 0.0);
    let mut place = rising.unwrap_or(status.to + 1);
    if breaks[place] == f64::NEG_INFINITY && slope(place) <= none {
        place += 1;
    } else if breaks[place] == f64::INFINITY && slope(place - 1) >= -none {
        place -= 1;
    }
    breaks[place].is_finite().then_some(place)
}

/// What a value of a goal's row costs in a stage.
fn cost_at(stage: StageCost<'_>, row: &Row, value: f64) -> f64 {
    match stage {
        StageCost::Beyond => row.costs(value).0,
        StageCost::Inside => row.costs(value).1,
        StageCost::Linear(_) | StageCost::Blend(_) => 0.0,
    }
}

/// An optimum of the second solver: its own proof closes, and its values keep rows and bounds.
pub(crate) fn optimum(found: &Optimum) -> Result<(), SolveError> {
    for stage in &found.stages {
        let size = stage.value.abs().max(1.0);
        agree("the proof of optimality", (stage.value - stage.bound).abs() / size)?;
    }
    agree("a row or bound of the program", found.residual)
}

/// The doses that come out in the end still have the value that was proved for a stage, of which
/// `largest` is the largest cost.
pub(crate) fn held(value: f64, proved: f64, largest: f64) -> Result<(), SolveError> {
    let size = proved.abs().max(largest).max(f64::MIN_POSITIVE);
    agree("the value of a finished stage", (value - proved).abs() / size)
}

/// The composition that the doses give misses the goals by what the solver says.
///
/// # Errors
/// [`SolveError::Disagreement`] when it does not.
pub fn misses(water: &Composition, rows: &[Row], solution: &Solution) -> Result<(), SolveError> {
    let mut size = 1.0_f64;
    let deviations = Deviations::of(rows.iter().map(|row| {
        let value = water.dot(&row.form);
        // What rounding of the value itself can do to the cost.
        size = size.max(row.rate * value.abs().max(row.reference.abs()));
        (row, value)
    }));
    let [beyond, inside] =
        [deviations.beyond - solution.beyond, deviations.inside - solution.inside];
    agree("the sum of misses beyond tolerance", beyond.abs() / size)?;
    agree("the sum of misses inside tolerance", inside.abs() / size)
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
    use crate::planner::lp::program::Priorities;
    use crate::water::Measure;

    /// Two waters share a litre, and the second brings all the calcium; of it 2 meq/L are wanted,
    /// and as little of the first as may be.
    fn program() -> (Piecewise, Vec<Row>, Simplex) {
        let mut hard = Composition::PURE_WATER;
        hard.set_mmol_per_l(Conserved::Ca, 2.0);
        let pourable = PourableColumns {
            base: vec![(Composition::PURE_WATER, 1.0), (hard, 1.0)],
            ..PourableColumns::default()
        };
        let rows = vec![Row::band(*Measure::Calcium.coefficients(), 2.0, 2.0, 0.1, 10.0)];
        let priorities =
            Priorities { preference: vec![(vec![], vec![1.0, 0.0])], ..Priorities::default() };
        let mut program = Piecewise::default();
        program.prepare(&pourable, &rows, &priorities, &[], &[]);
        let mut simplex = Simplex::default();
        simplex.start(&program, &[], 0);
        (program, rows, simplex)
    }

    #[test]
    fn only_an_optimum_is_proved() {
        let (program, rows, mut simplex) = program();
        simplex.price(&program, StageCost::Beyond);
        let early = optimality(&program, &rows, StageCost::Beyond, &simplex, &mut Vec::new());
        assert!(matches!(early, Err(SolveError::Disagreement { .. })), "{early:?}");
        simplex.minimise(&program, StageCost::Beyond);
        let proved = optimality(&program, &rows, StageCost::Beyond, &simplex, &mut Vec::new());
        assert!(proved.is_ok_and(|value| value.abs() < 1e-12));
    }

    #[test]
    fn a_broken_row_a_negative_dose_and_a_lost_stage_are_found() {
        let (program, ..) = program();
        // 2 mmol/L of calcium are 4 meq/L
        assert_eq!(feasibility(&program, &[0.25, 0.75], &[1.0, 3.0]), Ok(()));
        assert!(feasibility(&program, &[0.25, 0.75], &[1.0, 3.1]).is_err());
        assert!(feasibility(&program, &[0.25, 0.76], &[1.0, 3.0]).is_err());
        assert!(feasibility(&program, &[-0.25, 1.25], &[1.0, 5.0]).is_err());
        assert!(feasibility(&program, &[f64::NAN, 1.0], &[1.0, 3.0]).is_err());
        assert_eq!(held(0.25, 0.25, 1.0), Ok(()));
        assert!(held(0.25, 0.24, 1.0).is_err());
    }

    #[test]
    fn misses_are_those_of_the_water() {
        let rows = [Row::band(*Measure::Calcium.coefficients(), 2.0, 2.0, 0.1, 10.0)];
        let mut water = Composition::PURE_WATER;
        water.set_mmol_per_l(Conserved::Ca, 0.9);
        let said = |beyond, inside| Solution { beyond, inside, ..Solution::default() };
        // 1.8 meq/L miss 2 by 0.2: 0.1 inside and 0.1 beyond the tolerance, 10 each per meq/L
        assert_eq!(misses(&water, &rows, &said(1.0, 1.0)), Ok(()));
        assert!(misses(&water, &rows, &said(0.9, 1.0)).is_err());
        assert!(misses(&water, &rows, &said(1.0, 0.9)).is_err());
    }
}
