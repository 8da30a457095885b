//! water

pub mod analysis;
pub mod analysis_error;
pub mod base_water;
pub mod charge_balance;
pub mod measure;
pub(crate) mod measured;
pub mod meter;
pub mod plausible;
pub mod trade_words;
pub(crate) mod unmeasured;
pub mod water_change;

pub use analysis::{Amount, Analysis, NotListed};
pub use analysis_error::AnalysisError;
pub use base_water::BaseWater;
pub use charge_balance::{BalanceVerdict, ChargeBalance};
pub use measure::{Measure, MeasureError};
pub use meter::{Compensation, Meter, MeterScale, MeterSettings, Reading};
pub use plausible::Implausible;
pub use unmeasured::open_by_charge;
