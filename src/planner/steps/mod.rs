//! planner::steps

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
