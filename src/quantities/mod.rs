//! Units that cannot be confused: typed quantities, their spellings, their display.

pub mod bounds;
pub mod day;
pub mod show;
pub mod spelling;
pub mod uncertain;
pub mod units;
pub mod within;

pub use day::Day;
pub use spelling::{Dimension, Quantity, QuantityError, Unit};
pub use units::{
    Celsius, Fraction, Grams, GramsPerMillilitre, GramsPerMole, Litres, MilliequivalentsPerLitre,
    MilliequivalentsPerMillilitre, Millilitres, MillilitresPerLitre,
};
pub use within::Within;
