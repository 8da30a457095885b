//! session::results

pub mod aims;
pub mod given;
pub mod order_tests;
pub mod pairs;
pub(crate) mod past_sessions;
pub mod ranking;
pub mod results_page;
pub mod reveal_page;
pub mod score_numbers;
pub(crate) mod scores;

pub use past_sessions::{PastSession, PlannedWaterRecipe, SAME_MG_PER_L};
