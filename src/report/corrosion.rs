//! Hints at corrosion: what a metal may have to say to a water. A caution, never a verdict.

use serde::Serialize;

use crate::chemistry::{ChemistryError, Composition, Conserved};
use crate::reference::corrosion_guides as guide;
use crate::reference::water_hardness::CACO3_MG_PER_MEQ;
use crate::report::lab::{Lab, State};
use crate::report::withheld::Withheld;

/// One index with its limits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CorrosionHint {
    /// What is looked at.
    pub name: &'static str,
    /// Its value; none where it has none, or where it is withheld.
    pub value: Option<f64>,
    /// Unit of the value.
    pub unit: &'static str,
    /// The published classes, in words.
    pub limits: &'static str,
    /// Where they come from.
    pub source: &'static str,
    /// What to keep in mind, when the value gives reason to, or what is known of it does.
    pub caution: Option<&'static str>,
    /// Why no value is given: something that it counts was not measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub withheld: Option<Withheld>,
}

/// All hints for a water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CorrosionHints {
    /// Larson–Skold ratio.
    pub larson_skold: CorrosionHint,
    /// Chloride.
    pub chloride: CorrosionHint,
    /// Alkalinity as a buffer against acidity.
    pub buffer: CorrosionHint,
    /// pH in equilibrium with air.
    pub ph_open: CorrosionHint,
}

impl CorrosionHints {
    /// All of them, in the order of reports.
    #[must_use]
    pub fn all(&self) -> [&CorrosionHint; 4] {
        [&self.larson_skold, &self.chloride, &self.buffer, &self.ph_open]
    }
}

impl Lab {
    /// The corrosion hints of a water.
    ///
    /// # Errors
    /// As for the report of a water.
    pub fn corrosion(&self, water: &Composition) -> Result<CorrosionHints, ChemistryError> {
        use Conserved::{Alkalinity, Cl, SO4};
        let least = |c: Conserved| {
            let total = water.mmol_per_l(c);
            if water.is_measured(c) { total } else { water.between_mmol_per_l(c).at_least }
        };
        let withheld = |needed: &[Conserved]| Withheld::unless_measured(water, needed);
        let alkalinity = water.mmol_per_l(Alkalinity);
        // Of what was not measured the least there can be: a caution that this alone gives reason
        // to stands, whatever the rest is.
        let strong = least(Cl) + 2.0 * least(SO4);
        let no_ratio = withheld(&[Cl, SO4, Alkalinity]);
        let ratio = (alkalinity > 0.0).then(|| strong / alkalinity);
        let no_chloride = withheld(&[Cl]);
        let chloride = least(Cl) * Cl.g_per_mol();
        let no_alkalinity = withheld(&[Alkalinity]);
        let buffer = alkalinity * CACO3_MG_PER_MEQ;
        let ph = self.room.aqueous.speciate(water, self.carbon(State::Open))?.ph();
        let known = |value: f64, withheld: Option<Withheld>| withheld.is_none().then_some(value);
        Ok(CorrosionHints {
            larson_skold: CorrosionHint {
                name: "Larson–Skold ratio",
                value: ratio.and_then(|r| known(r, no_ratio)),
                unit: "(Cl + SO4)/alkalinity, meq/meq",
                limits: guide::LARSON_SKOLD_TEXT,
                source: guide::LARSON_SKOLD_SOURCE,
                caution: if no_alkalinity.is_some() { None } else { larson_skold_caution(ratio) },
                withheld: no_ratio,
            },
            chloride: CorrosionHint {
                name: "chloride",
                value: known(chloride, no_chloride),
                unit: "mg/L",
                limits: guide::CHLORIDE_TEXT,
                source: guide::CHLORIDE_SOURCE,
                caution: chloride_caution(chloride),
                withheld: no_chloride,
            },
            buffer: CorrosionHint {
                name: "alkalinity as buffer",
                value: known(buffer, no_alkalinity),
                unit: "mg/L as CaCO3",
                limits: guide::BUFFER_TEXT,
                source: guide::BUFFER_SOURCE,
                caution: (no_alkalinity.is_none() && buffer < guide::BUFFER_MG_PER_L_CACO3)
                    .then_some(
                        "little buffer: carbon dioxide or a trace of acid moves the pH far; copper \
                     and brass may give off metal",
                    ),
                withheld: no_alkalinity,
            },
            ph_open: CorrosionHint {
                name: "pH in equilibrium with air",
                value: known(ph, no_alkalinity),
                unit: "pH",
                limits: guide::PH_TEXT,
                source: guide::PH_SOURCE,
                caution: (no_alkalinity.is_none() && ph < guide::COPPER_PH).then_some(
                    "on the acid side even after it has breathed; copper, brass and solder may \
                     give off metal",
                ),
                withheld: no_alkalinity,
            },
        })
    }
}

fn larson_skold_caution(ratio: Option<f64>) -> Option<&'static str> {
    match ratio {
        None => Some(
            "no alkalinity: nothing stands against chloride and sulfate; the ratio has no value",
        ),
        Some(r) if r > guide::LARSON_SKOLD_HIGH => Some(
            "chloride and sulfate outweigh the alkalinity; on mild steel high rates of local \
             corrosion were seen at such ratios",
        ),
        Some(r) if r > guide::LARSON_SKOLD_LOW => {
            Some("chloride and sulfate may interfere with the natural film on mild steel")
        }
        Some(_) => None,
    }
}

fn chloride_caution(mg_per_l: f64) -> Option<&'static str> {
    if mg_per_l > guide::CHLORIDE_304_MG_PER_L {
        Some(
            "pitting of common stainless steels is possible even in the cold; see the maker's limit",
        )
    } else if mg_per_l > guide::CHLORIDE_HOT_MG_PER_L {
        Some(
            "heat and concentration in a boiler favour pitting and stress cracking of stainless \
             steel; see the maker's limit",
        )
    } else {
        None
    }
}
