//! flight

pub(crate) mod band_words;
pub mod design;
pub mod dispenser;
pub mod dose_limits;
pub mod goal;
pub mod goal_text;
pub mod ladder;
pub mod maker_limit;
pub mod order;
pub mod style;
pub mod targets;

pub use dispenser::{Dispenser, Measured};
pub use dose_limits::DoseLimits;
pub use goal::{Band, Goal, Subject};
pub use goal_text::GoalError;
pub use maker_limit::{Limit, LimitError, LimitSubject};
pub use order::{Order, Pinned, StockRule, StockSet};
pub use style::Style;
pub use targets::{BaseShare, Convention, Flight, MissRule, Preference, Target, not_measured_for};
