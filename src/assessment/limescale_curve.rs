//! Limescale of a water from the room to the steam boiler.

use serde::Serialize;

use crate::assessment::lab::Stage;
use crate::assessment::limescale::settled;
use crate::assessment::withheld::CARBONATE;
use crate::assessment::{Lab, State, Withheld};
use crate::chemistry::{ChemistryError, Composition};
use crate::quantities::Celsius;

/// The course of one water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimescaleCurve {
    /// Its name.
    pub name: String,
    /// Grams per 1,000 L of the minerals that it was measured for, closed and degassed, at rising
    /// temperatures.
    pub points: Vec<LimescalePoint>,
}

/// One temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LimescalePoint {
    /// °C.
    pub celsius: f64,
    /// Grams per 1,000 L as the water was mixed.
    pub closed_g_per_1000_l: f64,
    /// Grams per 1,000 L once its carbon dioxide has gone.
    pub degassed_g_per_1000_l: f64,
}

/// Ends and steps of the course. Our choice: 5 °C, within 0 to 130 °C for which the constants hold.
const FROM: u32 = 20;
const TO: u32 = 130;
const STEP: usize = 5;

impl Lab {
    /// The course of a water; nothing where calcium or alkalinity was not measured.
    ///
    /// # Errors
    /// Amounts that no water can have, or a water too strong for the activity model.
    pub fn limescale_curve(
        &self,
        name: &str,
        water: &Composition,
    ) -> Result<Option<LimescaleCurve>, ChemistryError> {
        if Withheld::unless_measured(water, &CARBONATE).is_some() {
            return Ok(None);
        }
        let mut points = Vec::new();
        for celsius in (FROM..=TO).step_by(STEP) {
            let celsius = f64::from(celsius);
            let stage = Stage::at(Celsius::new(celsius))?;
            let of = |state| -> Result<f64, ChemistryError> {
                Ok(settled(&stage, self.carbon(state), water, 1.0)?.precipitates.total())
            };
            points.push(LimescalePoint {
                celsius,
                closed_g_per_1000_l: of(State::Closed)?,
                degassed_g_per_1000_l: of(State::Degassed)?,
            });
        }
        Ok(Some(LimescaleCurve { name: name.to_owned(), points }))
    }
}
