//! planner::explain

pub mod alternatives;
pub mod charges;
pub mod nearest;
pub mod out_of_reach;
pub mod remedies;
pub mod why;

pub use alternatives::alternatives;
pub use nearest::plan_nearest_to;
pub use out_of_reach::{Explainer, Hints, conflicting_goals};
pub use why::{Why, why};
