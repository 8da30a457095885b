//! The unit that a misspelt or doubtful one may stand for.

use crate::quantities::Unit;

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
