//! Waters as people measure them: measures with their units, analyses with their gaps, base waters,
//! charge balance, what a meter shows, and what a water has become since a session.
//!
//! What an analysis does not list was not measured, which is not zero: a [`Measure`] of such a
//! water is [`None`], with bounds where the charges give them. May use: `reference`, `quantities`,
//! `chemistry`. Never: a stock or a goal, nor a default for what nobody measured.
//!
//! ```
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! use waterflight::water::{Amount, Analysis, Measure};
//!
//! // 4 °dH are 40 mg/L of CaO, 2 · 40 / 56.077 meq/L
//! let (meq_per_l, _) = Measure::Hardness.parse("4 °dH")?;
//! assert!((meq_per_l - 1.426_61).abs() < 1e-5);
//! let calcium = Amount::parse(Measure::Calcium, "80 mg/L")?.ok_or("not measured")?;
//! let tap = Analysis::new("tap".to_owned(), vec![(Measure::Calcium, calcium)]).water()?;
//! assert_eq!(Measure::Chloride.measured(&tap.composition), None);
//! # Ok(())
//! # }
//! ```

pub mod analysis;
pub mod analysis_error;
pub mod base_water;
pub mod charge_balance;
pub mod charge_columns;
mod drinking_limits;
mod label_names;
pub mod measure;
pub(crate) mod measured;
pub mod measured_sums;
pub mod meter;
pub mod plausible;
pub mod trade_words;
pub(crate) mod unmeasured;
pub mod usual_units;
pub mod water_change;

pub use analysis::{Amount, Analysis, NotListed};
pub use analysis_error::AnalysisError;
pub use base_water::BaseWater;
pub use charge_balance::{BalanceVerdict, ChargeBalance};
pub use measure::{Measure, MeasureError};
pub use meter::{Compensation, Meter, MeterScale, MeterSettings, Reading};
pub use plausible::Implausible;
pub use unmeasured::bound_by_charge;
