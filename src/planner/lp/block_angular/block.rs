//! One block as it is stated, and why a program of blocks may have no optimum.

use crate::planner::lp::matrix::{Matrix, Numbers, Objective};

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

impl Block {
    pub(super) fn coupled(&self, j: usize) -> &[(usize, f64)] {
        self.coupling.get(j).map_or(&[], Vec::as_slice)
    }
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
