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
mod block;
mod price;
mod pricing;
mod proof;
mod ratio_test;

use crate::planner::lp::block_angular::basis::Solver;
use crate::planner::lp::block_angular::proof::Stage;
use crate::planner::lp::real::Real;

pub(crate) use block::{Block, Failure};

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
