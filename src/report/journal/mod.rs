//! All sessions of a bench together: what they said, and what they measured for the next one.

mod measured;
mod page;
mod past;
mod told;

pub use measured::measured_scatter;
pub use past::{Made, PastSession, SAME_MG_PER_L};
pub use told::{Compared, Course, Journal, Recipe, Served};
