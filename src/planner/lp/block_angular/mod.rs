//! Block-angular programs, joined by a few rows only: the waters of a flight that share what is left
//! in a bottle of stock. Also the careful solver for a single water, in numbers of twice the digits;
//! the quick one is [`crate::planner::lp::simplex`]. Both are needed: this one joins blocks and computes in any
//! numbers, that one solves ten thousand small programs within a frame.
//!
//! Each block has rows and columns of its own; coupling rows `Σ C_t·x_t ≤ r` join them. Method:
//! the primal simplex with bounded variables and a basis kept in parts (Lasdon, "Optimization
//! Theory for Large Systems", 1970, chapter 6; from memory). Each block keeps the inverse of its
//! key columns, one for each of its rows; the few basic columns beyond them, one for each coupling
//! row, make a working basis of their own. A step touches the block of the entering column and
//! those with a column in the working basis, so its price does not grow with the flight.
//!
//! Stages are fixed as in [`crate::planner::lp::simplex`]: columns with a reduced cost may not move again. A
//! reduced cost counts as zero by the size of the terms it is made of, column by column.

mod basis;
mod pricing;
mod proof;
mod ratio_test;

use crate::planner::lp::block_angular::basis::Solver;
use crate::planner::lp::matrix::{Matrix, Numbers, Objective};
use crate::planner::lp::real::Real;

/// The rows and columns of one block, with the costs of every stage and its first basis.
#[derive(Debug, Clone)]
pub(crate) struct Block {
    pub(crate) matrix: Matrix,
    pub(crate) numbers: Numbers,
    pub(crate) objectives: Vec<Objective>,
    /// By column: coupling row and coefficient. Columns beyond the list are in none.
    pub(crate) coupling: Vec<Vec<(usize, f64)>>,
    /// One column for each row; together they solve the rows within their bounds.
    pub(crate) basis: Vec<usize>,
    /// Columns that begin at their upper bound.
    pub(crate) at_upper: Vec<usize>,
}

/// Why there is no optimum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Failure {
    /// The objective falls without end.
    Unbounded,
    /// No progress.
    Stalled,
    /// A basis that cannot be inverted.
    Singular,
    /// The caller asked to stop.
    Cancelled,
}

impl Failure {
    /// How it ended, in words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Failure::Unbounded => "no bound",
            Failure::Stalled => "no progress",
            Failure::Singular => "dependent rows",
            Failure::Cancelled => "a stop from outside",
        }
    }
}

/// What a stage came to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stage {
    pub(crate) value: f64,
    /// No values of the columns, what earlier stages fixed kept, have a lower one (weak duality).
    pub(crate) bound: f64,
}

/// The optimum of every stage.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Optimum {
    /// Values of the columns of each block.
    pub(crate) values: Vec<Vec<f64>>,
    pub(crate) stages: Vec<Stage>,
    /// Largest distance from a row or bound, relative to the terms of the row.
    pub(crate) residual: f64,
}

/// Solves all stages in numbers of this kind. `proceed` is asked now and then with the stage and the
/// part of the blocks looked at.
pub(crate) fn solve<R: Real>(
    blocks: &[Block],
    limits: &[f64],
    proceed: &mut dyn FnMut(usize, f64) -> bool,
) -> Result<Optimum, Failure> {
    let mut run = Solver::<R>::new(blocks, limits)?;
    let stages = blocks.first().map_or(0, |b| b.objectives.len());
    let mut proved = Vec::with_capacity(stages);
    for stage in 0..stages {
        run.minimise(stage, proceed)?;
        run.refresh()?;
        run.minimise(stage, proceed)?;
        proved.push(run.freeze(stage));
    }
    run.refresh()?;
    Ok(Optimum { values: run.values(), stages: proved, residual: run.residual() })
}

/// Our choice, in parts of the last place: what rounding leaves of a reduced cost, of a pivot and
/// of a step. Seven digits of sixteen, or of thirty-two, are left for what the pivots lose.
const ROUNDING_ULPS: f64 = 262_144.0;
/// Our choice: a basic column whose reduced cost is above this part of its terms has been lost to
/// rounding, and nothing is proved.
const BASIC_ROUNDING: f64 = 1e-11;
/// Our choice: the coefficients are numbers of the machine, each rounded once or twice.
const DATA_ROUNDING: f64 = 16.0 * f64::EPSILON;
/// Steps without progress before the rule that cannot cycle takes over (Bland 1977).
const DEGENERATE_STEPS: usize = 200;
/// Our choice: steps for each row of all blocks; many times what is usual.
const MOST_STEPS: usize = 200;

impl Block {
    pub(super) fn coupled(&self, j: usize) -> &[(usize, f64)] {
        self.coupling.get(j).map_or(&[], Vec::as_slice)
    }
}
