//! mix

pub mod advise;
pub mod advise_text;
pub mod alternatives_report;
pub mod alternatives_text;
pub mod cost;
pub(crate) mod cost_text;
pub mod dosing;
pub mod ladder_text;
pub mod mix_report;
pub mod mix_short_text;
pub mod mix_text;
pub mod one_style;
pub mod order_report;
pub mod order_text;
pub mod reach_report;
pub mod round_strength;
pub mod spread;
pub(crate) mod spread_base;
pub(crate) mod spread_text;
pub mod stocktake;
pub mod stocktake_text;
pub mod table_report;
pub mod why_report;
pub mod why_text;

pub use advise::AdviceReport;
pub use alternatives_report::AlternativesReport;
pub use cost::CostReport;
pub use dosing::tools_with;
pub use mix_report::{MixReport, ReportError};
pub use order_report::OrderReport;
pub use spread::{Draws, SpreadReport};
pub use stocktake::StocktakeReport;
pub use why_report::WhyReport;
