//! planner::explain: questions beside the plan, each answered by planning again.
//!
//! [`why`] says what a water hangs on; [`out_of_reach`] which goals conflict and what limits have to do
//! with it; [`charges`] whether it could be neutral; [`remedies`] which salts would reach it;
//! [`alternatives`] other recipes; [`nearest`] the water most like another one.

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
