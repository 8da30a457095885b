//! planner::whole_flight

pub(crate) mod choose_stocks;
pub mod joint;
pub mod plan_order;
pub mod watch;

pub use plan_order::{Ordered, Unanswered, plan_order, plan_order_watched};
pub use watch::{Progress, Watch};
