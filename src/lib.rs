//! waterflight: plans flights of brewing waters.

pub mod bench;
pub mod chemistry;
pub mod cli;
pub mod files;
pub mod planner;
pub mod quantities;
pub mod reference;
pub mod render;
pub mod report;
pub mod shelf;
pub mod waters;
