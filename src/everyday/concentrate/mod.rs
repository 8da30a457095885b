//! everyday::concentrate

pub(crate) mod advice;
pub(crate) mod at_rest;
pub(crate) mod bottle;
pub(crate) mod litre;
pub(crate) mod planned;
pub(crate) mod reading;
pub(crate) mod split;

pub use advice::{Advice, Clarity, Keeping, SaltCautions};
pub use at_rest::{FRIDGE, NotConsidered, OwnCrystals, RestState, SolidMass};
pub use bottle::{ConcentrateError, DoseBy, Filled, LITRE_ML, WeighedSalt};
pub use litre::{DosedInto, Missed};
pub use planned::{ConcentrateContext, ConcentrateReport, StockDose};
pub use reading::{OnShelf, ReverseReport, TooStrongReading, Unreached};
pub use split::{Blocked, Split, SplitBottle};
