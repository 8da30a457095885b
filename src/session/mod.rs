//! session

pub mod analysis;
pub mod plan;
pub mod results;
pub mod score;
pub mod serve;
