//! Laws of solutions; knows ions and formulae, not bottles.

pub mod aqueous;
pub mod carbonate;
pub mod ccpp;
pub mod composition;
pub mod conductivity;
pub mod density;
pub mod equilibrium;
pub mod formula;
pub mod headspace;
pub mod ion;
pub mod keyed;
pub mod open_air;
pub mod precipitation;
pub mod saturation;
pub mod single_salt;
pub mod solution;
pub mod solvent;
pub mod speciation;
pub mod species;
pub mod unknown;
mod widened;

pub use aqueous::{Aqueous, CalciteConstant, ChemistryError};
pub use carbonate::ExplainedPh;
pub use ccpp::Ccpp;
pub use composition::{Composition, Conserved};
pub use conductivity::{Conductivity, Conductor};
pub use formula::{Formula, FormulaError};
pub use ion::Ion;
pub use keyed::KeyedAmounts;
pub use precipitation::Precipitation;
pub use saturation::{Mineral, SaturationIndices};
pub use speciation::{Carbon, Speciation, Validity};
pub use species::Species;
pub use unknown::{Between, ConservedSet, OpenTotal};
