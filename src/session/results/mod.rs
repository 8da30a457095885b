//! A revealed session as numbers and as a page: verdicts first, then effects with their intervals,
//! tests, tasters, every answer given, and what was in the cups.
//!
//! May use: `quantities`, `text`, `chemistry`, `water`, and the other rooms of `session`. Never: a
//! test of its own (that is `analysis`), or a mean without saying what its error was.
//!
//! ```
//! use waterflight::session::results::PlannedWaterRecipe;
//!
//! let made = |calcium_mg_per_l: f64| PlannedWaterRecipe {
//!     water: "soft".to_owned(),
//!     doses_ml_per_l: vec![("calcium".to_owned(), 0.92)],
//!     base: vec![("distilled".to_owned(), 1.0)],
//!     mg_per_l: vec![("Ca".to_owned(), calcium_mg_per_l)],
//!     ..PlannedWaterRecipe::default()
//! };
//! assert!(made(12.0).same_recipe(&made(12.4))); // within 0.5 mg/L
//! assert!(!made(12.0).same_recipe(&made(12.6)));
//! ```

pub mod aims;
pub mod given;
pub mod leading;
pub mod order_tests;
pub mod pairs;
pub(crate) mod past_sessions;
pub mod ranking;
pub mod results_page;
pub mod reveal_page;
pub mod score_numbers;
pub(crate) mod scores;
pub mod standings;
pub(crate) mod worked_out;

pub use past_sessions::{PastSession, PlannedWaterRecipe, SAME_MG_PER_L};
pub use worked_out::WorkedOut;
