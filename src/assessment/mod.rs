//! A finished water before anyone drinks it or a machine boils it: pH and saturation in every
//! state, limescale, hints at corrosion, clouding, the limits of a machine, and a meter's reading
//! against it.
//!
//! [`Lab`] prepares the temperatures once and is then asked of each water. May use: `reference`,
//! `quantities`, `text`, `chemistry`, `water`, `stock`, `flight`, `planner` (whose waters it
//! names). Never: the word "safe", a verdict that is not the maker's, or a figure that needs an ion
//! nobody measured (see [`withheld`]).
//!
//! ```
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! use waterflight::assessment::{BoilerSettings, Glance, Lab};
//! use waterflight::chemistry::{Composition, Conserved};
//!
//! let mut water = Composition::PURE_WATER; // 1 mmol/L Ca(HCO3)2
//! for (of, mmol_per_l) in [(Conserved::Ca, 1.0), (Conserved::Alkalinity, 2.0), (Conserved::Dic, 2.0)] {
//!     water.set_mmol_per_l(of, mmol_per_l);
//! }
//! let glance = Glance::new(&Lab::new(BoilerSettings::default())?, &water)?;
//! assert!(glance.si_calcite_brew_degassed > glance.si_calcite_closed); // heat brings limescale
//! # Ok(())
//! # }
//! ```

pub mod clouding;
pub mod corrosion;
pub mod corrosion_levels;
pub mod described;
pub mod guidelines;
pub mod lab;
pub mod limescale;
pub mod limescale_curve;
pub mod machine;
pub(crate) mod machine_text;
pub(crate) mod published_text;
pub mod read_text;
pub(crate) mod saturation_text;
pub(crate) mod scale_range;
pub mod slip;
pub mod steam_scale;
pub mod unknowns;
pub(crate) mod unknowns_text;
pub mod water_answer;
pub(crate) mod water_glance_text;
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
pub use slip::{Dose, MeterVerdict, Poured, Slip};
pub use steam_scale::{Onset, SteamScale};
pub use unknowns::Unknowns;
pub use water_answer::{Glance, WaterAnswer};
pub use water_report::{StateReport, WaterReport};
pub use withheld::{Withheld, WithheldFigure};
