//! What is wanted and what it starts from: measures, goals, targets, flights, base waters.

pub mod base_water;
pub mod charge_balance;
pub mod design;
pub mod dispenser;
pub mod flight;
pub mod goal;
pub mod goal_text;
pub mod ladder;
pub mod measure;
pub mod order;
pub mod style;

pub use base_water::{AnalysisError, BaseWater};
pub use charge_balance::ChargeBalance;
pub use dispenser::{Dispenser, Measured};
pub use flight::{BaseShare, Convention, Flight, MissRule, Preference, Target};
pub use goal::{Band, Goal, Subject};
pub use goal_text::GoalError;
pub use measure::{Measure, MeasureError};
pub use order::{Order, Pinned, StockRule, StockSet};
pub use style::Style;
