//! Everything that is known of a water, for one page or one JSON document.

use serde::Serialize;

use crate::assessment::limescale::settled;
use crate::assessment::limescale_curve::LimescaleCurve;
use crate::assessment::water_report::AS_FED;
use crate::assessment::{
    Clouding, Described, GuidelineRow, Lab, MachineProfile, MachineReport, State, Unknowns,
    WaterReport, Withheld,
};
use crate::chemistry::{ChemistryError, Composition, ConservedSet, KeyedAmounts};
pub use crate::water::BalanceVerdict;
use crate::water::charge_columns::ChargeColumns;
use crate::water::{Implausible, Measure, Meter, Reading};

/// A water with all that is known of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WaterAnswer {
    /// Name, states and temperatures, steam boiler, corrosion hints.
    #[serde(flatten)]
    pub report: WaterReport,
    /// What is to be said of where it comes from.
    pub notes: Vec<String>,
    /// What it holds, mg/L; alkalinity as HCO3.
    pub mg_per_l: KeyedAmounts,
    /// The conserved totals, mmol/L; alkalinity in meq/L, apart from carbon.
    pub mmol_per_l: KeyedAmounts,
    /// The same by charge, meq/L.
    pub meq_per_l: ChargeColumns,
    /// What is not known of it.
    #[serde(flatten)]
    pub unknowns: Unknowns,
    /// Hardness, mg/L as CaCO3; none where calcium or magnesium was not measured.
    pub hardness_mg_per_l_caco3: Option<f64>,
    /// Carbonate alkalinity, mg/L as CaCO3; none where it was not measured.
    pub alkalinity_mg_per_l_caco3: Option<f64>,
    /// Sum of all constituents, mg/L; none where an ion was not measured.
    pub dissolved_solids_mg_per_l: Option<f64>,
    /// The same as a dry residue, mg/L.
    pub residue_on_evaporation_mg_per_l: Option<f64>,
    /// Charge balance of an analysis.
    pub charge_balance: Option<Balance>,
    /// What is odd about an analysis.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub doubtful: Vec<Implausible>,
    /// What meters show.
    pub meter: Reading,
    /// Whether it clouds.
    pub clouding: Clouding,
    /// Published values beside it.
    pub published: Vec<GuidelineRow>,
    /// The limits of the machine beside it, where one is described.
    pub machine: Option<MachineReport>,
    /// Limescale over the temperature, where a picture of it is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limescale_curve: Option<LimescaleCurve>,
}

/// The charge balance of an analysis (Standard Methods 1030 E).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Balance {
    /// Sum of cations, meq/L.
    pub cations_meq_per_l: f64,
    /// Sum of anions, meq/L.
    pub anions_meq_per_l: f64,
    /// Difference in per cent of both together.
    pub difference_percent: f64,
    /// Whether the test was made and the difference is acceptable.
    pub passes: bool,
    /// What the test says.
    pub verdict: BalanceVerdict,
    /// Largest acceptable difference, meq/L.
    pub limit_meq_per_l: f64,
    /// How much more of anions than of cations there must be among the ions that were not measured:
    /// from, to; none where everything was measured, or where they cannot close the gap.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unmeasured_anions_less_cations_meq_per_l: Option<[f64; 2]>,
    /// The ions that are in neither sum.
    #[serde(skip)]
    pub not_measured: ConservedSet,
    /// The ions that are only known by limits.
    #[serde(skip)]
    pub by_limits: ConservedSet,
}

impl WaterAnswer {
    /// Looks at a water from every side.
    ///
    /// # Errors
    /// A water too strong for the activity model.
    pub fn new(lab: &Lab, meter: &Meter, described: &Described) -> Result<Self, ChemistryError> {
        let water = &described.water;
        let usual = |m: Measure| m.measured_usual(water);
        Ok(Self {
            report: lab.water_report(&described.name, water)?,
            notes: described.notes.clone(),
            mg_per_l: KeyedAmounts::mg_per_l(water),
            mmol_per_l: KeyedAmounts::mmol_per_l(water),
            meq_per_l: ChargeColumns::of(water),
            unknowns: Unknowns::of(water),
            hardness_mg_per_l_caco3: usual(Measure::Hardness),
            alkalinity_mg_per_l_caco3: usual(Measure::Alkalinity),
            dissolved_solids_mg_per_l: usual(Measure::DissolvedSolids),
            residue_on_evaporation_mg_per_l: usual(Measure::ResidueOnEvaporation),
            charge_balance: described.balance.map(|b| Balance {
                cations_meq_per_l: b.cations_meq_per_l,
                anions_meq_per_l: b.anions_meq_per_l,
                difference_percent: b.difference_percent(),
                passes: b.passes(),
                verdict: b.verdict(),
                limit_meq_per_l: b.limit_meq_per_l,
                unmeasured_anions_less_cations_meq_per_l: b.among_unmeasured(),
                not_measured: b.not_measured,
                by_limits: b.by_limits,
            }),
            doubtful: described.doubtful.clone(),
            meter: meter.reading(water)?,
            clouding: lab.clouding(water)?,
            published: lab.guidelines(water)?,
            machine: None,
            limescale_curve: None,
        })
    }

    /// With the limits of a machine beside it.
    #[must_use]
    pub fn beside(mut self, machine: Option<&MachineProfile>, described: &Described) -> Self {
        let of = |machine| MachineReport::new(machine, &described.water, &self.report, &self.meter);
        self.machine = machine.map(of);
        self
    }
}

/// The few figures of a water that fit into a line.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Glance {
    /// pH as mixed, at room temperature.
    pub ph_closed: f64,
    /// pH in equilibrium with air.
    pub ph_open: f64,
    /// Conductivity at 25 °C, µS/cm.
    pub conductivity_us_per_cm: f64,
    /// The same with the least and the most salt that was not measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub conductivity_between_us_per_cm: Option<[f64; 2]>,
    /// Calcite index at room temperature, as mixed.
    pub si_calcite_closed: Option<f64>,
    /// Calcite index in the brew boiler, degassed.
    pub si_calcite_brew_degassed: Option<f64>,
    /// Limescale that 1,000 L can precipitate in the brew boiler, degassed, g: all minerals; the least
    /// there can be where more may precipitate than is counted.
    pub brew_scale_g_per_1000_l: f64,
    /// Why more may precipitate than is counted, where something was not measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub brew_scale_least_since: Option<Withheld>,
}

impl Glance {
    /// Takes a quick look.
    ///
    /// # Errors
    /// A water too strong for the activity model.
    pub fn new(lab: &Lab, water: &Composition) -> Result<Self, ChemistryError> {
        // Only what is said here, of all that a report of a state says.
        let [room, brew] = [&lab.room, &lab.brew];
        let carbon = lab.carbon(State::Closed);
        let closed = room.aqueous.speciate(water, carbon)?;
        let reference = &lab.reference;
        let conductivity = reference.conductor.of_water(&reference.aqueous, water, carbon)?;
        let open = room.aqueous.speciate(water, lab.carbon(State::Open))?;
        let carbon = lab.carbon(State::Degassed);
        let degassed = brew.aqueous.speciate(water, carbon)?;
        let settled = settled(brew, carbon, water, AS_FED)?;
        Ok(Self {
            ph_closed: closed.ph(),
            ph_open: open.ph(),
            conductivity_us_per_cm: conductivity.us_per_cm,
            conductivity_between_us_per_cm: conductivity.between,
            si_calcite_closed: closed.saturation().measured(water).calcite,
            si_calcite_brew_degassed: degassed.saturation().measured(water).calcite,
            brew_scale_g_per_1000_l: match (settled.least_since, settled.between) {
                (None, _) => settled.precipitates.total(),
                (Some(_), [least, _]) => least,
            },
            brew_scale_least_since: settled.least_since,
        })
    }
}
