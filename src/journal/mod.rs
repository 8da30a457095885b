//! journal

pub(crate) mod measured_sessions;
pub(crate) mod page;
pub mod score_rows;
pub(crate) mod summary;

pub use measured_sessions::measured_scatter;
pub use summary::{ComparedPair, Journal, Recipe, RecipeTrend, ServedWater};
