//! The temperatures and states that every water is looked at in, prepared once for all waters.

use serde::Serialize;

use crate::chemistry::conductivity::REFERENCE_CELSIUS;
use crate::chemistry::speciation::AIR_CO2_ATM;
use crate::chemistry::{Aqueous, CalciteConstant, Carbon, ChemistryError, Conductor};
use crate::quantities::Celsius;

/// Temperatures and carbon dioxide of the machine and the room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoilerSettings {
    /// Temperature of the water as poured and read.
    pub room: Celsius,
    /// Brew boiler.
    pub brew: Celsius,
    /// Steam boiler.
    pub steam: Celsius,
    /// Fugacity of carbon dioxide in the room, atm.
    pub air_co2_atm: f64,
    /// Fugacity of carbon dioxide left in a degassed boiler, atm. The default is that of air: the
    /// usual computation of a vented, heated water is equilibrium with the atmosphere, and a boiler
    /// that vents now and then falls about to it. Open steam strips further, which is no worse for
    /// scale: at a tenth the pH of brewing waters is 0.4 to 0.6 higher at 93 °C and 0.1 to 0.4 at
    /// 125 °C, but carbonate has left as well, and the calcite index stays or falls.
    pub degassed_co2_atm: f64,
    /// How often the water of the steam boiler may be concentrated before it is changed.
    pub steam_cycles: f64,
}

/// 93 °C, the middle of the 90 to 96 °C that coffee is brewed with (common practice).
const BREW_CELSIUS: f64 = 93.0;

/// 125 °C, the boiling point at 2.3 bar absolute, 1.3 bar on the gauge of a machine (common practice).
const STEAM_CELSIUS: f64 = 125.0;

/// Cycles of concentration of the steam boiler: our choice; it moves the grams of scale there and
/// nothing else.
const STEAM_CYCLES: f64 = 10.0;

impl Default for BoilerSettings {
    fn default() -> Self {
        Self {
            room: Celsius::new(REFERENCE_CELSIUS),
            brew: Celsius::new(BREW_CELSIUS),
            steam: Celsius::new(STEAM_CELSIUS),
            air_co2_atm: AIR_CO2_ATM,
            degassed_co2_atm: AIR_CO2_ATM,
            steam_cycles: STEAM_CYCLES,
        }
    }
}

/// What happens to a water's carbon dioxide, as reports name it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum State {
    /// As mixed, nothing lost: carbon and alkalinity stay.
    Closed,
    /// In equilibrium with the air of the room.
    Open,
    /// In equilibrium with what little carbon dioxide a vented boiler keeps.
    Degassed,
}

impl State {
    /// All of them, in the order of reports.
    pub const ALL: [State; 3] = [State::Closed, State::Open, State::Degassed];

    /// The word in tables.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            State::Closed => "closed",
            State::Open => "open",
            State::Degassed => "degassed",
        }
    }
}

/// Constants of one temperature, with each of the calcite constants.
#[derive(Debug, Clone)]
pub(crate) struct Stage {
    pub(crate) aqueous: Aqueous,
    pub(crate) other_calcite: Aqueous,
    pub(crate) conductor: Conductor,
}

impl Stage {
    pub(crate) fn at(temperature: Celsius) -> Result<Self, ChemistryError> {
        let aqueous = Aqueous::with_calcite(temperature, CalciteConstant::PhreeqcDat)?;
        let other = Aqueous::with_calcite(temperature, CalciteConstant::PlummerBusenberg1982)?;
        let conductor = Conductor::at(&aqueous);
        Ok(Self { aqueous, other_calcite: other, conductor })
    }
}

/// Everything that looking at a water needs and that no water changes.
#[derive(Debug, Clone)]
pub struct Lab {
    settings: BoilerSettings,
    /// 25 °C, to which published limits on conductivity and pH refer, whatever the room has.
    pub(crate) reference: Stage,
    pub(crate) room: Stage,
    pub(crate) brew: Stage,
    pub(crate) steam: Stage,
}

impl Lab {
    /// Prepares the constants.
    ///
    /// # Errors
    /// When a temperature is outside 0 to 130 °C.
    pub fn new(settings: BoilerSettings) -> Result<Self, ChemistryError> {
        Ok(Self {
            settings,
            reference: Stage::at(Celsius::new(REFERENCE_CELSIUS))?,
            room: Stage::at(settings.room)?,
            brew: Stage::at(settings.brew)?,
            steam: Stage::at(settings.steam)?,
        })
    }

    /// The settings it was prepared for.
    #[must_use]
    pub fn settings(&self) -> &BoilerSettings {
        &self.settings
    }

    /// What a state means for the carbon dioxide.
    #[must_use]
    pub fn carbon(&self, state: State) -> Carbon {
        match state {
            State::Closed => Carbon::Closed,
            State::Open => Carbon::Open { co2_atm: self.settings.air_co2_atm },
            State::Degassed => Carbon::Open { co2_atm: self.settings.degassed_co2_atm },
        }
    }

    pub(crate) fn stages(&self) -> [&Stage; 3] {
        [&self.room, &self.brew, &self.steam]
    }
}
