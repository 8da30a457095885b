//! The unit that a misspelt or doubtful one may stand for.

use crate::quantities::{QuantityError, Unit};

/// The printed form of the unit whose spelling is closest, if it is close at all.
pub(super) fn nearest(folded: &str) -> Option<&'static str> {
    /// Our choice: a spelling less alike than this is no help.
    const ALIKE: f64 = 0.6;
    // Two gallons go by one name, and two ounces: neither is guessed at.
    match folded {
        "gal" | "gallon" | "gallons" => return Some("US gal` or `imp gal"),
        "floz" | "fluidounce" | "fluidounces" => return Some("US fl oz` or `imp fl oz"),
        "cup" | "cups" | "pint" | "pints" | "quart" | "quarts" => {
            return Some("mL` or, where it is clear which is meant, `US fl oz");
        }
        "oz" | "ounce" | "ounces" => return Some("g` for a mass, `US fl oz` or `imp fl oz"),
        _ => {}
    }
    Unit::ALL
        .iter()
        .flat_map(|unit| {
            unit.spellings().iter().map(move |s| (unit, strsim::jaro_winkler(s, folded)))
        })
        .filter(|(_, likeness)| *likeness > ALIKE)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(unit, _)| unit.symbol())
}

impl QuantityError {
    /// The unit that may be meant by one that is not known, of those that fit where it stands; of any
    /// where none are given.
    ///
    /// ```
    /// use waterflight::quantities::Quantity;
    /// let unknown = Quantity::parse("70 mgL").unwrap_err();
    /// assert_eq!(unknown.unit_meant(&["mg/L as CaCO3", "°dH"]), Some("mg/L as CaCO3"));
    /// assert_eq!(unknown.unit_meant(&["mL", "L"]), None);
    /// ```
    #[must_use]
    pub fn unit_meant<'a>(&self, units: &[&'a str]) -> Option<&'a str> {
        let Self::UnknownUnit { near: Some(near), .. } = *self else { return None };
        let same = units.iter().find(|unit| **unit == near);
        // What is spelled alike may not fit: `mgL` for a hardness is no `mg/L`.
        let fitting = same.or_else(|| units.iter().find(|unit| unit.starts_with(near)));
        // Of several that go by one name each is named, in quotes of its own.
        let is_open = units.is_empty() || near.contains('`');
        fitting.copied().or(is_open.then_some(near))
    }
}
