//! All dry salts in one bottle: what it holds, what drops, how it is split, what water it makes,
//! what is written on it; and a recipe read backwards.

mod advice;
mod at_rest;
mod bottle;
mod litre;
mod planned;
mod reading;
mod split;

pub use advice::{Advice, Clarity, Keeping, SaltCautions};
pub use at_rest::{FRIDGE, NotConsidered, OwnCrystals, SolidMass, Standing};
pub use bottle::{ConcentrateError, DoseBy, Filled, LITRE_ML, WeighedSalt};
pub use litre::{DosedInto, Missed};
pub use planned::{Around, ConcentrateReport, StockDose};
pub use reading::{OnShelf, ReverseReport, TooStrongReading, Unreached};
pub use split::{Blocked, Split, SplitBottle};
