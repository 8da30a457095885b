//! planner::lp: the program of one litre and its solvers.
//!
//! [`program`] states it: what can be poured, rows of goals, limits, costs of preferences.
//! `piecewise` gathers that for the quick solver (`simplex`, `long_step`, `warm_start`); `litre`
//! writes every deviation out as a column for the careful one (`block_angular`), which also joins the
//! waters of a flight, and for the second opinion (`solver`). [`stages`] runs the stages in order,
//! [`recheck`] proves every answer from the original numbers.
//!
//! What may come in: numbers and their proofs. What may not: targets of more than one litre, steps of
//! a dispenser, words for a user.

pub(crate) mod block_angular;
pub(crate) mod litre;
pub(crate) mod long_step;
pub(crate) mod matrix;
pub(crate) mod piecewise;
pub mod program;
pub(crate) mod real;
pub mod recheck;
pub(crate) mod simplex;
pub mod solver;
pub mod stages;
pub(crate) mod status;
pub(crate) mod warm_start;
