//! What is wanted and what it starts from: measures, goals, targets, flights, base waters.

pub mod analysis;
pub mod analysis_error;
pub mod base_water;
pub mod charge_balance;
pub mod design;
pub mod dispenser;
pub mod dose_limits;
pub mod flight;
pub mod goal;
pub mod goal_text;
pub mod ladder;
pub mod limit;
pub mod measure;
mod measured;
pub mod order;
pub mod plausible;
pub mod style;
mod unmeasured;
mod worded;

pub use analysis::{Amount, Analysis, NotListed};
pub use analysis_error::AnalysisError;
pub use base_water::BaseWater;
pub use charge_balance::{BalanceVerdict, ChargeBalance};
pub use dispenser::{Dispenser, Measured};
pub use dose_limits::DoseLimits;
pub use flight::{BaseShare, Convention, Flight, MissRule, Preference, Target, not_measured_for};
pub use goal::{Band, Goal, Subject};
pub use goal_text::GoalError;
pub use limit::{Limit, LimitError, Limited};
pub use measure::{Measure, MeasureError};
pub use order::{Order, Pinned, StockRule, StockSet};
pub use plausible::Doubtful;
pub use style::Style;
pub use unmeasured::open_by_charge;
