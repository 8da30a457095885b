//! The units that a measure is read and given in.

use crate::quantities::Unit;
use crate::reference::water_hardness::CACO3_MG_PER_MEQ;
use crate::water::Measure;

impl Measure {
    /// The units that can express this measure, as printed, the usual one first.
    #[must_use]
    pub fn choices(self) -> Vec<&'static str> {
        let usual = self.usual_unit();
        let others = Unit::ALL
            .iter()
            .copied()
            .filter(|unit| *unit != usual && self.native_per(*unit).is_ok())
            .filter(|unit| !matches!(unit, Unit::GPerMl | Unit::EqPerL | Unit::MolPerL))
            .filter(|unit| unit.is_proposed());
        std::iter::once(usual).chain(others).map(Unit::symbol).collect()
    }

    /// The unit in which reports give this measure when nobody has chosen one.
    #[must_use]
    pub fn usual_unit(self) -> Unit {
        match self {
            Measure::Hardness
            | Measure::CalciumHardness
            | Measure::MagnesiumHardness
            | Measure::Alkalinity => Unit::MgPerLAsCaCo3,
            _ => Unit::MgPerL,
        }
    }

    /// What one mg/L (as CaCO3 where that is usual) is in the native unit.
    #[must_use]
    pub fn native_per_usual_unit(self) -> f64 {
        self.native_per(self.usual_unit()).unwrap_or(1.0 / CACO3_MG_PER_MEQ)
    }
}
