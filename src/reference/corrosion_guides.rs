//! Published classes of corrosion indices.
//!
//! Larson T. E., Skold R. V., "Laboratory Studies Relating Mineral Quality of Water to Corrosion of
//! Steel and Cast Iron", Corrosion 14 (1958) 285t–288t; the classes as usually quoted (from memory).
//! Chloride and stainless steel: Nickel Institute, guidelines for stainless steels in waters, ambient
//! temperature (from memory); for heated plates the tables that makers of plate heat exchangers
//! print, which agree with each other (common practice). Boiler water: American Boiler Manufacturers
//! Association, limits of boiler water up to 300 psi; ASME, "Consensus on Operating Practices for
//! the Control of Feedwater and Boiler Water Chemistry in Modern Industrial Boilers", CRTD vol. 34
//! (both from memory). Alkalinity and pH: World Health Organization, Guidelines for Drinking-water
//! Quality, chapter on corrosion, and EN 12502-2 for copper (from memory).

/// The classes of the ratio in words, with what they were found on.
pub const LARSON_SKOLD_TEXT: &str = "found on mild steel and cast iron mains in waters of the Great Lakes near 25 °C: below 0.8 the film was probably undisturbed, from 0.8 to 1.2 it could be disturbed, above 1.2 local corrosion was to be expected. It says nothing of copper, brass or stainless steel, nor of a boiler";
/// The same as figures, meq/meq.
pub const LARSON_SKOLD_CLASSES: [f64; 2] = [0.8, 1.2];
/// Where they come from.
pub const LARSON_SKOLD_SOURCE: &str = "Larson & Skold 1958 (from memory)";

/// Chloride up to which grade 316 is named for plates of 120 °C, mg/L.
pub const CHLORIDE_316_AT_120_C_MG_PER_L: f64 = 80.0;
/// The same in words, where it is passed.
pub const CHLORIDE_316_AT_120_C_PASSED: &str =
    "above the about 80 mg/L up to which grade 316 is named for heated plates at 120 °C";
/// Chloride above which no such steel is named at any temperature from 60 °C on, mg/L.
pub const CHLORIDE_316_AT_60_C_MG_PER_L: f64 = 300.0;
/// The classes in words.
pub const CHLORIDE_TEXT: &str = "cold water: grade 304 up to about 200 mg/L, grade 316 up to about 1,000 mg/L; heated plates: grade 316 up to about 80 mg/L at 120 °C and 300 mg/L at 60 °C. Crevices and oxygen lower all of them, and makers of machines often ask for 30 mg/L at most in what is fed";
/// Where they come from.
pub const CHLORIDE_SOURCE: &str =
    "Nickel Institute guidelines (from memory); heated: common practice";

/// Dissolved solids up to which a low-pressure boiler is run, mg/L.
pub const BOILER_SOLIDS_MG_PER_L: f64 = 3500.0;
/// The class in words.
pub const BOILER_SOLIDS_TEXT: &str = "low-pressure boilers are run with at most 700 to 3,500 mg/L; above that the water foams and is carried over with the steam";
/// Where it comes from.
pub const BOILER_SOLIDS_SOURCE: &str = "ABMA limits of boiler water (from memory)";

/// Silica up to which a low-pressure boiler is run, mg/L as SiO2.
pub const BOILER_SILICA_MG_PER_L: f64 = 150.0;
/// The class in words.
pub const BOILER_SILICA_TEXT: &str = "low-pressure boilers are run with at most 150 mg/L, because of silicates of calcium and magnesium; amorphous silica itself precipitates where its index is above 0";
/// Where it comes from.
pub const BOILER_SILICA_SOURCE: &str =
    "ASME consensus CRTD 34 (from memory); SiO2(a) of phreeqc.dat, PHREEQC 3.8.6";

/// The class of alkalinity in words.
pub const BUFFER_TEXT: &str = "below about 40 mg/L as CaCO3 a water holds its pH poorly";
/// Where it comes from.
pub const BUFFER_SOURCE: &str = "WHO, Guidelines for Drinking-water Quality (from memory)";

/// pH below which copper tends to go into solution.
pub const COPPER_PH: f64 = 7.0;
/// The class in words.
pub const PH_TEXT: &str =
    "below 7.0 copper and its alloys tend to dissolve; 7.4 and more is sought for copper pipes";
/// Where it comes from.
pub const PH_SOURCE: &str = "EN 12502-2 (from memory)";
