//! What stands on the shelf: pure salts, lots as bought, stocks as made.

pub mod batch;
pub mod bottle;
pub mod carbonated;
pub mod catalogue;
pub mod dosing;
pub mod doubt;
pub mod dry_salt;
pub mod explain;
pub mod keep;
pub mod least_squares;
pub mod lot;
pub mod price;
pub mod reading;
pub mod salt;
pub mod solubility;
pub mod stock;
pub mod tools;
pub mod verify;

pub use batch::{Batch, Verified};
pub use bottle::{AgainstFile, Bottle};
pub use catalogue::{Catalogue, LookupError};
pub use doubt::{Cause, Doubt, Strength, StrengthModel};
pub use dry_salt::DrySalt;
pub use lot::Lot;
pub use price::Price;
pub use salt::{Salt, SaltError};
pub use solubility::{Solubility, SolubilityError};
pub use stock::{Making, Recipe, Stock, StockError};
pub use tools::{Balance, DoseTool, DosedBy, Tools};
