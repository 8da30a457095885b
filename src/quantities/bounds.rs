//! How small and how large amounts are that a bench can mean. What lies outside is a slip of the hand,
//! and it is refused where it is read, so that no arithmetic behind has to fear it.

use crate::quantities::Dimension;

/// The amounts of a dimension that are taken, in its base unit; 0 is always among them where amounts
/// start from nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Nothing smaller but zero.
    pub least: f64,
    /// Nothing larger.
    pub most: f64,
    /// Why nothing smaller.
    pub why_least: &'static str,
    /// Why nothing larger.
    pub why_most: &'static str,
}

impl Dimension {
    /// What is taken for an amount of a bench. The limits are our choice, wide of everything that the
    /// trade does; the reason of each stands with it, and the facts in them are common practice.
    #[must_use]
    pub const fn bounds(self) -> Bounds {
        const UNSEEN: &str = "no laboratory sees so little";
        const TOO_STRONG: &str = "no solution of salts holds so much";
        let (least, most, why_least, why_most) = match self {
            // From a tenth of a microgram in a litre to solutions of twice the density of water.
            Dimension::MassPerVolume => (1e-4, 2e6, UNSEEN, TOO_STRONG),
            // Laboratory acids end at 18 mol/L.
            Dimension::AmountPerVolume | Dimension::AsNitrogen => (1e-6, 2e4, UNSEEN, TOO_STRONG),
            Dimension::EquivalentsPerVolume
            | Dimension::AsCalciumCarbonate
            | Dimension::AsBicarbonate => (1e-6, 4e4, UNSEEN, TOO_STRONG),
            Dimension::VolumePerVolume => (
                1e-6,
                1e4,
                "nothing measures out so little",
                "that is more than ten times the water",
            ),
            Dimension::MassFraction => (1e-9, 1.0, UNSEEN, "a part is never more than the whole"),
            Dimension::Percent => (
                1e-8,
                100.0,
                "nothing is known so exactly",
                "10,000 % is beyond any share or error",
            ),
            // Microbalances show a microgram.
            Dimension::Mass => {
                (1e-6, 1e7, "no balance shows so little", "that is more than ten tonnes")
            }
            // The smallest pipettes deliver a tenth of a microlitre.
            Dimension::Volume => {
                (1e-4, 1e7, "no pipette delivers so little", "that is more than ten cubic metres")
            }
            Dimension::Temperature => {
                (-100.0, 400.0, "no brine is liquid so cold", "no boiler holds liquid water so hot")
            }
            Dimension::Ratio => (
                1e-6,
                1e6,
                "nobody can tell it from none at all",
                "nobody can tell it from all of one",
            ),
        };
        Bounds { least, most, why_least, why_most }
    }

    /// Why an amount in the base unit is not taken; `None` for one that is. What is below zero is refused
    /// for its sign, elsewhere.
    #[must_use]
    pub fn out_of_bounds(self, base: f64) -> Option<&'static str> {
        let bounds = self.bounds();
        let size = if self == Dimension::Temperature { base } else { base.abs() };
        let is_none = base == 0.0;
        if size > bounds.most {
            Some(bounds.why_most)
        } else if size < bounds.least && !is_none {
            Some(bounds.why_least)
        } else {
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantities::{Quantity, QuantityError, Unit};

    /// Each dimension takes amounts up to its bounds and refuses, with the reason, what lies beyond.
    #[test]
    fn every_unit_ends_where_its_dimension_ends() {
        for unit in Unit::ALL {
            let Bounds { least, most, why_least, why_most } = unit.dimension().bounds();
            let read = |base: f64| {
                let text = format!("{:e} {}", base / unit.factor(), unit.symbol());
                Quantity::parse_within_bounds(&text)
            };
            let why = |read: Result<Quantity, QuantityError>| match read {
                Err(QuantityError::OutOfBounds { why, .. }) => why,
                _ => "",
            };
            let inside = |edge: f64, by: f64| read(edge + by * 1e-9 * edge.abs());
            assert!(inside(most, -1.0).is_ok() && inside(least, 1.0).is_ok(), "{unit:?}");
            assert_eq!(why(inside(most, 1e3)), why_most, "{unit:?}");
            assert_eq!(why(inside(least, -1e3)), why_least, "{unit:?}");
            assert!(read(0.0).is_ok(), "{unit:?}");
        }
    }
}
