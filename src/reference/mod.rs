//! Published numbers, one file per publication, and nothing that computes.

pub mod atomic_weights;
pub mod laliberte_2009;
pub mod source;
pub mod water_hardness;
