//! Units that cannot be confused: typed quantities, their spellings, their display.

pub mod show;
pub mod spelling;
pub mod units;

pub use spelling::{Dimension, Quantity, QuantityError, Unit};
pub use units::{
    Celsius, Fraction, Grams, GramsPerMillilitre, GramsPerMole, Litres, MilliequivalentsPerLitre,
    MilliequivalentsPerMillilitre, Millilitres, MillilitresPerLitre,
};
