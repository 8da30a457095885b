//! planner::whole_flight: what joins the waters of a flight.
//!
//! [`plan_order`] plans a flight as its order asks; `choose_stocks` which stocks it opens; [`joint`] the
//! waters that share what is left in a bottle; [`watch`] tells someone who waits.

pub(crate) mod choose_stocks;
pub mod joint;
pub mod plan_order;
pub mod watch;

pub use plan_order::{Ordered, Unanswered, plan_order, plan_order_watched};
pub use watch::{Progress, Watch};
