//! One water in a bottle of concentrate: what goes into it, what it is at rest, how it is dosed and
//! kept, the fewest bottles in which nothing precipitates, and recipes read backwards.
//!
//! May use what `everyday` may. Its text is `concentrate_text.rs` beside this folder.

pub(crate) mod advice;
pub(crate) mod at_rest;
pub(crate) mod bottle;
pub(crate) mod context;
pub(crate) mod litre;
pub(crate) mod planned;
pub(crate) mod reading;
pub(crate) mod split;

pub use advice::{Advice, Clarity, Keeping};
pub use at_rest::{FRIDGE, NotConsidered, OwnCrystals, RestState, SolidMass};
pub use bottle::{ConcentrateError, DoseBy, Filled, LITRE_ML, MOST_OF_A_CONCENTRATE, WeighedSalt};
pub use context::ConcentrateContext;
pub use litre::{DosedInto, Missed};
pub use planned::{ConcentrateReport, StockDose};
pub use reading::{OnShelf, ReverseReport, TooStrongReading, Unreached};
pub use split::{Blocked, Split, SplitBottle};
