//! Published classes of corrosion indices.
//!
//! Larson T. E., Skold R. V., "Laboratory Studies Relating Mineral Quality of Water to Corrosion of
//! Steel and Cast Iron", Corrosion 14 (1958) 285t–288t; the classes as usually quoted (from memory).
//! Chloride and stainless steel: Nickel Institute, guidelines for stainless steels in waters, ambient
//! temperature (from memory); the figure for heated water is common practice. Alkalinity and pH:
//! World Health Organization, Guidelines for Drinking-water Quality, chapter on corrosion, and
//! EN 12502-2 for copper (from memory).

/// Below this ratio chloride and sulfate probably do not disturb the film on steel.
pub const LARSON_SKOLD_LOW: f64 = 0.8;
/// Above this ratio high rates of local corrosion are to be expected.
pub const LARSON_SKOLD_HIGH: f64 = 1.2;
/// The classes in words.
pub const LARSON_SKOLD_TEXT: &str = "below 0.8: film on mild steel probably undisturbed; 0.8 to 1.2: may be disturbed; above 1.2: local corrosion to be expected. Found on mild steel in Great Lakes waters; not made for copper, brass or stainless steel";
/// Where they come from.
pub const LARSON_SKOLD_SOURCE: &str = "Larson & Skold 1958 (from memory)";

/// Chloride up to which grade 304 is usually used in cold water, mg/L.
pub const CHLORIDE_304_MG_PER_L: f64 = 200.0;
/// Chloride from which makers of heated stainless equipment ask for care, mg/L.
pub const CHLORIDE_HOT_MG_PER_L: f64 = 50.0;
/// The classes in words.
pub const CHLORIDE_TEXT: &str = "cold water: grade 304 up to about 200 mg/L, grade 316 up to about 1,000 mg/L; heated: makers' limits, often 30 to 100 mg/L. Crevices, oxygen and concentration lower all of them";
/// Where they come from.
pub const CHLORIDE_SOURCE: &str =
    "Nickel Institute guidelines (from memory); heated: common practice";

/// Alkalinity below which a water counts as poorly buffered, mg/L as CaCO3.
pub const BUFFER_MG_PER_L_CACO3: f64 = 40.0;
/// The class in words.
pub const BUFFER_TEXT: &str =
    "below about 40 mg/L as CaCO3 a water holds its pH poorly and tends to dissolve metals";
/// Where it comes from.
pub const BUFFER_SOURCE: &str = "WHO, Guidelines for Drinking-water Quality (from memory)";

/// pH below which copper tends to go into solution.
pub const COPPER_PH: f64 = 7.0;
/// The class in words.
pub const PH_TEXT: &str = "below 7.0 copper and its alloys tend to dissolve; 7.4 and more is sought for copper pipes. The pH of a water that has not yet breathed is another";
/// Where it comes from.
pub const PH_SOURCE: &str = "EN 12502-2 (from memory)";
