//! Finished results as plain values: what is printed and what `--json` writes.

pub mod clouding;
pub mod corrosion;
pub mod described;
pub mod guidelines;
pub mod keyed;
pub mod lab;
pub mod meter;
pub mod mix_report;
pub mod note;
pub mod salt_report;
pub mod scale;
pub mod slip;
pub mod stock_report;
pub mod water_answer;
pub mod water_report;

pub use clouding::{Clouding, Outlook};
pub use corrosion::{CorrosionHint, CorrosionHints};
pub use described::Described;
pub use guidelines::GuidelineRow;
pub use keyed::Keyed;
pub use lab::{BoilerSettings, Lab, State};
pub use meter::{Compensation, Meter, MeterScale, MeterSettings, Reading};
pub use mix_report::{MixReport, ReportError};
pub use note::Note;
pub use salt_report::{HydrateReport, SaltReport};
pub use scale::{Onset, SteamScale};
pub use slip::{Dose, MeterVerdict, Slip};
pub use stock_report::StockReport;
pub use water_answer::{Glance, WaterAnswer};
pub use water_report::{StateReport, WaterReport};
