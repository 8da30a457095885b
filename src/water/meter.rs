//! What a conductivity meter shows for a water: µS/cm, or ppm on one of the common scales.

use serde::Serialize;

use crate::chemistry::conductivity::REFERENCE_CELSIUS;
use crate::chemistry::{Aqueous, Carbon, ChemistryError, Composition, Conductor};
use crate::quantities::spelling::leading_number;
use crate::quantities::uncertain::{COVERAGE, Spread};
use crate::quantities::{Celsius, Fraction, QuantityError};
use crate::reference::meter_scales as scales;

/// What a meter displays.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum MeterScale {
    /// µS/cm.
    Microsiemens,
    /// ppm, 0.5 per µS/cm: the NaCl-type scale.
    Ppm500,
    /// ppm, 0.64 per µS/cm.
    Ppm640,
    /// ppm, 0.7 per µS/cm: the natural-water scale.
    Ppm700,
}

impl MeterScale {
    /// All of them.
    pub const ALL: [MeterScale; 4] =
        [MeterScale::Microsiemens, MeterScale::Ppm500, MeterScale::Ppm640, MeterScale::Ppm700];

    /// Those that show dissolved solids.
    pub const PPM: [MeterScale; 3] = [MeterScale::Ppm500, MeterScale::Ppm640, MeterScale::Ppm700];

    /// What is shown per µS/cm.
    #[must_use]
    pub fn factor(self) -> f64 {
        match self {
            MeterScale::Microsiemens => 1.0,
            MeterScale::Ppm500 => scales::NACL_FACTOR,
            MeterScale::Ppm640 => scales::MIDDLE_FACTOR,
            MeterScale::Ppm700 => scales::NATURAL_FACTOR,
        }
    }

    /// The scale as it is written on meters and in tables.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            MeterScale::Microsiemens => "µS/cm",
            MeterScale::Ppm500 => "ppm (0.5, NaCl type)",
            MeterScale::Ppm640 => "ppm (0.64)",
            MeterScale::Ppm700 => "ppm (0.7, natural water)",
        }
    }

    /// A number on this scale with its unit, as readings are written.
    #[must_use]
    pub fn written(self, value: &str) -> String {
        match self {
            MeterScale::Microsiemens => format!("{value} µS/cm"),
            ppm => format!("{value} ppm factor {}", ppm.factor()),
        }
    }

    /// What the display of a meter with this scale shows, as it was typed: a number, with the unit of the
    /// display or without one.
    ///
    /// ```
    /// use waterflight::water::MeterScale;
    /// for typed in ["231,5", "231.5 µS/cm", "0.2315 mS/cm"] {
    ///     assert!((MeterScale::Microsiemens.shown(typed).unwrap() - 231.5).abs() < 1e-9);
    /// }
    /// assert!(MeterScale::Microsiemens.shown("116 ppm").is_err());
    /// assert!((MeterScale::Ppm500.shown("116 ppm").unwrap() - 116.0).abs() < 1e-9);
    /// ```
    ///
    /// # Errors
    /// When it is no number, or has the unit of another scale.
    pub fn shown(self, typed: &str) -> Result<f64, QuantityError> {
        let (value, unit) = leading_number(typed.trim())?;
        let folded = unit.replace('μ', "µ").to_lowercase().replace(' ', "");
        let factor = match (self, folded.as_str()) {
            (_, "") | (MeterScale::Microsiemens, "µs/cm" | "us/cm" | "µs" | "us") => 1.0,
            (MeterScale::Microsiemens, "ms/cm") => 1000.0,
            (MeterScale::Microsiemens, _) => f64::NAN,
            (_, "ppm" | "mg/l") => 1.0,
            (ppm, named)
                if ["factor", "scale"].iter().any(|word| {
                    named.replace(',', ".") == format!("ppm{word}{}", ppm.factor())
                }) =>
            {
                1.0
            }
            _ => f64::NAN,
        };
        if factor.is_nan() {
            return Err(QuantityError::UnknownUnit { unit: unit.to_owned(), near: None });
        }
        Ok(value * factor)
    }
}

/// What a meter does about the temperature of the sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Compensation {
    /// It shows the conductivity at the temperature of the sample.
    None,
    /// It divides by `1 + c·(t − 25 °C)`.
    Linear {
        /// c, per kelvin.
        per_kelvin: f64,
    },
}

/// The meter and how it is used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeterSettings {
    /// What it displays.
    pub scale: MeterScale,
    /// Temperature of the sample.
    pub sample: Celsius,
    /// What it does about that.
    pub compensation: Compensation,
    /// Largest error of the meter, as a part of the reading.
    pub error: Fraction,
    /// Largest error of a dose, as a part of it.
    pub dose_error: Fraction,
    /// Smallest step of the display, on its scale.
    pub resolution: f64,
}

/// Largest error of a dose, as a part of it: our choice, a syringe used with ordinary care; a larger one
/// lets slips pass.
const DOSE_ERROR: f64 = 0.02;

/// Step of a display (common practice).
const RESOLUTION: f64 = 1.0;

impl MeterSettings {
    /// What the meter divides the conductivity of its sample by, to compensate its temperature.
    #[must_use]
    pub fn divisor(&self) -> f64 {
        match self.compensation {
            Compensation::None => 1.0,
            Compensation::Linear { per_kelvin } => {
                let factor = 1.0 + per_kelvin * (self.sample.value() - REFERENCE_CELSIUS);
                factor.max(LEAST_DIVISOR)
            }
        }
    }
}

impl Default for MeterSettings {
    fn default() -> Self {
        Self {
            scale: MeterScale::Microsiemens,
            sample: Celsius::new(REFERENCE_CELSIUS),
            compensation: Compensation::Linear { per_kelvin: scales::COMPENSATION_PER_KELVIN },
            error: Fraction::new(scales::METER_ERROR),
            dose_error: Fraction::new(DOSE_ERROR),
            resolution: RESOLUTION,
        }
    }
}

/// What meters would show for a water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reading {
    /// Conductivity at 25 °C, µS/cm.
    pub us_per_cm_25: f64,
    /// Its standard uncertainty.
    pub us_per_cm_25_uncertainty: f64,
    /// Its expanded uncertainty.
    pub us_per_cm_25_expanded: f64,
    /// Coverage factor of every expanded uncertainty here.
    pub coverage_factor: f64,
    /// What the least and the most salt that was not measured would give, µS/cm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub us_per_cm_25_between: Option<[f64; 2]>,
    /// The same where nothing more is open than what is only known to be below a limit.
    #[serde(skip)]
    pub(crate) us_per_cm_25_ends: [f64; 2],
    /// Temperature of the sample, °C.
    pub sample_celsius: f64,
    /// Conductivity at the temperature of the sample, µS/cm.
    pub us_per_cm_sample: f64,
    /// What a meter with the settings shows, on each scale: label, value, standard uncertainty.
    pub shown: Vec<MeterDisplay>,
}

/// What a meter shows on one scale, with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MeterDisplay {
    /// The scale it is shown on.
    pub scale: MeterScale,
    /// What it shows.
    pub value: f64,
    /// Standard uncertainty of model and meter, and of what was not measured.
    pub uncertainty: f64,
    /// Expanded uncertainty of both.
    pub expanded: f64,
}

/// A meter at a sample temperature, prepared once for any number of waters.
#[derive(Debug, Clone)]
pub struct Meter {
    settings: MeterSettings,
    at_25: (Aqueous, Conductor),
    at_sample: (Aqueous, Conductor),
}

impl Meter {
    /// Prepares the constants.
    ///
    /// # Errors
    /// When the sample is outside 0 to 130 °C.
    pub fn new(settings: MeterSettings) -> Result<Self, ChemistryError> {
        let prepare = |t: Celsius| -> Result<(Aqueous, Conductor), ChemistryError> {
            let aqueous = Aqueous::at(t)?;
            let conductor = Conductor::at(&aqueous);
            Ok((aqueous, conductor))
        };
        Ok(Self {
            settings,
            at_25: prepare(Celsius::new(REFERENCE_CELSIUS))?,
            at_sample: prepare(settings.sample)?,
        })
    }

    /// How the meter shows and how far it may be off.
    #[must_use]
    pub fn settings(&self) -> &MeterSettings {
        &self.settings
    }

    /// What meters show for a water, freshly poured (closed).
    ///
    /// # Errors
    /// As for the report of a water.
    pub fn reading(&self, water: &Composition) -> Result<Reading, ChemistryError> {
        let read = |(aqueous, conductor): &(Aqueous, Conductor)| {
            conductor.of_water(aqueous, water, Carbon::Closed)
        };
        let at_25 = read(&self.at_25)?;
        let at_sample = read(&self.at_sample)?;
        let display = at_sample.us_per_cm / self.settings.divisor();
        let model = at_sample.standard_uncertainty / self.settings.divisor();
        let shown = MeterScale::ALL
            .into_iter()
            .map(|scale| {
                let value = display * scale.factor();
                let parts = [
                    model * scale.factor(),
                    Spread::Rectangular(self.settings.error.value() * value).standard(),
                    Spread::Rectangular(0.5 * self.settings.resolution).standard(),
                ];
                let uncertainty = root_of_squares(&parts);
                MeterDisplay { scale, value, uncertainty, expanded: COVERAGE * uncertainty }
            })
            .collect();
        Ok(Reading {
            us_per_cm_25: at_25.us_per_cm,
            us_per_cm_25_uncertainty: at_25.standard_uncertainty,
            us_per_cm_25_expanded: COVERAGE * at_25.standard_uncertainty,
            coverage_factor: COVERAGE,
            us_per_cm_25_between: at_25.between,
            us_per_cm_25_ends: at_25.ends,
            sample_celsius: self.settings.sample.value(),
            us_per_cm_sample: at_sample.us_per_cm,
            shown,
        })
    }

    /// What the meter with its settings shows for a water, on its scale.
    pub(crate) fn display(&self, water: &Composition) -> Result<Display, ChemistryError> {
        let (aqueous, conductor) = &self.at_sample;
        let conductivity = conductor.of_water(aqueous, water, Carbon::Closed)?;
        let factor = self.settings.scale.factor() / self.settings.divisor();
        Ok(Display {
            value: conductivity.us_per_cm * factor,
            model_uncertainty: conductivity.standard_uncertainty * factor,
            between: conductivity.between.map(|ends| ends.map(|end| end * factor)),
        })
    }
}

/// Display and the uncertainty of the model behind it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Display {
    pub(crate) value: f64,
    pub(crate) model_uncertainty: f64,
    /// The same for the least and the most salt that was not measured.
    pub(crate) between: Option<[f64; 2]>,
}

/// Floor of the compensation's divisor: our choice; at 0 °C the usual one is 0.5.
const LEAST_DIVISOR: f64 = 0.1;

/// Independent parts of an uncertainty together (JCGM 100, equation 10).
pub(crate) fn root_of_squares(parts: &[f64]) -> f64 {
    parts.iter().map(|p| p * p).sum::<f64>().sqrt()
}
