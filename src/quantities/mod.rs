//! Units that cannot be confused: typed quantities, the spellings people use for them, values with
//! their uncertainty, days, what a [`name`] may be, and [`show`], the only place where digits are cut for people.
//!
//! May use: `reference`, for the molar masses behind mg/L as CaCO3 and degrees. Never: a word of
//! the trade (salt, water, taster), or a bare `f64` whose unit stands neither in its type nor its
//! name.
//!
//! ```
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! use waterflight::quantities::{Dimension, Quantity, show};
//!
//! let volume = Quantity::parse_as("0.5 L", &[Dimension::Volume])?; // in the base unit, mL
//! assert!((volume - 500.0).abs() < 1e-9);
//! assert_eq!(show::four_figures(0.410_736), "0.4107");
//! # Ok(())
//! # }
//! ```

pub mod bounds;
pub mod day;
mod dimension;
mod fractions;
pub mod name;
mod near_unit;
pub mod show;
pub mod spelling;
pub mod uncertain;
pub mod units;
pub mod within;

pub use day::Day;
pub use dimension::{Dimension, Unit};
pub use spelling::{Quantity, QuantityError};
pub use units::{
    Celsius, Fraction, Grams, GramsPerMillilitre, GramsPerMole, Litres, MilliequivalentsPerLitre,
    MilliequivalentsPerMillilitre, Millilitres, MillilitresPerLitre,
};
pub use within::Within;
