//! Amounts as people write them: a number, a unit, tolerant spelling, strict meaning.
//!
//! Above 400 lines: the spellings of one unit are read side by side.

use std::fmt;

use thiserror::Error;

use crate::quantities::fractions::leading_fraction;
use crate::quantities::near_unit::nearest;
use crate::quantities::show;
use crate::reference::water_hardness as factor;

/// What kind of amount a unit measures; two units can be exchanged only within a dimension.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// Mass of a substance per volume.
    MassPerVolume,
    /// Amount of a substance per volume.
    AmountPerVolume,
    /// Equivalents of charge per volume.
    EquivalentsPerVolume,
    /// Equivalents written as calcium carbonate, or in degrees of hardness.
    AsCalciumCarbonate,
    /// Equivalents of alkalinity written as the mass of bicarbonate.
    AsBicarbonate,
    /// Amount of nitrate written as the mass of its nitrogen.
    AsNitrogen,
    /// Volume of one thing in a volume of another.
    VolumePerVolume,
    /// Mass per mass of solution.
    MassFraction,
    /// A share or a percentage.
    Percent,
    /// A mass.
    Mass,
    /// A volume.
    Volume,
    /// A temperature.
    Temperature,
    /// A ratio of two masses, amounts or equivalents.
    Ratio,
}

impl Dimension {
    /// The dimension in words, as messages name it.
    #[must_use]
    pub fn describe(self) -> &'static str {
        match self {
            Dimension::MassPerVolume => "a mass per volume",
            Dimension::AmountPerVolume => "an amount of substance per volume",
            Dimension::EquivalentsPerVolume => "equivalents of charge per volume",
            Dimension::AsCalciumCarbonate => "hardness or alkalinity as calcium carbonate",
            Dimension::AsBicarbonate => "alkalinity as bicarbonate",
            Dimension::AsNitrogen => "nitrate as nitrogen",
            Dimension::VolumePerVolume => "a volume per volume",
            Dimension::MassFraction => "a mass per mass",
            Dimension::Percent => "a percentage",
            Dimension::Mass => "a mass",
            Dimension::Volume => "a volume",
            Dimension::Temperature => "a temperature",
            Dimension::Ratio => "a ratio",
        }
    }

    /// The printed form of every unit of this dimension.
    pub fn choices(self) -> impl Iterator<Item = &'static str> {
        let of_this = Unit::ALL.iter().filter(move |unit| unit.dimension() == self);
        of_this.filter(|unit| unit.is_proposed()).map(|unit| unit.symbol())
    }
}

macro_rules! units {
    ($($(#[$doc:meta])* $name:ident, $dimension:ident, $symbol:literal, $factor:expr, [$($spelling:literal),* $(,)?];)*) => {
        /// A unit that a file may use.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Unit {
            $($(#[$doc])* $name,)*
        }

        impl Unit {
            /// Every unit, in the order in which messages list them.
            pub const ALL: &'static [Unit] = &[$(Unit::$name,)*];

            /// The dimension that the unit belongs to.
            #[must_use]
            pub fn dimension(self) -> Dimension {
                match self { $(Unit::$name => Dimension::$dimension,)* }
            }

            /// The unit as printed.
            #[must_use]
            pub fn symbol(self) -> &'static str {
                match self { $(Unit::$name => $symbol,)* }
            }

            /// What one of this unit is in the base unit of its dimension.
            #[must_use]
            pub fn factor(self) -> f64 {
                match self { $(Unit::$name => $factor,)* }
            }

            pub(super) fn spellings(self) -> &'static [&'static str] {
                match self { $(Unit::$name => &[$($spelling),*],)* }
            }
        }
    };
}

// Base units: mg/L, mmol/L, meq/L, mL/L, fraction, g, mL, °C, plain number. Spellings are compared
// after `fold`: lower case, without spaces, dots and degree signs. UCUM's case-sensitive codes
// (mg/L, mmol/L, g/kg, mL, Cel) are all among them.
units! {
    /// Milligrams per litre.
    MgPerL, MassPerVolume, "mg/L", 1.0, ["mg/l", "mgl-1", "mgperl", "mg/litre", "mg/liter", "mg/dm3", "g/m3", "µg/ml", "ug/ml"];
    /// Grams per litre.
    GPerL, MassPerVolume, "g/L", 1000.0, ["g/l", "gl-1", "gperl", "g/litre", "g/liter", "mg/ml", "kg/m3", "g/dm3"];
    /// Grams per millilitre.
    GPerMl, MassPerVolume, "g/mL", 1.0e6, ["g/ml", "kg/l", "g/cm3", "g/cc"];
    /// Parts per million, read as mg/L: at the strength of drinking water the two differ by less
    /// than 0.1 %.
    Ppm, MassPerVolume, "ppm", 1.0, ["ppm"];
    /// Micrograms per litre.
    MicrogramsPerL, MassPerVolume, "µg/L", 1.0e-3, ["µg/l", "ug/l", "mcg/l", "µgl-1", "µg/litre", "µg/liter", "µg/dm3", "mg/m3"];
    /// Parts per billion, read as µg/L.
    Ppb, MassPerVolume, "ppb", 1.0e-3, ["ppb"];
    /// Milligrams per decilitre.
    MgPerDl, MassPerVolume, "mg/dL", 10.0, ["mg/dl", "mgdl-1", "mg/100ml"];
    /// Millimoles per litre.
    MmolPerL, AmountPerVolume, "mmol/L", 1.0, ["mmol/l", "mmoll-1", "mm", "mmol/dm3", "mol/m3", "mmolperl"];
    /// Moles per litre.
    MolPerL, AmountPerVolume, "mol/L", 1000.0, ["mol/l", "moll-1", "mol/dm3"];
    /// Milliequivalents per litre.
    MeqPerL, EquivalentsPerVolume, "meq/L", 1.0, ["meq/l", "meql-1", "mval/l", "mequiv/l", "meq/dm3", "meqperl"];
    /// Equivalents per litre.
    EqPerL, EquivalentsPerVolume, "eq/L", 1000.0, ["eq/l", "meq/ml", "equiv/l", "val/l"];
    /// Milligrams per litre as calcium carbonate.
    MgPerLAsCaCo3, AsCalciumCarbonate, "mg/L as CaCO3", 1.0 / factor::CACO3_MG_PER_MEQ, ["mg/lascaco3", "mg/lcaco3", "mg/l(caco3)", "mgcaco3/l", "mg/l(ascaco3)", "mg/las[caco3]"];
    /// Parts per million as calcium carbonate, read as mg/L as calcium carbonate.
    PpmAsCaCo3, AsCalciumCarbonate, "ppm as CaCO3", 1.0 / factor::CACO3_MG_PER_MEQ, ["ppmascaco3", "ppmcaco3", "ppm(caco3)", "ppm(ascaco3)"];
    /// German degrees of hardness.
    GermanDegree, AsCalciumCarbonate, "°dH", 2.0 * factor::GERMAN_DEGREE_CAO_MG_PER_L / factor::CAO_G_PER_MOL, ["dh", "degdh", "dgh", "gdh", "dkh", "kdh", "germandegrees", "germandegree", "degreesdh", "degreedh", "degreesgerman"];
    /// French degrees of hardness.
    FrenchDegree, AsCalciumCarbonate, "°fH", factor::FRENCH_DEGREE_CACO3_MG_PER_L / factor::CACO3_MG_PER_MEQ, ["fh", "degfh", "tf", "frenchdegrees", "frenchdegree", "degreesfh", "degreefh"];
    /// English (Clark) degrees of hardness.
    EnglishDegree, AsCalciumCarbonate, "°e", factor::GRAIN_MG / factor::IMPERIAL_GALLON_L / factor::CACO3_MG_PER_MEQ, ["e", "dege", "clark", "degclark", "eh", "englishdegrees", "englishdegree", "degreese", "degreesclark", "clarkdegrees"];
    /// Grains of calcium carbonate per US gallon.
    GrainsPerGallon, AsCalciumCarbonate, "gpg", factor::GRAIN_MG / factor::US_GALLON_L / factor::CACO3_MG_PER_MEQ, ["gpg", "usgpg", "gpg(us)", "grains/gal", "grains/usgal", "gr/gal", "grainspergallon"];
    /// Milligrams per litre as bicarbonate.
    MgPerLAsHco3, AsBicarbonate, "mg/L as HCO3", 1.0 / factor::BICARBONATE_G_PER_MOL, ["mg/lashco3", "mg/lashco3-", "mg/lhco3", "mg/lhco3-", "mg/l(hco3)", "mg/l(ashco3)", "mghco3/l", "mghco3-/l", "mg/lasbicarbonate", "ppmashco3"];
    /// Milligrams per litre as the nitrogen of nitrate.
    MgPerLAsN, AsNitrogen, "mg/L as N", 1.0 / factor::NITROGEN_G_PER_MOL, ["mg/lasn", "mg/ln", "mg/l(n)", "mg/l(asn)", "mgn/l", "mg/lno3-n", "mg/lasno3-n", "mgno3-n/l", "mg/lasnitrogen", "ppmasn"];
    /// Millilitres per litre.
    MlPerL, VolumePerVolume, "mL/L", 1.0, ["ml/l", "mll-1", "mlperl", "ml/litre", "ml/liter"];
    /// Grams per kilogram.
    GPerKg, MassFraction, "g/kg", 1.0e-3, ["g/kg", "gkg-1", "gperkg", "mg/g", "‰"];
    /// Milligrams per kilogram.
    MgPerKg, MassFraction, "mg/kg", 1.0e-6, ["mg/kg", "mgkg-1"];
    /// Per cent.
    Percent, Percent, "%", 1.0e-2, ["%", "percent", "pct"];
    /// Grams.
    Gram, Mass, "g", 1.0, ["g", "gram", "grams", "gramme", "grammes"];
    /// Milligrams.
    Milligram, Mass, "mg", 1.0e-3, ["mg", "milligram", "milligrams"];
    /// Kilograms.
    Kilogram, Mass, "kg", 1000.0, ["kg", "kilogram", "kilograms", "kilo", "kilos"];
    /// Millilitres.
    Millilitre, Volume, "mL", 1.0, ["ml", "millilitre", "millilitres", "milliliter", "milliliters", "cm3", "cc"];
    /// Centilitres.
    Centilitre, Volume, "cL", 10.0, ["cl", "centilitre", "centilitres", "centiliter", "centiliters"];
    /// Litres.
    Litre, Volume, "L", 1000.0, ["l", "litre", "litres", "liter", "liters", "dm3"];
    /// US liquid gallons.
    UsGallon, Volume, "US gal", 1000.0 * factor::US_GALLON_L, ["usgal", "usgallon", "usgallons", "gal(us)", "gallon(us)", "gallons(us)", "galus"];
    /// Imperial gallons.
    ImperialGallon, Volume, "imp gal", 1000.0 * factor::IMPERIAL_GALLON_L, ["impgal", "impgallon", "impgallons", "imperialgallon", "imperialgallons", "gal(imp)", "ukgal", "ukgallon", "ukgallons"];
    /// US fluid ounces: 128 to the US gallon.
    UsFluidOunce, Volume, "US fl oz", 1000.0 * factor::US_GALLON_L / factor::US_FLUID_OUNCES_PER_GALLON, ["usfloz", "usfluidounce", "usfluidounces", "floz(us)"];
    /// Imperial fluid ounces: 160 to the imperial gallon.
    ImperialFluidOunce, Volume, "imp fl oz", 1000.0 * factor::IMPERIAL_GALLON_L / factor::IMPERIAL_FLUID_OUNCES_PER_GALLON, ["impfloz", "imperialfluidounce", "imperialfluidounces", "floz(imp)", "ukfloz"];
    /// Degrees Celsius.
    Celsius, Temperature, "°C", 1.0, ["c", "degc", "celsius", "cel", "degreescelsius", "degreecelsius"];
    /// A ratio of masses.
    MassRatio, Ratio, "mg/mg", 1.0, ["mg/mg", "g/g", "kg/kg"];
    /// A ratio of amounts.
    MoleRatio, Ratio, "mol/mol", 1.0, ["mol/mol", "mmol/mmol"];
    /// A ratio of equivalents.
    EquivalentRatio, Ratio, "meq/meq", 1.0, ["meq/meq", "eq/eq", "val/val"];
}

/// A number with a unit, as written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// The number as written.
    pub value: f64,
    /// The unit as written.
    pub unit: Unit,
}

/// Why a text is not the amount that was asked for.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum QuantityError {
    /// There is no number at the start.
    #[error("{}", no_number(text))]
    NoNumber {
        /// The text as written.
        text: String,
    },
    /// The number has a comma that may be one of decimals or of thousands.
    #[error("{}", comma(text))]
    Comma {
        /// The text as written.
        text: String,
    },
    /// The number is not finite.
    #[error("`{text}` is not a finite number")]
    NotFinite {
        /// The text as written.
        text: String,
    },
    /// The number stands alone.
    #[error("`{text}` has no unit")]
    NoUnit {
        /// The text as written.
        text: String,
    },
    /// The unit is not known.
    #[error("{}", no_unit(unit))]
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// A known unit that is spelled the same but for marks, or a slip of the hand.
        near: Option<&'static str>,
    },
    /// The unit is known and does not fit.
    #[error("`{text}` is {}, which does not fit here", unit.dimension().describe())]
    WrongDimension {
        /// The text as written.
        text: String,
        /// Its unit.
        unit: Unit,
    },
    /// The amount is far from everything that a bench can mean.
    #[error("`{text}` is no amount for a bench: {why}")]
    OutOfBounds {
        /// The text as written.
        text: String,
        /// Why.
        why: &'static str,
    },
    /// The amount is below zero.
    #[error("`{text}` is below zero")]
    Negative {
        /// The text as written.
        text: String,
    },
}

fn no_number(text: &str) -> String {
    if text.is_empty() {
        "a number is missing".to_owned()
    } else {
        format!("`{text}` does not begin with a number")
    }
}

fn no_unit(unit: &str) -> String {
    match unit.chars().next().filter(|c| RANGE_SIGNS.contains(c)) {
        Some(sign) if goes_on_to_a_number(unit) => {
            format!("one amount is wanted here, and the `{sign}` makes it a range")
        }
        Some(sign) => format!("a second number is missing behind the `{sign}`"),
        None => format!("`{unit}` is not a unit known here"),
    }
}

/// Whether what stands in the place of a unit is the sign of a range and its other end: `-60 mg/L`.
#[must_use]
pub fn goes_on_to_a_number(unit: &str) -> bool {
    let end = unit.strip_prefix(RANGE_SIGNS);
    end.is_some_and(|end| end.trim_start().starts_with(|c: char| c.is_ascii_digit()))
}

/// Signs between the ends of a range.
const RANGE_SIGNS: [char; 3] = ['-', '–', '…'];

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", show::plain(self.value), self.unit.symbol())
    }
}

impl Quantity {
    /// Reads one amount: `"12.5 mg/L"`, `"3 °dH"`, `"70 mg/L as CaCO3"`.
    ///
    /// # Errors
    /// Says which part of the text was not understood. A number without a unit is an error.
    ///
    /// ```
    /// use waterflight::quantities::{Quantity, Unit};
    /// let hardness = Quantity::parse("4 °dH").unwrap();
    /// assert_eq!(hardness.unit, Unit::GermanDegree);
    /// // 10 mg/L of CaO are 0.3566 meq/L
    /// assert!((hardness.to_base() - 1.4266).abs() < 1e-4);
    /// assert!(Quantity::parse("4").is_err());
    /// ```
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        let trimmed = text.trim();
        let (value, rest) = match leading_fraction(trimmed) {
            Some(found) => found,
            None => leading_number(trimmed)?,
        };
        if rest.is_empty() {
            return Err(QuantityError::NoUnit { text: trimmed.to_owned() });
        }
        Ok(Self { value, unit: Unit::parse(rest)? })
    }

    /// Reads one amount that a bench can mean ([`Dimension::bounds`]).
    ///
    /// # Errors
    /// As [`Quantity::parse`], and when it is out of bounds.
    pub fn parse_within_bounds(text: &str) -> Result<Self, QuantityError> {
        let quantity = Self::parse(text)?;
        match quantity.unit.dimension().out_of_bounds(quantity.to_base()) {
            Some(why) => Err(QuantityError::OutOfBounds { text: text.trim().to_owned(), why }),
            None => Ok(quantity),
        }
    }

    /// The number in the base unit of its dimension (mg/L, mmol/L, meq/L, fraction, g, mL, °C).
    #[must_use]
    pub fn to_base(self) -> f64 {
        self.value * self.unit.factor()
    }

    /// Reads an amount of one of the given dimensions, within their bounds and not below zero, in its
    /// base unit.
    ///
    /// # Errors
    /// As [`Quantity::parse_within_bounds`], and when the dimension does not fit or the amount is negative.
    pub fn parse_as(text: &str, dimensions: &[Dimension]) -> Result<f64, QuantityError> {
        let quantity = Self::parse_within_bounds(text)?;
        if !dimensions.contains(&quantity.unit.dimension()) {
            return Err(QuantityError::WrongDimension {
                text: text.trim().to_owned(),
                unit: quantity.unit,
            });
        }
        if quantity.value < 0.0 && quantity.unit.dimension() != Dimension::Temperature {
            return Err(QuantityError::Negative { text: text.trim().to_owned() });
        }
        Ok(quantity.to_base())
    }
}

impl Unit {
    /// Whether messages name it: units of the laboratory and the clinic are read, and no amount of a bench
    /// is usual in them.
    #[must_use]
    pub fn is_proposed(self) -> bool {
        !matches!(self, Unit::MicrogramsPerL | Unit::Ppb | Unit::MgPerDl)
    }

    /// Reads a unit in any of its tolerated spellings.
    ///
    /// # Errors
    /// [`QuantityError::UnknownUnit`], with the nearest spelling if there is one.
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        let folded = fold(text);
        Unit::ALL
            .iter()
            .copied()
            .find(|unit| unit.spellings().contains(&folded.as_str()))
            .ok_or_else(|| QuantityError::UnknownUnit {
                unit: text.trim().to_owned(),
                near: if text.trim().starts_with(RANGE_SIGNS) { None } else { nearest(&folded) },
            })
    }
}

/// Our choice: the largest and smallest number that is read, whatever its unit. Every unit has narrower
/// bounds ([`Dimension::bounds`]).
const MOST: f64 = 1e12;
const LEAST: f64 = 1e-12;

/// A number whose decimals stand behind a comma, with a point; nothing where the comma may as well set
/// off thousands: before three digits, or beside another comma or a point. Where nothing but zeros
/// stands before it, no thousands can be meant.
fn decimal_point(number: &str) -> Option<String> {
    let Some((whole, decimals)) = number.split_once(',') else { return Some(number.to_owned()) };
    let digits = decimals.split(['e', 'E']).next().unwrap_or_default();
    let may_be_thousands =
        digits.len() == 3 && !whole.trim_start_matches(['-', '+', '−', '0']).is_empty();
    let again = decimals.contains(',') || whole.contains('.') || decimals.contains('.');
    (!may_be_thousands && !again).then(|| number.replacen(',', ".", 1))
}

/// What is open about a number with a comma, and the ways to write it.
fn comma(text: &str) -> String {
    let number: String =
        text.trim().chars().take_while(|c| c.is_ascii_digit() || matches!(c, ',' | '.')).collect();
    let commas = number.matches(',').count();
    match (commas, number.contains('.')) {
        (1, false) => format!(
            "`{text}` can be read in two ways: {} or {}",
            number.replace(',', ""),
            number.replacen(',', ".", 1)
        ),
        (1, true) if number.rfind(',') > number.rfind('.') => {
            let plain = number.replace('.', "").replace(',', ".");
            format!("`{text}` has a point and a comma: without the mark of thousands it is {plain}")
        }
        _ => {
            let plain = number.replace(',', "");
            format!("`{text}` has commas between its thousands: without them it is {plain}")
        }
    }
}

/// The commas of numbers inside a longer text turned into points: `hardness max 3,5 °dH`. A comma that
/// separates has a blank or a word behind it.
///
/// # Errors
/// [`QuantityError::Comma`], for a number that can be read in two ways.
pub fn with_decimal_points(text: &str) -> Result<String, QuantityError> {
    let mut out = String::with_capacity(text.len());
    let mut number = String::new();
    let mut characters = text.chars().peekable();
    let put = |number: &mut String, out: &mut String| -> Result<(), QuantityError> {
        let point = decimal_point(number)
            .ok_or_else(|| QuantityError::Comma { text: std::mem::take(number) })?;
        out.push_str(&point);
        number.clear();
        Ok(())
    };
    while let Some(c) = characters.next() {
        let digit_next = matches!(characters.peek(), Some('0'..='9'));
        let in_number = c.is_ascii_digit()
            || (matches!(c, ',' | '.')
                && digit_next
                && number.ends_with(|d: char| d.is_ascii_digit()));
        if in_number {
            number.push(c);
        } else {
            put(&mut number, &mut out)?;
            out.push(c);
        }
    }
    put(&mut number, &mut out)?;
    Ok(out)
}

/// A bare number, with its decimals behind a point or a comma.
///
/// # Errors
/// As [`leading_number`], and when something stands behind it.
pub fn bare_number(text: &str) -> Result<f64, QuantityError> {
    match leading_number(text.trim())? {
        (value, "") => Ok(value),
        _ => Err(QuantityError::NoNumber { text: text.trim().to_owned() }),
    }
}

/// Splits the number off the front of a text; the rest comes back trimmed. Decimals may stand behind a
/// comma.
///
/// # Errors
/// When there is no number, it is not finite or of no ordinary size, or its comma may set off
/// thousands.
pub fn leading_number(text: &str) -> Result<(f64, &str), QuantityError> {
    let owned = || text.to_owned();
    let mut end = 0;
    let mut exponent = false;
    let mut characters = text.char_indices().peekable();
    while let Some((at, c)) = characters.next() {
        let takes = match c {
            '0'..='9' | '.' => true,
            '+' | '-' | '−' => at == 0,
            ',' if matches!(characters.peek(), Some((_, '0'..='9'))) && at > 0 => true,
            'e' | 'E' if !exponent && end > 0 => {
                // Only an exponent when digits follow; otherwise it is the unit °e.
                exponent = matches!(characters.peek(), Some((_, '0'..='9' | '-' | '+')));
                if exponent {
                    characters.next();
                }
                exponent
            }
            _ => false,
        };
        if !takes {
            break;
        }
        end = characters.peek().map_or(text.len(), |(next, _)| *next);
    }
    let (number, rest) = text.split_at_checked(end).unwrap_or((text, ""));
    let point = decimal_point(number).ok_or_else(|| QuantityError::Comma { text: owned() })?;
    let value: f64 =
        point.replace('−', "-").parse().map_err(|_| QuantityError::NoNumber { text: owned() })?;
    if !value.is_finite() {
        return Err(QuantityError::NotFinite { text: owned() });
    }
    let why = if value.abs() > MOST {
        Some("the number is too large for anything on a bench")
    } else if value != 0.0 && value.abs() < LEAST {
        Some("the number is too small for anything on a bench")
    } else {
        None
    };
    if let Some(why) = why {
        return Err(QuantityError::OutOfBounds { text: owned(), why });
    }
    Ok((value, rest.trim()))
}

/// Case, spaces, dots, degree signs and look-alike characters carry no meaning in a unit.
fn fold(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '.' | '·' | '°' | 'º' | '_'))
        .flat_map(char::to_lowercase)
        .map(|c| match c {
            '₃' | '³' => '3',
            '⁻' | '−' => '-',
            '¹' => '1',
            'μ' => 'µ',
            other => other,
        })
        .collect()
}

#[cfg(test)]
#[path = "spelling_tests.rs"]
mod tests;
