//! waterflight: plans flights of brewing waters.

pub mod analysis;
pub mod chance;
pub mod chemistry;
pub mod quantities;
pub mod reference;
pub mod scores;
pub mod shelf;
pub mod tasting;
pub mod waters;
