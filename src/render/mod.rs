//! Finished results into text; computes nothing.

pub mod alternatives;
pub mod cautions;
pub mod diagnostic;
pub mod json;
pub mod ladder;
pub mod mix;
pub mod order;
pub mod salt;
pub mod sources;
pub mod stock;
mod table;
pub mod why;
