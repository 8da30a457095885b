//! Whether the figures of an analysis can belong to one water: pH against alkalinity,
//! conductivity and dissolved solids against the ions.

use std::fmt;

use serde::{Serialize, Serializer};

use crate::chemistry::{
    Aqueous, Carbon, ChemistryError, Composition, Conductor, Conserved, ExplainedPh,
};
use crate::quantities::{Celsius, show};
use crate::reference::natural_waters::SILICA_UP_TO_MG_PER_L;
use crate::reference::water_hardness::CONDUCTIVITY_WITHIN;
use crate::water::AnalysisError;
use crate::water::analysis_error::MOST_CO2_ATM;
use crate::water::measured_sums::{ANALYSIS_CELSIUS, SOLIDS_OF_SUM, Sums};

/// Carbon dioxide above which an analysis is odd, atm: our choice, the upper end of what soils and
/// ground waters have (10^−3 to 10^−1; from memory).
const MUCH_CO2_ATM: f64 = 0.1;

/// Carbon dioxide below which an analysis is odd, atm: our choice. Water that stands in air has
/// 10^−3.4, and a lake whose algae have used it up about 10^−6 (from memory); less is left only by
/// lime or lye.
const LITTLE_CO2_ATM: f64 = 1e-6;

/// The part of an alkalinity given as bicarbonate that must be bicarbonate at the pH: our choice;
/// below one half the word is wrong, and either the pH or the amount is.
const LEAST_BICARBONATE: f64 = 0.5;

/// What rounding of a report excuses of an alkalinity, meq/L: our choice, 1 mg/L as CaCO3. "0" of a
/// demineralised water with a pH of 7.5 contradicts nothing.
const ROUNDING_MEQ_PER_L: f64 = 0.02;

/// What is odd about an analysis, though it is not impossible.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Implausible {
    /// The pH means much carbon dioxide.
    MuchCarbonDioxide {
        /// The pH as given.
        ph: f64,
        /// Carbon dioxide that it takes, atm.
        co2_atm: f64,
    },
    /// The pH means next to no carbon dioxide.
    LittleCarbonDioxide {
        /// The pH as given.
        ph: f64,
        /// Carbon dioxide that it leaves, atm.
        co2_atm: f64,
    },
    /// The conductivity is not that of the ions.
    Conductivity {
        /// As given, µS/cm.
        given: f64,
        /// What the ions give, µS/cm.
        of_ions: f64,
    },
    /// The dissolved solids are not the sum of the ions.
    Solids {
        /// As given, mg/L.
        given: f64,
        /// The sum, mg/L.
        of_ions: f64,
    },
}

impl fmt::Display for Implausible {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Implausible::MuchCarbonDioxide { ph, co2_atm } => write!(
                f,
                "a pH of {ph} with this alkalinity means carbon dioxide of {} atm, more than ground \
                 waters have: check both, and that the water had not been aerated in between",
                show::three_figures(*co2_atm)
            ),
            Implausible::LittleCarbonDioxide { ph, co2_atm } => write!(
                f,
                "a pH of {ph} with this alkalinity leaves carbon dioxide of {co2_atm:.0e} atm, as \
                 only lime or lye does: check both"
            ),
            Implausible::Conductivity { given, of_ions } => write!(
                f,
                "its ions give {} µS/cm, and {} were measured: {}; the conductivity is set aside",
                show::three_figures(*of_ions),
                show::three_figures(*given),
                cause(*given, *of_ions)
            ),
            Implausible::Solids { given, of_ions } => write!(
                f,
                "its ions make {} mg/L, and {} mg/L of dissolved solids were measured: {}; the sum is \
                 set aside",
                show::three_figures(*of_ions),
                show::three_figures(*given),
                cause(*given, *of_ions)
            ),
        }
    }
}

/// Why a sum that was measured is not that of the ions. What is not listed could only make it larger.
fn cause(given: f64, of_ions: f64) -> &'static str {
    if given > of_ions {
        "one of the amounts is wrong, or something is not listed"
    } else {
        "one of the amounts is wrong"
    }
}

impl Serialize for Implausible {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// The inorganic carbon that explains a pH, mmol/L, and what is odd about it.
///
/// # Errors
/// When no carbon dioxide does, or more than water in the open can hold.
pub(crate) fn carbon(
    water: &Composition,
    ph: f64,
    as_bicarbonate: bool,
) -> Result<(f64, Option<Implausible>), AnalysisError> {
    let at = Aqueous::at(Celsius::new(ANALYSIS_CELSIUS))?;
    let alkalinity_meq_per_l = water.mmol_per_l(Conserved::Alkalinity);
    let too_acid = |co2_atm: Option<f64>| -> Result<AnalysisError, ChemistryError> {
        let open = Carbon::Open { co2_atm: MOST_CO2_ATM };
        let least_ph = at.speciate(water, open)?.ph();
        Ok(AnalysisError::TooAcid { ph, alkalinity_meq_per_l, co2_atm, least_ph })
    };
    let explained = match at.explain_ph(water, ph) {
        Ok(explained) => explained,
        Err(ChemistryError::Contradiction { .. }) => {
            let mut bare = *water;
            bare.set_mmol_per_l(Conserved::Dic, 0.0);
            let most_ph = at.speciate(&bare, Carbon::Closed)?.ph();
            if ph < most_ph {
                return Err(too_acid(None)?);
            }
            let mut rounded = *water;
            rounded.add_mmol_per_l(Conserved::Alkalinity, ROUNDING_MEQ_PER_L);
            return match at.explain_ph(&rounded, ph) {
                Ok(_) => Ok((alkalinity_meq_per_l, None)),
                Err(_) => Err(AnalysisError::TooAlkaline { ph, alkalinity_meq_per_l, most_ph }),
            };
        }
        Err(other) => return Err(other.into()),
    };
    let ExplainedPh { carbon_mmol_per_l, co2_atm, bicarbonate_meq_per_l } = explained;
    if co2_atm > MOST_CO2_ATM {
        return Err(too_acid(Some(co2_atm))?);
    }
    let much = (co2_atm > MUCH_CO2_ATM).then_some(Implausible::MuchCarbonDioxide { ph, co2_atm });
    if alkalinity_meq_per_l <= ROUNDING_MEQ_PER_L {
        return Ok((carbon_mmol_per_l, much));
    }
    let bicarbonate = bicarbonate_meq_per_l / alkalinity_meq_per_l;
    if as_bicarbonate && bicarbonate < LEAST_BICARBONATE {
        return Err(AnalysisError::NotBicarbonate { ph, percent: 100.0 * bicarbonate });
    }
    let little =
        (co2_atm < LITTLE_CO2_ATM).then_some(Implausible::LittleCarbonDioxide { ph, co2_atm });
    Ok((carbon_mmol_per_l, much.or(little)))
}

/// What of the measured sums the ions contradict. Ions that were not measured may add to them, and
/// never take away.
pub(crate) fn sums(water: &Composition, unknown: &[Conserved], sums: &Sums) -> Vec<Implausible> {
    let is_charged = |c: &Conserved| c.charge() != 0;
    let is_complete = !unknown.iter().any(is_charged);
    let mut found = Vec::new();
    if let Some(given) = sums.us_per_cm
        && let Some([least, most]) = conductivity(water)
    {
        let too_low = given * (1.0 + CONDUCTIVITY_WITHIN) < least;
        let too_high = is_complete && given * (1.0 - CONDUCTIVITY_WITHIN) > most;
        if too_low || too_high {
            let of_ions = if too_low { least } else { most };
            found.push(Implausible::Conductivity { given, of_ions });
        }
    }
    if let Some((measure, given)) = sums.solids {
        let of_ions = measure.of(&water.without(unknown));
        let [least, most] = SOLIDS_OF_SUM;
        if given < least * of_ions || (is_complete && given > most * of_ions + open_silica(water)) {
            found.push(Implausible::Solids { given, of_ions });
        }
    }
    found
}

/// The least and the most conductivity of the ions, µS/cm; nothing for a water that is too strong.
fn conductivity(water: &Composition) -> Option<[f64; 2]> {
    let at = Aqueous::at(Celsius::new(ANALYSIS_CELSIUS)).ok()?;
    let found = Conductor::at(&at).of_water(&at, water, Carbon::Closed).ok()?;
    Some(found.between.unwrap_or([found.us_per_cm; 2]))
}

/// What silica may add to dissolved solids where it was not measured, mg/L.
fn open_silica(water: &Composition) -> f64 {
    if water.is_measured(Conserved::SiO2) { 0.0 } else { SILICA_UP_TO_MG_PER_L }
}
