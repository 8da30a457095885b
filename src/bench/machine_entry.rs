//! The machine and the meter as `bench.ron` describes them.

use serde::Deserialize;

use crate::assessment::BoilerSettings;
use crate::bench::place;
use crate::files::{Diagnostic, SourceText, Written};
use crate::quantities::spelling::bare_number;
use crate::quantities::{Celsius, Dimension};
use crate::water::{Compensation, MeterScale, MeterSettings};

/// The temperatures that a water is looked at in, as written.
#[derive(Debug, Default, Deserialize)]
#[serde(rename = "Boilers", default, deny_unknown_fields)]
pub(super) struct BoilersEntry {
    room: Option<Written>,
    brew: Option<Written>,
    steam: Option<Written>,
    air_co2_microatm: Option<Written>,
    degassed_co2_microatm: Option<Written>,
    steam_cycles: Option<Written>,
}

/// The meter as written.
#[derive(Debug, Default, Deserialize)]
#[serde(rename = "Meter", default, deny_unknown_fields)]
pub(super) struct MeterEntry {
    shows: Option<ScaleEntry>,
    step: Option<Written>,
    pub(super) error: Option<Written>,
    sample: Option<Written>,
    compensates: Option<bool>,
}

/// What it displays, as written.
#[derive(Debug, Clone, Copy, Deserialize)]
enum ScaleEntry {
    Microsiemens,
    Ppm500,
    Ppm640,
    Ppm700,
}

/// One microatmosphere, atm.
const MICRO: f64 = 1e-6;

impl BoilersEntry {
    pub(super) fn meant(&self, source: &SourceText) -> Result<BoilerSettings, Diagnostic> {
        let usual = BoilerSettings::default();
        let co2 = |leaf: &Option<Written>, usual: f64| match leaf {
            // 1 atm of carbon dioxide is more than any room or boiler has.
            Some(leaf) => number(source, leaf, 1.0, 1e6).map(|microatm| microatm * MICRO),
            None => Ok(usual),
        };
        Ok(BoilerSettings {
            room: temperature(source, self.room.as_ref(), usual.room)?,
            brew: temperature(source, self.brew.as_ref(), usual.brew)?,
            steam: temperature(source, self.steam.as_ref(), usual.steam)?,
            air_co2_atm: co2(&self.air_co2_microatm, usual.air_co2_atm)?,
            degassed_co2_atm: co2(&self.degassed_co2_microatm, usual.degassed_co2_atm)?,
            steam_cycles: match &self.steam_cycles {
                Some(leaf) => number(source, leaf, 1.0, 100.0)?,
                None => usual.steam_cycles,
            },
        })
    }
}

impl MeterEntry {
    pub(super) fn meant(&self, source: &SourceText) -> Result<MeterSettings, Diagnostic> {
        let usual = MeterSettings::default();
        Ok(MeterSettings {
            scale: match self.shows {
                None => usual.scale,
                Some(ScaleEntry::Microsiemens) => MeterScale::Microsiemens,
                Some(ScaleEntry::Ppm500) => MeterScale::Ppm500,
                Some(ScaleEntry::Ppm640) => MeterScale::Ppm640,
                Some(ScaleEntry::Ppm700) => MeterScale::Ppm700,
            },
            sample: temperature(source, self.sample.as_ref(), usual.sample)?,
            compensation: match self.compensates {
                Some(false) => Compensation::None,
                _ => usual.compensation,
            },
            resolution: match &self.step {
                Some(leaf) => number(source, leaf, 1e-3, 1e3)?,
                None => usual.resolution,
            },
            ..usual
        })
    }
}

/// A temperature at which water is liquid and the constants hold.
fn temperature(
    source: &SourceText,
    leaf: Option<&Written>,
    usual: Celsius,
) -> Result<Celsius, Diagnostic> {
    let Some(leaf) = leaf else { return Ok(usual) };
    let celsius = place::amount(source, leaf, &[Dimension::Temperature])?;
    if (0.0..=130.0).contains(&celsius) {
        return Ok(Celsius::new(celsius));
    }
    Err(place::wrong(source, leaf, "the constants do not reach this temperature")
        .expected("0 °C to 130 °C"))
}

/// A plain number within limits.
pub(super) fn number(
    source: &SourceText,
    leaf: &Written,
    least: f64,
    most: f64,
) -> Result<f64, Diagnostic> {
    let value = bare_number(leaf.text()).ok();
    value.filter(|v| (least..=most).contains(v)).ok_or_else(|| {
        place::wrong(source, leaf, "this number is out of place")
            .expected(format!("a number from {least} to {most}, without a unit"))
    })
}
