//! Finished results as plain structs: what is printed and what `--json` writes.

pub mod advise;
pub mod cost;
pub mod keeping_report;
pub mod keyed;
pub mod mix_report;
pub mod note;
pub mod round_strength;
pub mod salt_report;
pub mod spread;
pub mod stock_report;
pub mod stocktake;
pub mod verify_report;
pub mod weigh_report;

pub use advise::AdviceReport;
pub use cost::CostReport;
pub use keeping_report::KeepingReport;
pub use keyed::Keyed;
pub use mix_report::{MixReport, ReportError};
pub use note::Note;
pub use salt_report::{HydrateReport, SaltReport};
pub use spread::{Draws, SpreadReport};
pub use stock_report::StockReport;
pub use stocktake::StocktakeReport;
pub use verify_report::VerifyReport;
pub use weigh_report::{WeighReport, WeighedReport};
