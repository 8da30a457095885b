//! planner: from goals to doses, by linear programming.
//!
//! [`lp`] solves one litre and proves it, [`plan`] turns a flight into answers. With a dispenser
//! [`steps`] gives doses in whole steps; [`whole_flight`] answers for all waters at once; [`explain`]
//! asks further; [`subset`] is the one search for sets of stocks, goals and salts.

pub mod explain;
pub mod lp;
pub mod plan;
pub mod steps;
pub mod subset;
pub mod whole_flight;

pub use plan::{GoalResult, Plan, PlanError, plan_flight};
