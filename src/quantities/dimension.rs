//! The units that amounts are written in, by what they measure: the symbol, the factor and the spellings of
//! each.

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

impl Unit {
    /// Whether messages name it: units of the laboratory and the clinic are read, and no amount of a bench
    /// is usual in them.
    #[must_use]
    pub fn is_proposed(self) -> bool {
        !matches!(self, Unit::MicrogramsPerL | Unit::Ppb | Unit::MgPerDl)
    }
}
