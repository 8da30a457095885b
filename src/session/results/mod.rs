//! session::results

pub mod aims;
pub mod given;
pub mod pairs;
pub(crate) mod past_sessions;
pub mod ranking;
pub mod results_page;
pub mod reveal_page;
pub mod score_numbers;
pub(crate) mod scores;
pub mod trend;
pub(crate) mod worked_out;

pub use past_sessions::{PastSession, PlannedWaterRecipe, SAME_MG_PER_L};
pub use worked_out::WorkedOut;
