//! waterflight: plans flights of brewing waters.

pub mod chemistry;
pub mod planner;
pub mod quantities;
pub mod reference;
pub mod shelf;
pub mod waters;
