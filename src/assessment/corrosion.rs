//! Hints at corrosion: what a water may do to metals. Figures first; a caution stands
//! only where a published limit is passed that most brewing waters keep, and is never a verdict.
//!
//! The Larson–Skold ratio is no caution: it was found on steel mains near 25 °C, and nearly every
//! coffee water lies above its highest class.

use serde::Serialize;

use crate::assessment::corrosion_levels::larson_skold_ratio;
use crate::assessment::lab::Stage;
use crate::assessment::steam_scale::BoilerWater;
use crate::assessment::withheld::CARBONATE;
use crate::assessment::{Lab, State, SteamScale, Withheld};
use crate::chemistry::{ChemistryError, Composition, Conserved, ConservedSet};
use crate::reference::corrosion_guides as guide;
use crate::reference::water_hardness::CACO3_MG_PER_MEQ;

/// One index with its limits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CorrosionHint {
    /// What is looked at.
    pub name: String,
    /// Its value; none where it has none, or where it is withheld.
    pub value: Option<f64>,
    /// Why it has none; nothing where it does not concern this water.
    pub withheld: Option<String>,
    /// Unit of the value.
    pub unit: &'static str,
    /// The published classes, in words.
    pub limits: &'static str,
    /// Where they come from.
    pub source: &'static str,
    /// A class that the value passes and that is no caution, since most brewing waters pass it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub passed: Option<&'static str>,
    /// What to keep in mind, when the value gives reason to, or what is known of it does.
    pub caution: Option<&'static str>,
}

impl CorrosionHint {
    fn new(
        name: &str,
        value: f64,
        unit: &'static str,
        (limits, source): (&'static str, &'static str),
    ) -> Self {
        Self {
            name: name.to_owned(),
            value: Some(value),
            withheld: None,
            unit,
            limits,
            source,
            passed: None,
            caution: None,
        }
    }

    /// With something to keep in mind, where there is reason to.
    fn caution(mut self, caution: Option<&'static str>) -> Self {
        self.caution = caution;
        self
    }

    /// Without its value, for a reason.
    #[must_use]
    pub fn withheld(mut self, reason: &str) -> Self {
        (self.value, self.withheld, self.caution) = (None, Some(reason.to_owned()), None);
        self
    }

    /// Without its value where there is a reason.
    fn unless(self, reason: Option<String>) -> Self {
        match reason {
            Some(reason) => self.withheld(&reason),
            None => self,
        }
    }

    /// Without its value, as it does not concern this water.
    fn silent(mut self) -> Self {
        (self.value, self.caution) = (None, None);
        self
    }
}

/// All hints for a water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CorrosionHints {
    /// pH as mixed: of the water as it enters a machine from a closed bottle.
    pub ph_closed: CorrosionHint,
    /// pH in equilibrium with air: as it enters from an open tank.
    pub ph_open: CorrosionHint,
    /// Alkalinity as a buffer against acidity.
    pub buffer: CorrosionHint,
    /// Chloride as fed.
    pub chloride: CorrosionHint,
    /// Chloride in the steam boiler at its cycles of concentration.
    pub boiler_chloride: CorrosionHint,
    /// Dissolved solids there, over what has precipitated.
    pub boiler_dissolved_solids: CorrosionHint,
    /// Silica there; silent where the water has none.
    pub boiler_silica: CorrosionHint,
    /// Larson–Skold ratio: a figure with its scope, never a caution.
    pub larson_skold: CorrosionHint,
}

impl CorrosionHints {
    /// All of them, in the order of reports.
    #[must_use]
    pub fn all(&self) -> [&CorrosionHint; 8] {
        [
            &self.ph_closed,
            &self.ph_open,
            &self.buffer,
            &self.chloride,
            &self.boiler_chloride,
            &self.boiler_dissolved_solids,
            &self.boiler_silica,
            &self.larson_skold,
        ]
    }

    /// Those of the water as it is fed.
    #[must_use]
    pub fn fed(&self) -> [&CorrosionHint; 5] {
        [&self.ph_closed, &self.ph_open, &self.buffer, &self.chloride, &self.larson_skold]
    }

    /// Those of the steam boiler.
    #[must_use]
    pub fn boiler(&self) -> [&CorrosionHint; 3] {
        [&self.boiler_chloride, &self.boiler_dissolved_solids, &self.boiler_silica]
    }

    /// What to keep in mind, in the order of reports.
    pub fn cautions(&self) -> impl Iterator<Item = &'static str> + '_ {
        self.all().into_iter().filter_map(|hint| hint.caution)
    }
}

/// Ends the name of each hint at the steam boiler.
pub const IN_THE_STEAM_BOILER: &str = " in the steam boiler";

/// Said of what cannot be computed at the cycles of the steam boiler.
const TOO_STRONG: &str = "at these cycles the water is too strong to be computed";

impl Lab {
    /// The corrosion hints of a water, beside what was found of the steam boiler.
    ///
    /// # Errors
    /// As for the report of a water.
    pub fn corrosion(
        &self,
        water: &Composition,
        steam: &[SteamScale],
    ) -> Result<CorrosionHints, ChemistryError> {
        use Conserved::{Alkalinity, Cl, SO4, SiO2};
        let unless = |needed: &[Conserved]| {
            Withheld::unless_measured(water, needed).map(|because| because.to_string())
        };
        let alkalinity = water.mmol_per_l(Alkalinity);
        let ph = |name, state: State, caution| -> Result<CorrosionHint, ChemistryError> {
            let ph = |at: &Stage| -> Result<f64, ChemistryError> {
                Ok(at.aqueous.speciate(water, self.carbon(state))?.ph())
            };
            let guide = (guide::PH_TEXT, guide::PH_SOURCE);
            let hint = CorrosionHint::new(name, ph(&self.room)?, "pH", guide);
            // Pure water has a lower pH the warmer it is: acid is what is below neutral at the
            // temperature of the published class.
            let is_acid = ph(&self.reference)? < guide::COPPER_PH - NEUTRAL;
            Ok(hint.caution(is_acid.then_some(caution)).unless(unless(&[Alkalinity])))
        };
        let ph_closed = ph(
            "pH as mixed",
            State::Closed,
            "on the acid side as it enters a machine; copper, brass and solder may give off metal",
        )?;
        let ph_open = ph(
            "pH in air",
            State::Open,
            "on the acid side in equilibrium with air; copper, brass and solder may give off metal",
        )?;
        let larson_skold = CorrosionHint::new(
            "Larson–Skold ratio",
            larson_skold_ratio(water).unwrap_or_default(),
            "meq/meq, of mild steel and cast iron mains only",
            (guide::LARSON_SKOLD_TEXT, guide::LARSON_SKOLD_SOURCE),
        );
        let chloride = least_mg_per_l(water, Cl);
        let hot = chloride > guide::CHLORIDE_316_AT_120_C_MG_PER_L;
        let [boiler_chloride, boiler_dissolved_solids, boiler_silica] =
            self.in_boiler(water, steam);
        Ok(CorrosionHints {
            ph_closed,
            ph_open,
            buffer: CorrosionHint::new(
                "alkalinity as buffer",
                alkalinity * CACO3_MG_PER_MEQ,
                "mg/L as CaCO3",
                (guide::BUFFER_TEXT, guide::BUFFER_SOURCE),
            )
            .unless(unless(&[Alkalinity])),
            chloride: CorrosionHint::new("chloride", chloride, "mg/L", CHLORIDE_GUIDE)
                .unless(unless(&[Cl]))
                .caution(hot.then_some(
                "more chloride than makers of plate heat exchangers allow for stainless steel at \
                 the boiler's heat, even where nothing is steamed away; see the maker's limit",
            )),
            boiler_chloride,
            boiler_dissolved_solids,
            boiler_silica: if water.mmol_per_l(SiO2) > 0.0 || !water.is_measured(SiO2) {
                boiler_silica
            } else {
                boiler_silica.silent()
            },
            larson_skold: if alkalinity > 0.0 || !water.is_measured(Alkalinity) {
                larson_skold.unless(unless(&[Cl, SO4, Alkalinity]))
            } else {
                larson_skold.withheld("without alkalinity it has no value")
            },
        })
    }

    /// Chloride, dissolved solids and silica in the steam boiler, in its worse state.
    fn in_boiler(&self, water: &Composition, steam: &[SteamScale]) -> [CorrosionHint; 3] {
        use Conserved::{Cl, SiO2};
        let waters: Vec<BoilerWater> = steam.iter().filter_map(|s| s.water).collect();
        let not_computed = match Withheld::unless_measured(water, &CARBONATE) {
            _ if !waters.is_empty() => None,
            Some(because) => Some(because.to_string()),
            None => Some(TOO_STRONG.to_owned()),
        };
        let not_measured = |needed: ConservedSet| Withheld::of(needed).map(|w| w.to_string());
        let most = |of: fn(&BoilerWater) -> f64| waters.iter().map(of).fold(0.0, f64::max);
        let hint = |what: &str, value: f64, guide, limit: f64, gaps: ConservedSet, caution| {
            let name = format!("{what}{IN_THE_STEAM_BOILER}");
            let hint = CorrosionHint::new(&name, value, "mg/L", guide);
            // What was not measured comes on top of what is known to be there: a caution that the
            // known part gives reason to stands.
            hint.unless(not_computed.clone().or_else(|| not_measured(gaps)))
                .caution((value > limit).then_some(caution))
        };
        let gaps = |needed: &[Conserved]| -> ConservedSet {
            needed.iter().copied().filter(|c| !water.is_measured(*c)).collect()
        };
        let silica = hint(
            "silica",
            most(|w| w.silica_mg_per_l),
            (guide::BOILER_SILICA_TEXT, guide::BOILER_SILICA_SOURCE),
            guide::BOILER_SILICA_MG_PER_L,
            gaps(&[SiO2]),
            "in the steam boiler more silica than boilers are run with: with calcium or magnesium it \
             may form silicates, which acids hardly dissolve",
        );
        let precipitates = steam.iter().filter_map(|s| s.precipitates_g_per_1000_l);
        let glassy = precipitates.into_iter().any(|p| p.silica > 0.0);
        // Chloride does not precipitate: it is known even where the rest cannot be computed.
        let chloride = self.settings().steam_cycles * least_mg_per_l(water, Cl);
        let is_passed = water.is_measured(Cl)
            && chloride > guide::CHLORIDE_316_AT_120_C_MG_PER_L
            && chloride <= guide::CHLORIDE_316_AT_60_C_MG_PER_L;
        let name = format!("chloride{IN_THE_STEAM_BOILER}");
        [
            CorrosionHint {
                passed: is_passed.then_some(guide::CHLORIDE_316_AT_120_C_PASSED),
                ..CorrosionHint::new(&name, chloride, "mg/L", CHLORIDE_GUIDE)
            }
            .unless(not_measured(gaps(&[Cl])))
            .caution((chloride > guide::CHLORIDE_316_AT_60_C_MG_PER_L).then_some(
                "in the steam boiler more chloride than makers of plate heat exchangers allow for \
                 stainless steel of the usual grades (304, 316); change its water more often, or see \
                 the maker's limit",
            )),
            hint(
                "dissolved solids",
                most(|w| w.residue_mg_per_l),
                (guide::BOILER_SOLIDS_TEXT, guide::BOILER_SOLIDS_SOURCE),
                guide::BOILER_SOLIDS_MG_PER_L,
                water.not_measured(),
                "in the steam boiler more dissolved solids than boilers are run with: it may foam \
                 and carry water into the steam; change its water more often",
            ),
            if glassy {
                silica.caution(Some(
                    "in the steam boiler silica precipitates as a glassy crust, which acids do not \
                     dissolve; change its water more often",
                ))
            } else {
                silica
            },
        ]
    }
}

/// What a water holds of a total; of what was not measured the least there can be.
fn least_mg_per_l(water: &Composition, total: Conserved) -> f64 {
    if water.is_measured(total) {
        water.mg_per_l(total)
    } else {
        water.bounds_mmol_per_l(total).at_least * total.g_per_mol()
    }
}

const CHLORIDE_GUIDE: (&str, &str) = (guide::CHLORIDE_TEXT, guide::CHLORIDE_SOURCE);

/// Our choice: water without alkalinity, whose pH depends on traces, is at 6.95 to 7.00 by these
/// constants at 25 °C, and is not acid.
const NEUTRAL: f64 = 0.1;
