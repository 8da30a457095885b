//! A reading of a diluted stock as a person writes it: a conductivity, a meter's dissolved solids, a
//! titration.

use thiserror::Error;

use crate::quantities::spelling::{bare_number, leading_number};
use crate::quantities::{Dimension, Quantity, QuantityError, Unit};
use crate::water::MeterScale;

/// What a titration measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Titration {
    /// Hardness with EDTA (Standard Methods 2340 C).
    Edta,
    /// Alkalinity with a strong acid (Standard Methods 2320 B).
    Acid,
}

/// One reading of the dilution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reading {
    /// A conductivity meter.
    Conductivity {
        /// µS/cm, what the meter shows or its scale gives back: at 25 °C, or as it compensates the
        /// temperature of its sample.
        us_per_cm: f64,
        /// Half of the last place that was written, µS/cm: what the display rounds away.
        rounded_within: f64,
    },
    /// A titration.
    Titration {
        /// Which one.
        kind: Titration,
        /// Hardness or alkalinity, meq/L.
        meq_per_l: f64,
        /// Half-width of the volume or the count of drops, as a part of it.
        volume_within: f64,
        /// Half-width of the titrant's strength, as a part of it.
        titrant_within: f64,
    },
}

/// Why a text is no reading.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ReadingError {
    /// It is written in another way.
    #[error("`{text}` is not a reading")]
    Unreadable {
        /// The text as written.
        text: String,
    },
    /// One of its amounts is none.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
}

/// Half-width of a burette or syringe reading: our choice, half of a 0.1 mL mark; mL.
const BURETTE_WITHIN_ML: f64 = 0.05;

/// Half-width of a titrant's stated strength: our choice, what a bought titrant or kit keeps.
const TITRANT_WITHIN: f64 = 0.01;

/// Largest conductivity that is read. Our choice: above that of every solution; the best conductors among
/// acids reach somewhat less (common practice).
pub const MOST_US_PER_CM: f64 = 1e6;

impl Reading {
    /// Reads what a meter shows: `412 µS/cm`, `0.41 mS/cm`, or dissolved solids with the factor of
    /// the meter, `206 ppm factor 0.5`; `scale` is understood for it.
    ///
    /// # Errors
    /// When it is neither.
    pub fn meter(text: &str) -> Result<Self, ReadingError> {
        let unreadable = || ReadingError::Unreadable { text: text.trim().to_owned() };
        let (value, unit) = leading_number(text.trim())?;
        let half_a_place = half_a_place(text.trim().strip_suffix(unit).unwrap_or_default());
        let unit = unit.replace('μ', "µ").to_lowercase().replace(' ', "");
        let us_per_unit = match unit.as_str() {
            "µs/cm" | "us/cm" => 1.0,
            "ms/cm" => 1000.0,
            other => {
                let named = other.strip_prefix("ppm").or(other.strip_prefix("mg/l"));
                let factor =
                    named.and_then(|n| n.strip_prefix("factor").or(n.strip_prefix("scale")));
                let factor: f64 =
                    factor.and_then(|f| bare_number(f).ok()).ok_or_else(unreadable)?;
                if !(0.3..=1.0).contains(&factor) {
                    return Err(unreadable());
                }
                1.0 / factor
            }
        };
        let (us_per_cm, rounded_within) = (value * us_per_unit, half_a_place * us_per_unit);
        if us_per_cm > 0.0 && us_per_cm <= MOST_US_PER_CM {
            Ok(Self::Conductivity { us_per_cm, rounded_within })
        } else {
            Err(unreadable())
        }
    }

    /// Reads what a meter of a scale shows: as [`Reading::meter`], and a bare number is what its display
    /// shows.
    ///
    /// # Errors
    /// As [`Reading::meter`].
    pub fn on_meter(scale: MeterScale, text: &str) -> Result<Self, ReadingError> {
        match bare_number(text) {
            Ok(_) => Self::meter(&scale.written(text.trim())),
            Err(_) => Self::meter(text),
        }
    }

    /// Its conductivity, µS/cm; that of a titration is nothing.
    #[must_use]
    pub fn us_per_cm(self) -> f64 {
        match self {
            Self::Conductivity { us_per_cm, .. } => us_per_cm,
            Self::Titration { .. } => 0.0,
        }
    }

    /// Reads a titration: `8.2 mL of 0.01 mol/L on 100 mL`, or `9 drops of 1 °dH` when each
    /// drop of a kit counts so much.
    ///
    /// Hardness in mmol/L is that of the EDTA used (one to one), so in meq/L twice that; alkalinity
    /// is the acid's eq/L. A kit counts whole drops and the colour turned with the last one, so the
    /// truth lies in the half drop around the count less one half.
    ///
    /// ```
    /// use waterflight::stock::reading::{Reading, Titration};
    /// // SM 2340 C: 1 mL of 0.01 M EDTA is 1 mg CaCO3, so 15 mL on 25 mL are 600 mg/L as CaCO3
    /// let read = Reading::titration(Titration::Edta, "15 mL of 0.01 mol/L on 25 mL").unwrap();
    /// let Reading::Titration { meq_per_l, .. } = read else { unreachable!() };
    /// assert!((meq_per_l * 50.043_5 - 600.5).abs() < 0.1);
    /// ```
    ///
    /// # Errors
    /// When it is written in another way, or one of its amounts is none.
    pub fn titration(kind: Titration, text: &str) -> Result<Self, ReadingError> {
        let unreadable = || ReadingError::Unreadable { text: text.trim().to_owned() };
        let (used, titrant) = text.split_once(" of ").ok_or_else(unreadable)?;
        let (count, what) = leading_number(used.trim())?;
        if matches!(what, "drop" | "drops") {
            let each = Quantity::parse_as(
                titrant,
                &[Dimension::AsCalciumCarbonate, Dimension::EquivalentsPerVolume],
            )?;
            let middle = count - 0.5;
            return Self::sound(kind, middle * each, 0.5 / middle).ok_or_else(unreadable);
        }
        let (strength, sample) = titrant.split_once(" on ").ok_or_else(unreadable)?;
        let millilitres = Quantity::parse_as(used, &[Dimension::Volume])?;
        let sample = Quantity::parse_as(sample, &[Dimension::Volume])?;
        let amounts = [Dimension::AmountPerVolume, Dimension::EquivalentsPerVolume];
        let written = Quantity::parse(strength)?;
        let strength = Quantity::parse_as(strength, &amounts)?;
        // mmol/L of EDTA bind two equivalents; an acid's moles are taken as equivalents.
        let is_moles = matches!(written.unit, Unit::MmolPerL | Unit::MolPerL);
        let equivalents = if kind == Titration::Edta && is_moles { 2.0 } else { 1.0 };
        let meq_per_l = equivalents * strength * millilitres / sample;
        Self::sound(kind, meq_per_l, BURETTE_WITHIN_ML / millilitres).ok_or_else(unreadable)
    }

    /// A titration whose numbers are numbers.
    fn sound(kind: Titration, meq_per_l: f64, volume_within: f64) -> Option<Self> {
        let bounds = Dimension::EquivalentsPerVolume.bounds();
        let ordinary = (bounds.least..=bounds.most).contains(&meq_per_l);
        (ordinary && volume_within > 0.0 && volume_within.is_finite()).then_some(Self::Titration {
            kind,
            meq_per_l,
            volume_within,
            titrant_within: TITRANT_WITHIN,
        })
    }
}

/// Half of the last decimal place of a number as it was typed, its decimals behind a point or a comma.
/// A display ends with its last place; a number with an exponent is no display's, and nothing is known
/// of its places.
fn half_a_place(number: &str) -> f64 {
    if number.contains(['e', 'E']) {
        return 0.0;
    }
    let places = number.trim_end().split_once(['.', ',']).map_or(0, |(_, places)| places.len());
    0.5 * 10.0_f64.powi(-i32::try_from(places).unwrap_or(0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn meq(kind: Titration, text: &str) -> Option<f64> {
        match Reading::titration(kind, text) {
            Ok(Reading::Titration { meq_per_l, .. }) => Some(meq_per_l),
            _ => None,
        }
    }

    /// SM 2320 B: alkalinity as mg CaCO3/L = A × N × 50 000 / mL sample; 10.5 mL of 0.02 N on
    /// 100 mL are 105 mg/L.
    #[test]
    fn the_acid_titration_is_that_of_the_book() {
        let got = meq(Titration::Acid, "10.5 mL of 0.02 mol/L on 100 mL");
        assert!(got.is_some_and(|m| (m * 50.0 - 105.0).abs() < 1e-9));
        let same = meq(Titration::Acid, "10.5 mL of 20 meq/L on 100 mL");
        assert!(same.zip(got).is_some_and(|(a, b)| (a - b).abs() < 1e-12));
    }

    #[test]
    fn drops_count_less_one_half() {
        let got = meq(Titration::Edta, "9 drops of 1 °dH");
        assert!(got.is_some_and(|m| (m - 8.5 * 0.356_647).abs() < 1e-4), "{got:?}");
    }

    #[test]
    fn meters_of_every_kind_give_conductivity() {
        for text in [
            "412 µS/cm",
            "412 μS/cm",
            "412 us/cm",
            "0.412 mS/cm",
            "206 ppm factor 0.5",
            "206 ppm scale 0.5",
        ] {
            assert!(
                matches!(Reading::meter(text), Ok(Reading::Conductivity { us_per_cm, .. })
                    if (us_per_cm - 412.0).abs() < 1e-9),
                "{text}"
            );
        }
        for wrong in ["412", "412 ppm", "0 µS/cm", "-3 µS/cm", "4 ppm factor 7"] {
            assert!(Reading::meter(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_display_rounds_away_half_of_its_last_place() {
        for (text, want) in [
            ("412 µS/cm", 0.5),
            ("412.0 µS/cm", 0.05),
            ("0.41 mS/cm", 5.0),
            ("0,41 mS/cm", 5.0),
            ("0,217mS/cm", 0.5),
            ("+0.217 mS/cm", 0.5),
            ("412,5 µS/cm", 0.05),
            ("206 ppm factor 0.5", 1.0),
            ("4.12e2 µS/cm", 0.0),
        ] {
            assert!(
                matches!(Reading::meter(text), Ok(Reading::Conductivity { rounded_within, .. })
                    if (rounded_within - want).abs() < 1e-9),
                "{text}"
            );
        }
    }

    #[test]
    fn half_a_titration_is_none() {
        for wrong in ["8 mL", "8 mL of 0.01 mol/L", "0 drops of 1 °dH", "8 mL of 1 g on 5 mL"] {
            assert_eq!(meq(Titration::Edta, wrong), None, "{wrong}");
        }
    }
}
