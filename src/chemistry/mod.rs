//! Laws of solutions: formulae and ions, the totals that mixing conserves, and what follows from
//! them: species, pH, saturation, precipitation, conductivity, density.
//!
//! State is [`Composition`], linear in mixing: alkalinity and carbon, never pH. Temperature enters
//! by [`Aqueous`], whose constants are those of PHREEQC's standard database. May use: `reference`,
//! `quantities`. Never: a bottle, a stock, a user's file; nor a second model of what one model
//! gives.
//!
//! ```
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! use waterflight::chemistry::{Composition, Conserved, Formula};
//!
//! let salt = Formula::parse("CaCl2·2H2O")?;
//! assert!((salt.molar_mass().value() - 147.008).abs() < 1e-3); // g/mol
//! let mut hard = Composition::PURE_WATER;
//! hard.set_mmol_per_l(Conserved::Ca, 1.0);
//! let half = hard * 0.5 + Composition::PURE_WATER * 0.5; // mixing is linear
//! assert!((half.mg_per_l(Conserved::Ca) - 20.039).abs() < 1e-9);
//! # Ok(())
//! # }
//! ```

pub mod aqueous;
pub mod carbonate;
pub mod ccpp;
pub mod composition;
pub mod conductivity;
pub mod conserved;
pub mod density;
pub mod equilibrium;
pub mod formula;
pub mod headspace;
pub mod ion;
pub mod keyed;
pub mod mineral;
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
pub use composition::Composition;
pub use conductivity::{Conductivity, Conductor};
pub use conserved::Conserved;
pub use formula::{Formula, FormulaError};
pub use ion::Ion;
pub use keyed::KeyedAmounts;
pub use mineral::Mineral;
pub use precipitation::Precipitation;
pub use saturation::SaturationIndices;
pub use speciation::{Carbon, Speciation, Validity};
pub use species::Species;
pub use unknown::{Bounds, ConservedSet, UnmeasuredTotal};
