//! From goals to doses, by linear programming.
//!
//! [`program`] states the problem, [`solver`] hands it to a solver, [`stages`] runs the stages in
//! order, [`recheck`] verifies every answer outside the solver, [`plan`] turns a flight into
//! answers. With a dispenser [`portions`] states doses in steps, [`branch`] searches them and
//! [`deliver`] turns them into plans; [`whole_flight`] answers for all waters at once; [`why`],
//! [`alternatives`] and [`choices`] ask further.

pub mod alternatives;
mod blocks;
pub mod branch;
mod choose_stocks;
pub mod deliver;
pub mod few_salts;
pub mod joint;
mod litre;
mod matrix;
pub mod nearest;
pub mod plan;
pub mod portions;
pub mod program;
mod real;
pub mod recheck;
mod relaxation;
mod simplex;
pub mod solver;
pub mod stages;
pub mod stock_set;
mod tableau;
pub mod watch;
pub mod weigh_out;
pub mod whole_flight;
pub mod why;

pub use alternatives::alternatives;
pub use branch::Proof;
pub use deliver::{Delivered, deliver_target};
pub use nearest::plan_nearest_to;
pub use plan::{GoalResult, Plan, PlanError, plan_flight};
pub use watch::{Progress, Watch};
pub use weigh_out::WeighedOut;
pub use whole_flight::{Ordered, Unanswered, plan_order, plan_order_watched};
pub use why::{Hints, Why, conflicting_goals, hints, why};
