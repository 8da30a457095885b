//! planner::lp

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
