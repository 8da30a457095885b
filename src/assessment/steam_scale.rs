//! The steam boiler: steam leaves, salts stay, and at some strength they begin to precipitate.
//!
//! A boiler that is topped up with the water it steams away holds, after s litres of steam (as
//! water) per litre of boiler water, 1 + s times the salts of the water: the cycles of concentration.

use serde::Serialize;

use crate::assessment::limescale::{counted, settled};
use crate::assessment::scale_range::ScaleRange;
use crate::assessment::{Lab, Precipitates, State, Withheld};
use crate::chemistry::equilibrium::{Bracket, bracketed};
use crate::chemistry::{Aqueous, Carbon, ChemistryError, Composition, Conserved, Mineral};
use crate::water::Measure;

/// When scale begins.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Onset {
    /// Already in the water as filled in, once it is hot.
    FromTheStart,
    /// After so many litres of steam per litre of boiler water.
    AfterLitresOfSteam(f64),
    /// Not within so many litres of steam per litre of boiler water.
    NotWithin(f64),
}

impl Onset {
    /// Litres of steam, for comparison.
    fn litres(self) -> f64 {
        match self {
            Onset::FromTheStart => 0.0,
            Onset::AfterLitresOfSteam(litres) | Onset::NotWithin(litres) => litres,
        }
    }
}

/// Scale in the steam boiler, in one state.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SteamScale {
    /// Temperature of the boiler, °C.
    pub celsius: f64,
    /// What happened to the carbon dioxide.
    pub state: State,
    /// When the first mineral begins to precipitate.
    pub onset: Onset,
    /// The mineral that is first, where one is.
    pub first: Option<&'static str>,
    /// The onset by each of the two published calcite constants: earlier, later.
    pub onset_between: [Onset; 2],
    /// Cycles of concentration at which the grams are counted.
    pub cycles: f64,
    /// Grams of all limescale that the water was measured for, per 1,000 L of water fed, when the boiler reaches those cycles; none
    /// where the water would then be too strong for the activity model.
    pub scale_g_per_1000_l: Option<f64>,
    /// The same between the two calcite constants, and between the least and the most of what was not
    /// measured: lower, higher.
    pub scale_between_g_per_1000_l: Option<[f64; 2]>,
    /// Why more may precipitate than is counted, where something was not measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub scale_least_since: Option<Withheld>,
    /// Of which minerals it is.
    pub precipitates_g_per_1000_l: Option<Precipitates>,
    /// What the boiler's water holds at those cycles, over what has precipitated; none as above.
    pub water: Option<BoilerWater>,
}

impl SteamScale {
    /// The grams as a range; nothing where they cannot be computed.
    pub(crate) fn scale(&self) -> Option<ScaleRange> {
        let least_since = self.scale_least_since;
        self.scale_between_g_per_1000_l.map(|between| ScaleRange { between, least_since })
    }
}

/// The water of a steam boiler at its cycles of concentration, over what has precipitated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BoilerWater {
    /// Chloride, mg/L.
    pub chloride_mg_per_l: f64,
    /// Dissolved solids as a dry residue, mg/L.
    pub residue_mg_per_l: f64,
    /// Dissolved silica as SiO2, mg/L.
    pub silica_mg_per_l: f64,
}

impl BoilerWater {
    fn of(rest: &Composition) -> Self {
        Self {
            chloride_mg_per_l: rest.mg_per_l(Conserved::Cl),
            residue_mg_per_l: Measure::ResidueOnEvaporation.of(rest),
            silica_mg_per_l: rest.mg_per_l(Conserved::SiO2),
        }
    }
}

/// Cycles of concentration looked at: our choice; a boiler that has steamed away a hundred times
/// its content without a change of water is outside of what is asked.
const MOST_CYCLES: f64 = 100.0;

/// Steps on the way there, each by the same factor, between which the onset is looked for: our
/// choice; an index that crosses zero twice within a seventh of a decade would be missed.
const STEPS: i32 = 14;

/// Width of the bracket of ln(cycles): our choice, one part in a million of the litres.
const WIDTH: f64 = 1e-6;

impl Lab {
    /// Scale in the steam boiler, closed and degassed, of the minerals that the water was measured
    /// for.
    ///
    /// # Errors
    /// As for the report of a water.
    pub fn steam_scale(&self, water: &Composition) -> Result<Vec<SteamScale>, ChemistryError> {
        [State::Closed, State::Degassed]
            .into_iter()
            .map(|state| {
                let carbon = self.carbon(state);
                let stage = &self.steam;
                let (default, first) = onset(&stage.aqueous, carbon, water)?;
                let (other, _) = onset(&stage.other_calcite, carbon, water)?;
                let mut between = [default, other];
                between.sort_by(|a, b| a.litres().total_cmp(&b.litres()));
                let cycles = self.settings().steam_cycles;
                let settled = match settled(stage, carbon, water, cycles) {
                    Ok(settled) => Some(settled),
                    Err(error) if error.is_of_too_strong_a_water() => None,
                    Err(other) => return Err(other),
                };
                Ok(SteamScale {
                    celsius: stage.aqueous.temperature().value(),
                    state,
                    onset: default,
                    first: first.map(Mineral::key),
                    onset_between: between,
                    cycles,
                    scale_g_per_1000_l: settled.map(|s| s.precipitates.total()),
                    scale_between_g_per_1000_l: settled.map(|s| s.between),
                    scale_least_since: settled.and_then(|s| s.least_since),
                    precipitates_g_per_1000_l: settled.map(|s| s.precipitates),
                    water: settled.map(|s| BoilerWater::of(&s.rest)),
                })
            })
            .collect()
    }
}

/// When, and with which mineral, limescale begins.
fn onset(
    at: &Aqueous,
    carbon: Carbon,
    water: &Composition,
) -> Result<(Onset, Option<Mineral>), ChemistryError> {
    let scales = counted(water);
    let highest = |ln_cycles: f64| -> Result<Option<(f64, Mineral)>, ChemistryError> {
        let species = at.speciate(&(*water * ln_cycles.exp()), carbon)?;
        let indices = scales.iter().filter_map(|m| species.si(*m).map(|si| (si, *m)));
        Ok(indices.max_by(|a, b| a.0.total_cmp(&b.0)))
    };
    let over = |found: Option<(f64, Mineral)>| found.filter(|(si, _)| *si >= 0.0);
    if let Some((_, mineral)) = over(highest(0.0)?) {
        return Ok((Onset::FromTheStart, Some(mineral)));
    }
    let step = MOST_CYCLES.ln() / f64::from(STEPS);
    for i in 1..=STEPS {
        let high = step * f64::from(i);
        let low = high - step;
        match highest(high) {
            Ok(found) if over(found).is_some() => {
                let crossing = bracketed(Bracket { low, high }, WIDTH, |ln_cycles| {
                    Ok::<f64, ChemistryError>(
                        highest(ln_cycles)?.map_or(f64::NEG_INFINITY, |(si, _)| si),
                    )
                })?;
                let mineral = highest(crossing)?.map(|(_, mineral)| mineral);
                return Ok((Onset::AfterLitresOfSteam(crossing.exp_m1()), mineral));
            }
            Ok(_) => {}
            // So strong that the model ends, and still nothing precipitates.
            Err(error) if error.is_of_too_strong_a_water() => {
                return Ok((Onset::NotWithin(low.exp_m1()), None));
            }
            Err(other) => return Err(other),
        }
    }
    Ok((Onset::NotWithin(MOST_CYCLES - 1.0), None))
}
