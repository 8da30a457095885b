//! planner::steps

pub mod branch;
pub mod deliver;
pub mod portions;
pub(crate) mod relaxation;
pub(crate) mod tableau;

pub use branch::Proof;
pub use deliver::{Delivered, deliver_target};
