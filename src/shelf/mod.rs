//! What stands on the shelf: pure salts, lots as bought, stocks as made.

pub mod catalogue;
pub mod lot;
pub mod salt;
pub mod stock;

pub use catalogue::{Catalogue, LookupError};
pub use lot::Lot;
pub use salt::{Salt, SaltError};
pub use stock::{Making, Recipe, Stock, StockError};
