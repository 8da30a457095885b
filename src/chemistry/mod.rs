//! Laws of solutions; knows ions and formulae, not bottles.

pub mod composition;
pub mod density;
pub mod formula;
pub mod ion;
pub mod open_air;
pub mod single_salt;

pub use composition::{Composition, Conserved};
pub use formula::{Formula, FormulaError};
pub use ion::Ion;
