//! What stands on the shelf: salts with their hydrates, lots, stocks as they are meant and batches
//! as they were made, how to weigh, verify and keep them, and the uncertainty of strengths and
//! doses.
//!
//! May use: `reference`, `quantities`, `numerics`, `text`, `chemistry`, `water`. Never: a target or
//! a plan. A name that leaves the hydrate open is refused, and a batch counts before its file.
//!
//! ```
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! use waterflight::bench::built_in_salts;
//! use waterflight::quantities::{Celsius, Grams};
//! use waterflight::stock::{Catalogue, Lot, Making, Recipe, Stock};
//!
//! let salts = Catalogue::new(built_in_salts()?);
//! let epsom = Stock::new(Recipe {
//!     name: "epsom".to_owned(),
//!     salt: salts.find("MgSO4·7H2O")?.clone(),
//!     lot: Lot::default(),
//!     making: Making::ToTotalMass { salt: Grams::new(40.0), total: Grams::new(1000.0) },
//!     temperature: Celsius::new(20.0),
//! })?;
//! assert!((epsom.meq_per_ml().value() - 0.3305).abs() < 1e-4);
//! # Ok(())
//! # }
//! ```

pub mod batch;
pub mod bottle;
pub mod bottle_pressure;
pub mod budget;
pub(crate) mod budget_text;
pub mod carbonated;
pub mod catalogue;
pub mod dosing;
pub mod dry_salt;
pub mod explain;
pub mod keeping;
pub mod keeping_report;
pub(crate) mod keeping_text;
pub(crate) mod label;
pub mod lot;
pub mod note;
pub(crate) mod note_text;
pub mod price;
pub mod reading;
pub mod salt;
pub mod salt_report;
pub mod salt_text;
pub mod solubility;
pub mod solubility_table;
pub mod solution;
pub mod stock_report;
pub mod stock_text;
pub mod strength_line;
pub mod strengths;
pub mod tools;
pub mod trial_stock;
pub mod uncertainty_source;
pub mod verify;
pub mod verify_report;
pub mod verify_text;
pub mod weigh_report;
pub mod weigh_text;

pub use batch::{Batch, Verified};
pub use bottle::{AgainstFile, Bottle};
pub use catalogue::{Catalogue, LookupError};
pub use dry_salt::DrySalt;
pub use keeping_report::KeepingReport;
pub use lot::Lot;
pub use note::Note;
pub use price::Price;
pub use salt::{Salt, SaltError};
pub use salt_report::{HydrateReport, SaltReport};
pub use solubility::SolubilityError;
pub use solubility_table::Solubility;
pub use solution::{Making, Recipe, Stock, StockError};
pub use stock_report::StockReport;
pub use tools::{Balance, DoseTool, DosedBy, Tools};
pub use uncertainty_source::{Cause, Strength, StrengthModel, UncertaintySource};
pub use verify_report::VerifyReport;
pub use weigh_report::{WeighReport, WeighedReport};
