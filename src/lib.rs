//! waterflight: plans flights of brewing waters.

pub mod chemistry;
pub mod quantities;
pub mod reference;
pub mod report;
pub mod shelf;
pub mod waters;
