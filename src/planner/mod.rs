//! From goals to doses, by linear programming.
//!
//! [`program`] states the problem, [`solver`] hands it to a solver, [`stages`] runs the stages in
//! order, [`recheck`] verifies every answer outside the solver, [`plan`] turns a flight into
//! answers.

mod matrix;
pub mod plan;
pub mod program;
pub mod recheck;
mod simplex;
pub mod solver;
pub mod stages;

pub use plan::{GoalResult, Plan, PlanError, plan_flight};
