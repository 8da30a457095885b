//! One water: pH, strength, conductivity and limescale in every state and at every temperature.

use serde::Serialize;

use crate::assessment::lab::Stage;
use crate::assessment::limescale::{parts, settled};
use crate::assessment::scale_range::ScaleRange;
use crate::assessment::withheld::CARBONATE;
use crate::assessment::{
    CorrosionHints, Lab, Precipitates, State, SteamScale, Withheld, WithheldFigure,
};
use crate::chemistry::carbonate::ALKALINITY_ENDPOINT_PH;
use crate::chemistry::{ChemistryError, Composition, Conserved, SaturationIndices, Validity};
use crate::quantities::uncertain::COVERAGE;
use crate::reference::water_hardness::CACO3_MG_PER_MEQ;

/// A water at one temperature in one state.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StateReport {
    /// Temperature, °C.
    pub celsius: f64,
    /// What happened to its carbon dioxide.
    pub state: State,
    /// pH.
    pub ph: f64,
    /// The same with the least and the most of what was not measured, or only found to be below a limit:
    /// lower, higher.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ph_between: Option<[f64; 2]>,
    /// Ionic strength, mol/L (a litre counts as a kilogram of water).
    pub ionic_strength_mol_per_l: f64,
    /// The same with the least and the most salt that was not measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ionic_strength_between_mol_per_l: Option<[f64; 2]>,
    /// Conductivity at that temperature, µS/cm.
    pub conductivity_us_per_cm: f64,
    /// Its standard uncertainty, µS/cm.
    pub conductivity_uncertainty_us_per_cm: f64,
    /// Its expanded uncertainty, µS/cm.
    pub conductivity_expanded_us_per_cm: f64,
    /// The conductivity with the least and the most salt that was not measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub conductivity_between_us_per_cm: Option<[f64; 2]>,
    /// Saturation indices; none where an ion is absent or was not measured.
    pub si: SaturationIndices,
    /// The calcite index between the two published calcite constants, and between the least and
    /// the most salt that was not measured: lower, higher.
    pub si_calcite_between: Option<[f64; 2]>,
    /// Calcium carbonate precipitation potential, mg/L as CaCO3: of calcite alone. Negative: the
    /// water dissolves as much.
    pub ccpp_mg_per_l_caco3: f64,
    /// The same between the two calcite constants: lower, higher.
    pub ccpp_between_mg_per_l_caco3: [f64; 2],
    /// Grams of limescale that 1,000 L can precipitate: all minerals that the water was measured for.
    pub scale_g_per_1000_l: f64,
    /// The same between the two calcite constants, and between the least and the most of what was not
    /// measured: lower, higher.
    pub scale_between_g_per_1000_l: [f64; 2],
    /// Why more may precipitate than is counted, where something was not measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub scale_least_since: Option<Withheld>,
    /// Of which minerals it is.
    pub precipitates_g_per_1000_l: Precipitates,
    /// Whether the strength is beyond what the activity model is backed for.
    pub extrapolated: bool,
}

/// A water in all states.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WaterReport {
    /// Its name.
    pub name: String,
    /// Room, brew boiler and steam boiler, each closed, open and degassed; none for a water whose
    /// calcium or alkalinity was not measured.
    pub reports: Vec<StateReport>,
    /// Alkalinity that an acid titration would find, mg/L as CaCO3.
    pub titrated_alkalinity_mg_per_l_caco3: Option<f64>,
    /// Scale in the steam boiler, closed and degassed.
    pub steam: Vec<SteamScale>,
    /// What metals may have to say.
    pub corrosion: CorrosionHints,
    /// Cycles of concentration that the steam boiler is looked at.
    #[serde(skip)]
    pub steam_cycles: f64,
    /// What is not said, because something that it depends on was not measured.
    pub withheld: Vec<WithheldFigure>,
}

/// Cycles of concentration of a water that nothing is steamed away from.
pub(crate) const AS_FED: f64 = 1.0;

impl StateReport {
    /// The grams of limescale as a range.
    pub(crate) fn scale(&self) -> ScaleRange {
        ScaleRange { between: self.scale_between_g_per_1000_l, least_since: self.scale_least_since }
    }
}

impl WaterReport {
    /// Limescale in the brew boiler, as mixed and degassed; nothing where it cannot be computed.
    pub(crate) fn brew_scale(&self) -> Option<ScaleRange> {
        let states = [State::Closed, State::Degassed].into_iter();
        ScaleRange::over(states.map(|state| self.brew(state).map(StateReport::scale)))
    }

    /// Limescale in the steam boiler, in either state.
    pub(crate) fn steam_scale(&self) -> Option<ScaleRange> {
        ScaleRange::over(self.steam.iter().map(SteamScale::scale))
    }

    /// The report at the temperature of the room in a state.
    #[must_use]
    pub fn room(&self, state: State) -> Option<&StateReport> {
        // The room comes first.
        self.reports.iter().find(|report| report.state == state)
    }

    /// The report at the temperature of the brew boiler in a state.
    #[must_use]
    pub fn brew(&self, state: State) -> Option<&StateReport> {
        // The brew boiler comes second.
        self.reports.iter().filter(|report| report.state == state).nth(1)
    }
}

impl Lab {
    /// Looks at a water in every state.
    ///
    /// ```
    /// use waterflight::chemistry::{Composition, Conserved};
    /// use waterflight::assessment::{BoilerSettings, Lab, State};
    /// let lab = Lab::new(BoilerSettings::default()).unwrap();
    /// let mut water = Composition::PURE_WATER;
    /// for (total, mmol) in [(Conserved::Na, 1.0), (Conserved::Alkalinity, 1.0), (Conserved::Dic, 1.0)] {
    ///     water.set_mmol_per_l(total, mmol);
    /// }
    /// let report = lab.water_report("soda", &water).unwrap();
    /// assert_eq!(report.reports.len(), 9);
    /// // Without calcium there is no calcite index: not applicable, which is not zero.
    /// assert!(report.reports.iter().all(|r| r.si.calcite.is_none()));
    /// assert_eq!(report.room(State::Open).map(|r| r.celsius), Some(25.0));
    /// ```
    ///
    /// # Errors
    /// Amounts that no water can have, or a water too strong for the activity model.
    pub fn water_report(
        &self,
        name: &str,
        water: &Composition,
    ) -> Result<WaterReport, ChemistryError> {
        let withheld = withheld_figures(water);
        let carbonate = Withheld::unless_measured(water, &CARBONATE);
        let stages: &[&Stage] = if carbonate.is_none() { &self.stages() } else { &[] };
        let mut reports = Vec::with_capacity(stages.len() * State::ALL.len());
        for stage in stages {
            for state in State::ALL {
                reports.push(self.state_report(stage, state, water)?);
            }
        }
        let titrated = self.room.aqueous.titrated_alkalinity(water, ALKALINITY_ENDPOINT_PH)?;
        let steam = if carbonate.is_none() { self.steam_scale(water)? } else { Vec::new() };
        let knows_alkalinity = water.is_measured(Conserved::Alkalinity);
        Ok(WaterReport {
            name: name.to_owned(),
            reports,
            titrated_alkalinity_mg_per_l_caco3: knows_alkalinity
                .then_some(titrated * CACO3_MG_PER_MEQ),
            corrosion: self.corrosion(water, &steam)?,
            steam,
            steam_cycles: self.settings().steam_cycles,
            withheld,
        })
    }

    /// Looks at a water at the temperature of a stage in one state.
    pub(crate) fn state_report(
        &self,
        stage: &Stage,
        state: State,
        water: &Composition,
    ) -> Result<StateReport, ChemistryError> {
        let carbon = self.carbon(state);
        let species = stage.aqueous.speciate(water, carbon)?;
        let conductivity = stage.conductor.of_water(&stage.aqueous, water, carbon)?;
        let si = species.saturation().measured(water);
        let ccpp = species.ccpp()?.mg_per_l_caco3();
        let other = species.with_constants(&stage.other_calcite);
        let other_ccpp = other.ccpp()?.mg_per_l_caco3();
        let mut calcite: Vec<f64> =
            si.calcite.into_iter().chain(other.saturation().calcite).collect();
        let mut strength = Vec::new();
        let mut acidity = Vec::new();
        for extreme in &water.corners(parts()) {
            let species = stage.aqueous.speciate(extreme, carbon)?;
            let other = species.with_constants(&stage.other_calcite);
            calcite.extend(species.saturation().calcite);
            calcite.extend(other.saturation().calcite);
            strength.push(species.ionic_strength_mol_per_kg());
            acidity.push(species.ph());
        }
        calcite.sort_by(f64::total_cmp);
        strength.sort_by(f64::total_cmp);
        if !acidity.is_empty() {
            acidity.push(species.ph());
            acidity.sort_by(f64::total_cmp);
        }
        let settled = settled(stage, carbon, water, AS_FED)?;
        let ordered = |a: f64, b: f64| [a.min(b), a.max(b)];
        Ok(StateReport {
            celsius: stage.aqueous.temperature().value(),
            state,
            ph: species.ph(),
            ph_between: ends(&acidity),
            ionic_strength_mol_per_l: species.ionic_strength_mol_per_kg(),
            ionic_strength_between_mol_per_l: ends(&strength).filter(|_| water.lacks_ions()),
            conductivity_us_per_cm: conductivity.us_per_cm,
            conductivity_uncertainty_us_per_cm: conductivity.standard_uncertainty,
            conductivity_expanded_us_per_cm: COVERAGE * conductivity.standard_uncertainty,
            conductivity_between_us_per_cm: conductivity.between,
            si,
            si_calcite_between: ends(&calcite),
            ccpp_mg_per_l_caco3: ccpp,
            ccpp_between_mg_per_l_caco3: ordered(ccpp, other_ccpp),
            scale_g_per_1000_l: settled.precipitates.total(),
            scale_between_g_per_1000_l: settled.between,
            scale_least_since: settled.least_since,
            precipitates_g_per_1000_l: settled.precipitates,
            extrapolated: species.validity() == Validity::Extrapolated,
        })
    }
}

/// First and last of sorted values.
fn ends(sorted: &[f64]) -> Option<[f64; 2]> {
    Some([*sorted.first()?, *sorted.last()?])
}

/// What is not said of a water.
fn withheld_figures(water: &Composition) -> Vec<WithheldFigure> {
    let of = |what, needed: &[Conserved]| {
        Withheld::unless_measured(water, needed).map(|because| WithheldFigure { what, because })
    };
    let carbonate = of("pH, saturation, limescale and clouding", &CARBONATE);
    let minerals = [of("gypsum and anhydrite", &[Conserved::SO4]), of("brucite", &[Conserved::Mg])];
    match carbonate {
        Some(all) => vec![all],
        None => minerals.into_iter().flatten().collect(),
    }
}
