//! Published numbers, one file per publication, and nothing that computes.

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
