//! assessment

pub mod clouding;
pub mod corrosion;
pub mod described;
pub mod guidelines;
pub mod lab;
pub mod limescale;
pub mod limescale_curve;
pub mod machine;
pub(crate) mod machine_text;
pub(crate) mod published_text;
pub mod read_text;
pub mod slip;
pub mod steam_scale;
pub mod unknowns;
pub(crate) mod unknowns_text;
pub mod water_answer;
pub(crate) mod water_holds_text;
pub mod water_report;
pub(crate) mod water_summary_text;
pub mod water_text;
pub mod withheld;

pub use clouding::{Clouding, Outlook};
pub use corrosion::{CorrosionHint, CorrosionHints};
pub use described::Described;
pub use guidelines::GuidelineRow;
pub use lab::{BoilerSettings, Lab, State};
pub use limescale::Precipitates;
pub use machine::{MachineProfile, MachineReport};
pub use slip::{Dose, MeterVerdict, Slip};
pub use steam_scale::{Onset, SteamScale};
pub use unknowns::Unknowns;
pub use water_answer::{Glance, WaterAnswer};
pub use water_report::{StateReport, WaterReport};
pub use withheld::{Withheld, WithheldFigure};
