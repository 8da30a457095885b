//! What is wanted: goals on measures, targets, flights with their conventions, dispensers, limits,
//! one style for all waters, targets that are pinned, and designs of new flights (ladders,
//! mixtures).
//!
//! May use: `quantities`, `chemistry`, `water`. Never: how it is reached (`planner`) or how a file
//! spells it (`bench`), but for goals and limits, which read as people write them.
//!
//! ```
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! use waterflight::flight::Goal;
//! use waterflight::water::Measure;
//!
//! let goal = Goal::parse(Measure::Sulfate, "between 50 and 70 mg/L")?;
//! let (wanted, _) = Measure::Sulfate.parse("45 mg/L")?;
//! // 5 mg/L of sulfate below the band, 2 · 5 / 96.056 meq/L
//! assert!((goal.band.miss(wanted) + 0.104_106).abs() < 1e-5);
//! # Ok(())
//! # }
//! ```

pub(crate) mod band_words;
pub mod design;
pub mod dispenser;
pub mod dose_limits;
pub mod goal;
pub(crate) mod goal_error;
pub mod goal_text;
pub mod ladder;
pub mod maker_limit;
pub mod order;
pub mod style;
pub mod targets;

pub use dispenser::{Dispenser, Measured};
pub use dose_limits::DoseLimits;
pub use goal::{Band, Goal, Subject};
pub use goal_error::GoalError;
pub use maker_limit::{Limit, LimitError, LimitSubject};
pub use order::{Order, Pinned, StockRule, StockSet};
pub use style::Style;
pub use targets::{BaseShare, Convention, Flight, MissRule, Preference, Target, not_measured_for};
