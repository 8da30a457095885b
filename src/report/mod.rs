//! Finished results as plain structs: what is printed and what `--json` writes.

pub mod alternatives_report;
pub mod keyed;
pub mod mix_report;
pub mod note;
pub mod order_report;
pub mod salt_report;
pub mod stock_report;
pub mod table_report;
pub mod why_report;

pub use alternatives_report::AlternativesReport;
pub use keyed::Keyed;
pub use mix_report::{MixReport, ReportError};
pub use note::Note;
pub use order_report::OrderReport;
pub use salt_report::{HydrateReport, SaltReport};
pub use stock_report::StockReport;
pub use why_report::WhyReport;
