//! planner::steps: doses in whole steps of a dispenser, by branch and bound.
//!
//! [`portions`] states a water in steps, `relaxation` each stage of it as a program of divisible doses
//! and `weak_duality` what multipliers prove of that; `tableau` solves it. `branch_and_bound` searches:
//! `branching` chooses where to split, `bounding` fathoms nodes, `rounding` and `incumbent` find
//! choices. [`proof`] says what is proved, [`deliver`] turns it into plans.
//!
//! The program is another one than [`crate::planner::lp`] states: its misses are those of a finished
//! litre whose volume depends on the doses, and what earlier stages reached is kept by caps. Both read
//! their coefficients and what a deviation costs from there.

pub(crate) mod bounding;
pub(crate) mod branch_and_bound;
pub(crate) mod branching;
pub mod deliver;
pub(crate) mod incumbent;
pub mod portions;
pub(crate) mod program_builder;
pub mod proof;
pub(crate) mod relaxation;
pub(crate) mod rounding;
pub(crate) mod tableau;
pub(crate) mod weak_duality;

pub use deliver::{Delivered, deliver_target};
pub use proof::Proof;
