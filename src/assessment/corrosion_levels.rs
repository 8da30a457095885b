//! The published limits of corrosion that a map of waters can show as lines.

use serde::Serialize;

use crate::chemistry::{Composition, Conserved};
use crate::reference::corrosion_guides as guide;

/// What a limit is set on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CorrosionMeasure {
    /// Chloride and sulfate to alkalinity, meq/meq.
    LarsonSkold,
    /// Chloride, mg/L.
    Chloride,
}

/// A published limit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CorrosionLevel {
    /// What it is set on.
    pub of: CorrosionMeasure,
    /// The limit.
    pub level: f64,
    /// What it means, in words.
    pub means: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

const fn larson_skold_level(level: f64, means: &'static str) -> CorrosionLevel {
    let source = guide::LARSON_SKOLD_SOURCE;
    CorrosionLevel { of: CorrosionMeasure::LarsonSkold, level, means, source }
}

/// The limits: of the water as it is fed, whatever the temperature of the boiler.
pub const CORROSION_LEVELS: [CorrosionLevel; 3] = [
    larson_skold_level(
        guide::LARSON_SKOLD_CLASSES[0],
        "below it the film on mild steel and cast iron mains was probably undisturbed, near 25 °C",
    ),
    larson_skold_level(
        guide::LARSON_SKOLD_CLASSES[1],
        "above it local corrosion of such mains was to be expected; it says nothing of a boiler",
    ),
    CorrosionLevel {
        of: CorrosionMeasure::Chloride,
        level: guide::CHLORIDE_316_AT_120_C_MG_PER_L,
        means: "most for heated plates of stainless steel, grade 316, at 120 °C",
        source: guide::CHLORIDE_SOURCE,
    },
];

/// The Larson–Skold ratio of a water, meq/meq; nothing without alkalinity, or where an ion of it was not
/// measured.
#[must_use]
pub fn larson_skold_ratio(water: &Composition) -> Option<f64> {
    /// Our choice, mmol/L: so little alkalinity is what sums of other ions leave behind.
    const NONE: f64 = 1e-9;
    use Conserved::{Alkalinity, Cl, SO4};
    let known = [Cl, SO4, Alkalinity].into_iter().all(|ion| water.is_measured(ion));
    let alkalinity = water.mmol_per_l(Alkalinity);
    let strong = water.mmol_per_l(Cl) + 2.0 * water.mmol_per_l(SO4);
    (known && alkalinity > NONE).then(|| strong / alkalinity)
}

impl CorrosionMeasure {
    /// Its value of a water.
    #[must_use]
    pub fn of(self, water: &Composition) -> Option<f64> {
        match self {
            Self::LarsonSkold => larson_skold_ratio(water),
            Self::Chloride => water.measured_mg_per_l(Conserved::Cl),
        }
    }
}
