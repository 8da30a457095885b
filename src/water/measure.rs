//! The measures: what a goal can be set on, each one row of coefficients on the composition.

use std::sync::LazyLock;

use thiserror::Error;

use crate::chemistry::{Composition, Conserved};
use crate::quantities::{Dimension, Quantity, QuantityError, Unit};
use crate::reference::water_hardness::BICARBONATE_RESIDUE_SHARE;

/// Something linear in composition.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Measure {
    /// Calcium as the ion.
    Calcium,
    /// Magnesium as the ion.
    Magnesium,
    /// Sodium.
    Sodium,
    /// Potassium.
    Potassium,
    /// Chloride.
    Chloride,
    /// Sulfate.
    Sulfate,
    /// Nitrate.
    Nitrate,
    /// Silica as SiO2.
    Silica,
    /// Alkalinity written as the mass of bicarbonate.
    Bicarbonate,
    /// Carbonate alkalinity.
    Alkalinity,
    /// Total hardness: calcium and magnesium.
    Hardness,
    /// Calcium's part of the hardness.
    CalciumHardness,
    /// Magnesium's part of the hardness.
    MagnesiumHardness,
    /// Sum of all dissolved constituents, alkalinity as bicarbonate.
    DissolvedSolids,
    /// The same as a dry residue, where bicarbonate leaves half of its mass.
    ResidueOnEvaporation,
}

/// The unit in which a measure is computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NativeUnit {
    /// meq/L: everything that carries charge.
    MeqPerL,
    /// mmol/L: silica.
    MmolPerL,
    /// mg/L: sums of masses.
    MgPerL,
}

/// Why a text is not an amount of a measure.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum MeasureError {
    /// The text is no amount at all.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// The unit does not fit the measure.
    #[error("{} cannot be given in {}: {}", measure.key(), unit.symbol(), reason)]
    UnitDoesNotFit {
        /// The measure.
        measure: Measure,
        /// The unit as written.
        unit: Unit,
        /// Why it does not fit.
        reason: &'static str,
    },
    /// Not detected, and the limit is not said.
    #[error("`{text}` does not say how little it is")]
    NoLimit {
        /// The text as written.
        text: String,
    },
}

impl Measure {
    /// Every measure, in the order in which messages list them.
    pub const ALL: [Measure; 15] = [
        Measure::Hardness,
        Measure::CalciumHardness,
        Measure::MagnesiumHardness,
        Measure::Alkalinity,
        Measure::Calcium,
        Measure::Magnesium,
        Measure::Sodium,
        Measure::Potassium,
        Measure::Chloride,
        Measure::Sulfate,
        Measure::Nitrate,
        Measure::Silica,
        Measure::Bicarbonate,
        Measure::DissolvedSolids,
        Measure::ResidueOnEvaporation,
    ];

    /// Every key that a file may use, in the order of [`Measure::ALL`].
    #[expect(clippy::indexing_slicing, reason = "one place per measure, checked as it is compiled")]
    pub const KEYS: &'static [&'static str] = &{
        let mut keys = [""; Measure::ALL.len()];
        let mut n = 0;
        while n < keys.len() {
            keys[n] = Measure::ALL[n].key();
            n += 1;
        }
        keys
    };

    /// The key in files and reports.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Measure::Hardness => "hardness",
            Measure::CalciumHardness => "calcium_hardness",
            Measure::MagnesiumHardness => "magnesium_hardness",
            Measure::Alkalinity => "alkalinity",
            Measure::Calcium => "calcium",
            Measure::Magnesium => "magnesium",
            Measure::Sodium => "sodium",
            Measure::Potassium => "potassium",
            Measure::Chloride => "chloride",
            Measure::Sulfate => "sulfate",
            Measure::Nitrate => "nitrate",
            Measure::Silica => "silica",
            Measure::Bicarbonate => "bicarbonate",
            Measure::DissolvedSolids => "dissolved_solids",
            Measure::ResidueOnEvaporation => "residue_on_evaporation",
        }
    }

    /// The name in running text and tables.
    #[must_use]
    pub fn label(self) -> String {
        self.key().replace('_', " ")
    }

    /// The unit in which this measure is computed.
    #[must_use]
    pub fn native_unit(self) -> NativeUnit {
        match self {
            Measure::Silica => NativeUnit::MmolPerL,
            Measure::DissolvedSolids | Measure::ResidueOnEvaporation => NativeUnit::MgPerL,
            _ => NativeUnit::MeqPerL,
        }
    }

    /// Whether it is a sum of masses, which an analysis may give beside its parts.
    pub(crate) fn is_sum_of_masses(self) -> bool {
        self.native_unit() == NativeUnit::MgPerL
    }

    /// Coefficients on the conserved totals; their scalar product with a composition is the
    /// measure in its native unit. Ions count 1 per equivalent, so a salt of one meq/L has
    /// coefficients 0 and 1 only.
    #[must_use]
    #[expect(clippy::indexing_slicing, reason = "the table has one place per variant")]
    pub fn coefficients(self) -> &'static [f64; Conserved::ALL.len()] {
        static OF_EACH: LazyLock<[[f64; Conserved::ALL.len()]; Measure::ALL.len()]> =
            LazyLock::new(|| {
                let mut of_each = [[0.0; Conserved::ALL.len()]; Measure::ALL.len()];
                for measure in Measure::ALL {
                    of_each[measure as usize] = Conserved::ALL.map(|c| measure.coefficient(c));
                }
                of_each
            });
        &OF_EACH[self as usize]
    }

    /// The measure of a composition, in its native unit, whether or not it was measured.
    #[must_use]
    pub fn of(self, water: &Composition) -> f64 {
        water.dot(self.coefficients())
    }

    pub(crate) fn coefficient(self, c: Conserved) -> f64 {
        let counts = |of: &[Conserved]| {
            if of.contains(&c) { f64::from(c.charge().abs().max(1)) } else { 0.0 }
        };
        match self {
            Measure::Calcium | Measure::CalciumHardness => counts(&[Conserved::Ca]),
            Measure::Magnesium | Measure::MagnesiumHardness => counts(&[Conserved::Mg]),
            Measure::Hardness => counts(&[Conserved::Ca, Conserved::Mg]),
            Measure::Sodium => counts(&[Conserved::Na]),
            Measure::Potassium => counts(&[Conserved::K]),
            Measure::Chloride => counts(&[Conserved::Cl]),
            Measure::Sulfate => counts(&[Conserved::SO4]),
            Measure::Nitrate => counts(&[Conserved::NO3]),
            Measure::Silica => counts(&[Conserved::SiO2]),
            Measure::Bicarbonate | Measure::Alkalinity => counts(&[Conserved::Alkalinity]),
            Measure::DissolvedSolids => match c {
                Conserved::Dic => 0.0,
                other => other.g_per_mol(),
            },
            Measure::ResidueOnEvaporation => match c {
                Conserved::Dic => 0.0,
                Conserved::Alkalinity => c.g_per_mol() * BICARBONATE_RESIDUE_SHARE,
                other => other.g_per_mol(),
            },
        }
    }

    /// The conserved total whose mass the measure is, if it is the mass of one.
    pub(crate) fn constituent(self) -> Option<Conserved> {
        match self {
            Measure::Calcium => Some(Conserved::Ca),
            Measure::Magnesium => Some(Conserved::Mg),
            Measure::Sodium => Some(Conserved::Na),
            Measure::Potassium => Some(Conserved::K),
            Measure::Chloride => Some(Conserved::Cl),
            Measure::Sulfate => Some(Conserved::SO4),
            Measure::Nitrate => Some(Conserved::NO3),
            Measure::Silica => Some(Conserved::SiO2),
            Measure::Bicarbonate => Some(Conserved::Alkalinity),
            _ => None,
        }
    }

    /// The measures of one constituent each, in the order in which waters are written.
    pub fn constituents() -> impl Iterator<Item = Measure> {
        Self::ALL.into_iter().filter(|measure| measure.constituent().is_some())
    }

    /// What one of `unit` is in the native unit of this measure.
    ///
    /// # Errors
    /// When the unit cannot express this measure, with the reason.
    pub fn native_per(self, unit: Unit) -> Result<f64, MeasureError> {
        let refuse = |reason| Err(MeasureError::UnitDoesNotFit { measure: self, unit, reason });
        let factor = unit.factor();
        match (self.native_unit(), unit.dimension()) {
            (NativeUnit::MgPerL, Dimension::MassPerVolume)
            | (NativeUnit::MmolPerL, Dimension::AmountPerVolume)
            | (NativeUnit::MeqPerL, Dimension::EquivalentsPerVolume) => Ok(factor),
            (NativeUnit::MgPerL, _) => {
                refuse("it is a sum of masses, so it is given in mg/L or g/L")
            }
            (NativeUnit::MmolPerL, Dimension::MassPerVolume) => {
                Ok(factor / Conserved::SiO2.g_per_mol())
            }
            (NativeUnit::MmolPerL, _) => {
                refuse("silica is uncharged and no part of hardness; give mg/L or mmol/L")
            }
            (NativeUnit::MeqPerL, Dimension::AsCalciumCarbonate) => match self {
                Measure::Sodium
                | Measure::Potassium
                | Measure::Chloride
                | Measure::Sulfate
                | Measure::Nitrate => refuse(
                    "degrees and mg/L as CaCO3 express hardness and alkalinity, and this ion is \
                     part of neither",
                ),
                _ => Ok(factor),
            },
            (NativeUnit::MeqPerL, Dimension::MassPerVolume) => match self.constituent() {
                Some(c) => Ok(factor / c.g_per_mol() * f64::from(c.charge().abs())),
                None if unit == Unit::Ppm => refuse(
                    "ppm leaves open of what; where a drop test or a report means calcium carbonate, \
                     write `ppm as CaCO3`",
                ),
                None => refuse(
                    "a plain mass leaves open of what; write `mg/L as CaCO3`, meq/L or degrees",
                ),
            },
            (NativeUnit::MeqPerL, Dimension::AmountPerVolume) => match self {
                Measure::Alkalinity => {
                    refuse("a mole of bicarbonate and a mole of CaCO3 differ by two; write meq/L")
                }
                Measure::Hardness | Measure::CalciumHardness | Measure::MagnesiumHardness => {
                    Ok(2.0 * factor)
                }
                _ => {
                    Ok(self.constituent().map_or(factor, |c| factor * f64::from(c.charge().abs())))
                }
            },
            (NativeUnit::MeqPerL, Dimension::AsBicarbonate) => match self {
                Measure::Alkalinity | Measure::Bicarbonate => Ok(factor),
                _ => refuse("only alkalinity is written as bicarbonate"),
            },
            (NativeUnit::MeqPerL, Dimension::AsNitrogen) => match self {
                Measure::Nitrate => Ok(factor),
                _ => refuse("only nitrate is written as nitrogen"),
            },
            (NativeUnit::MeqPerL, _) => refuse("it is not a concentration"),
        }
    }

    /// Reads an amount of this measure into its native unit, together with the unit as written.
    ///
    /// # Errors
    /// When the text is no amount, the unit does not fit, or the amount is below zero.
    ///
    /// ```
    /// use waterflight::water::Measure;
    /// // 3 °dH are 30 mg/L of CaO, 2 · 30 / 56.077 meq/L
    /// let (meq_per_l, _) = Measure::Alkalinity.parse("3 °dH").unwrap();
    /// assert!((meq_per_l - 1.069_957).abs() < 1e-6);
    /// assert!(Measure::Sodium.parse("3 °dH").is_err());
    /// ```
    pub fn parse(self, text: &str) -> Result<(f64, Unit), MeasureError> {
        let quantity = Quantity::parse_within_bounds(text)?;
        let factor = self.native_per(quantity.unit)?;
        if quantity.value < 0.0 {
            return Err(QuantityError::Negative { text: text.trim().to_owned() }.into());
        }
        Ok((quantity.value * factor, quantity.unit))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_measure_offers_its_usual_unit() {
        for measure in Measure::ALL {
            assert!(measure.choices().contains(&measure.usual_unit().symbol()), "{measure:?}");
        }
    }

    #[test]
    fn a_plain_mass_of_hardness_is_refused() {
        for text in ["70 mg/L", "70 ppm"] {
            assert!(matches!(
                Measure::Hardness.parse(text),
                Err(MeasureError::UnitDoesNotFit { .. })
            ));
        }
        assert!(Measure::Hardness.parse("70 ppm as CaCO3").is_ok());
    }

    /// What a laboratory writes as nitrogen or as bicarbonate is the same ion.
    #[test]
    fn nitrogen_and_bicarbonate_are_forms_of_nitrate_and_alkalinity() {
        let native = |measure: Measure, text: &str| measure.parse(text).map(|(native, _)| native);
        let ratio = |measure, one, other| match (native(measure, one), native(measure, other)) {
            (Ok(one), Ok(other)) => one / other,
            _ => f64::NAN,
        };
        assert!((ratio(Measure::Nitrate, "3 mg/L as N", "13.28 mg/L") - 1.0).abs() < 1e-3);
        let alkalinity = ratio(Measure::Alkalinity, "122.03 mg/L as HCO3", "2 meq/L");
        assert!((alkalinity - 1.0).abs() < 1e-3);
        assert!(Measure::Sulfate.parse("3 mg/L as N").is_err());
        assert!(Measure::Hardness.parse("3 mg/L as HCO3").is_err());
    }

    /// 100.0869 mg/L of CaCO3 are 1 mmol/L of calcium, 40.078 mg/L, 2 meq/L.
    #[test]
    fn calcium_in_every_unit_is_the_same() {
        for text in ["100.0869 mg/L as CaCO3", "40.078 mg/L", "1 mmol/L", "2 meq/L"] {
            let (native, _) = Measure::Calcium.parse(text).unwrap_or((f64::NAN, Unit::MgPerL));
            assert!((native - 2.0).abs() < 1e-12, "{text}: {native}");
        }
    }
}
