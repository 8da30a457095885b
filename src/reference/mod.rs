//! Published numbers, one file per publication, and nothing that computes.

pub mod atomic_weights;
pub mod carbonate_25;
pub mod laliberte_2009;
pub mod magnesium_sulfate_conductivity;
pub mod mccleskey_2011;
pub mod source;
pub mod water_hardness;
