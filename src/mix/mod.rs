//! A planned flight as people read it: doses and what each water holds, its ±, its cost, steps and
//! sets of stocks, why and what else, which targets a shelf can make, how strong stocks should be, what
//! is left in each bottle.
//!
//! Reports are plain structs that `--json` writes, each with its text beside it. May use: all rooms
//! up to `planner` and `assessment`, `quantities`, `text`. Never: a user's file or a dose of its
//! own making.
//!
//! ```
//! # use waterflight::bench::Bench;
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let bench = Bench::open("stocks/demo".as_ref())?;
//! # let file = bench.flight_file(None)?;
//! # let (flight, stocks) = bench.flight(file)?;
//! use waterflight::mix::MixReport;
//! use waterflight::planner::plan_flight;
//!
//! let report = MixReport::new(&flight, &stocks, &plan_flight(&flight, &stocks)?)?;
//! assert_eq!(report.waters.len(), 8);
//! let calcium = &report.stocks_used[0]; // for one bottle of each water
//! assert!(calcium.stock == "calcium" && (calcium.ml - 9.67).abs() < 5e-3);
//! # Ok(())
//! # }
//! ```

pub mod advise;
pub mod advise_text;
pub mod alternatives_report;
pub mod alternatives_text;
pub mod cost;
pub(crate) mod cost_text;
mod dose_table;
pub mod dosing;
pub mod flight_map;
pub mod flight_use;
pub mod kept_out;
pub mod mix_report;
pub mod mix_short_text;
pub mod mix_text;
pub mod one_style;
pub mod order_report;
pub mod order_text;
pub(crate) mod pour_order;
pub mod reach_report;
pub mod round_strength;
pub mod shelf_reach;
pub mod spread;
pub(crate) mod spread_base;
pub(crate) mod spread_readout;
pub(crate) mod spread_text;
pub mod stocktake;
pub mod stocktake_text;
pub mod table_report;
pub mod water_mix;
pub mod why_report;
pub mod why_text;

pub use advise::AdviceReport;
pub use alternatives_report::AlternativesReport;
pub use cost::CostReport;
pub use dosing::tools_with;
pub use mix_report::MixReport;
pub use order_report::OrderReport;
pub use spread::{Draws, SpreadReport};
pub use stocktake::StocktakeReport;
pub use water_mix::ReportError;
pub use why_report::WhyReport;
