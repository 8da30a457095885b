//! Finished results into text; computes nothing.

pub mod advise;
pub mod alternatives;
pub mod batch;
pub mod cautions;
mod chart;
pub mod concentrate;
mod cost;
pub mod diagnostic;
pub mod json;
mod keeping;
pub mod ladder;
pub mod mix;
pub mod order;
pub mod page;
pub mod read;
pub mod recipe;
pub mod salt;
pub mod sources;
mod spread;
pub mod stock;
pub mod stocktake;
mod table;
mod unknowns;
pub mod verify;
pub mod water;
pub mod weigh;
pub mod why;
