//! Finished results into text; computes nothing.

pub mod cautions;
pub mod diagnostic;
pub mod json;
mod keeping;
pub mod mix;
pub mod salt;
pub mod sources;
mod spread;
pub mod stock;
mod table;
pub mod weigh;
