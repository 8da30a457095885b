//! Published numbers, one file per publication.
//! A table is a plain transcription: unit in the name of the constant, citation in the head of the
//! file, and any change that was made. [`source::Source`] lists the publications behind them.
//!
//! May use: nothing. Never: a function that computes, or a number of our own choice; that stands
//! beside its use, named and marked as such.
//!
//! ```
//! use waterflight::reference::atomic_weights::ATOMIC_WEIGHTS;
//!
//! let of = |symbol| ATOMIC_WEIGHTS.iter().find(|(s, _)| *s == symbol).map(|(_, g)| *g);
//! let water = 2.0 * of("H").unwrap() + of("O").unwrap();
//! assert!((water - 18.015).abs() < 1e-9); // g/mol
//! ```

pub mod atomic_weights;
pub mod bradley_pitzer_1979;
pub mod corrosion_guides;
pub mod crc_conductivity;
pub mod iapws_viscosity_2011;
pub mod laliberte_2009;
pub mod meter_scales;
pub mod natural_waters;
pub mod organic_acids;
pub mod phreeqc_dat;
pub mod physical_constants;
pub mod plummer_busenberg_1982;
pub mod pressure_equipment;
pub mod source;
pub mod wagner_pruss_2002;
pub mod wateq4f;
pub mod water_guidelines;
pub mod water_hardness;
