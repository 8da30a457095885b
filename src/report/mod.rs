//! Finished results as plain values: what is shown and what JSON carries.

pub mod clouding;
pub mod corrosion;
pub mod guidelines;
pub mod lab;
pub mod meter;
pub mod scale;
pub mod slip;
pub mod water_report;

pub use clouding::{Clouding, Outlook};
pub use corrosion::{CorrosionHint, CorrosionHints};
pub use guidelines::GuidelineRow;
pub use lab::{BoilerSettings, Lab, State};
pub use meter::{Compensation, MeterScale, MeterSettings, Reading};
pub use scale::{Onset, SteamScale};
pub use slip::{Dose, MeterVerdict, Slip};
pub use water_report::{StateReport, WaterReport};
