//! From goals to doses, by linear programming.
//!
//! [`program`] states the problem, [`solver`] hands it to a solver, [`stages`] runs the stages in
//! order, [`recheck`] verifies every answer outside the solver, [`plan`] turns a flight into
//! answers. With a dispenser [`portions`] states doses in steps, [`branch`] searches them and
//! [`deliver`] turns them into plans; [`whole_flight`] answers for all waters at once; [`why`],
//! [`alternatives`] and [`choices`] ask further.

pub mod explain;
pub mod lp;
pub mod plan;
pub mod steps;
pub mod stock_set;
pub(crate) mod threads;
pub mod whole_flight;

pub use plan::{GoalResult, Plan, PlanError, plan_flight};
