//! planner::explain

pub mod alternatives;
pub mod nearest;
pub mod reach_region;
pub mod why;

pub use alternatives::alternatives;
pub use nearest::plan_nearest_to;
pub use reach_region::reach_region;
pub use why::{Hints, Why, conflicting_goals, hints, why};
