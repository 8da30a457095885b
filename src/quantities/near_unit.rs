//! The unit that a misspelt or doubtful one may stand for.

use crate::quantities::Unit;

/// The printed form of the one unit that is spelled the same but for marks, accents, a letter too many or the
/// formula of calcium carbonate. Units that merely look alike (`µg/L` and `mg/L`) are other amounts, and none
/// is proposed for the other.
pub(super) fn nearest(folded: &str) -> Option<&'static str> {
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
    let bare = skeleton(folded);
    let is_meant = |spelling: &str| {
        (!bare.is_empty() && skeleton(spelling) == bare)
            || with_one_less(folded).any(|less| less == spelling)
            || is_calcium_carbonate(spelling, folded)
    };
    let mut meant = Unit::ALL.iter().filter(|unit| unit.spellings().iter().any(|s| is_meant(s)));
    match (meant.next(), meant.next()) {
        (Some(only), None) => Some(only.symbol()),
        _ => None,
    }
}

/// The letters and digits alone, without accents: two spellings that differ in marks are of one unit.
fn skeleton(spelling: &str) -> String {
    let plain = |c: char| match c {
        'é' | 'è' | 'ê' => 'e',
        'ü' => 'u',
        'ö' => 'o',
        'ä' | 'á' | 'à' => 'a',
        other => other,
    };
    spelling.chars().map(plain).filter(|c| c.is_alphanumeric() || *c == '%').collect()
}

/// The spelling with one of two like letters in a row left out, for each such pair: `mgg/l`.
fn with_one_less(folded: &str) -> impl Iterator<Item = String> {
    let letters: Vec<char> = folded.chars().collect();
    let pairs = letters.iter().zip(letters.iter().skip(1)).enumerate();
    let doubled: Vec<usize> = pairs.filter(|(_, (a, b))| a == b).map(|(at, _)| at).collect();
    doubled.into_iter().map(move |at| {
        let kept = letters.iter().enumerate().filter(|(place, _)| *place != at);
        kept.map(|(_, c)| *c).collect()
    })
}

/// Whether only the formula of calcium carbonate is misspelt: `mg/lascaco4`.
fn is_calcium_carbonate(spelling: &str, folded: &str) -> bool {
    const BEGINS: &str = "caco";
    let (Some((unit, formula)), Some((known, right))) =
        (folded.split_once(BEGINS), spelling.split_once(BEGINS))
    else {
        return false;
    };
    unit == known && strsim::levenshtein(formula, right) <= 1
}

#[cfg(test)]
mod tests {
    use crate::quantities::{Quantity, QuantityError, Unit};

    fn base(text: &str) -> f64 {
        Quantity::parse(text).map_or(f64::NAN, Quantity::to_base)
    }

    /// Laboratory reports: nitrate as nitrogen (14.007 of 62.004), alkalinity as bicarbonate (61.016), and
    /// metals in µg/L.
    #[test]
    fn units_of_laboratory_reports_are_read() {
        assert!((base("1 mg/L as N") - 1.0 / 14.007).abs() < 1e-9);
        assert!((base("61.016 mg/L as HCO3") - 1.0).abs() < 1e-9);
        for (text, mg_per_l) in [("5000 µg/L", 5.0), ("6 ppb", 0.006), ("44 mg/dL", 440.0)] {
            assert!((base(text) - mg_per_l).abs() < 1e-12, "{text}");
        }
    }

    #[test]
    fn only_what_is_spelled_alike_is_proposed() {
        let near = |text: &str| match Unit::parse(text) {
            Err(QuantityError::UnknownUnit { near, .. }) => near,
            _ => Some("known"),
        };
        assert_eq!(near("mgg/L"), Some("mg/L"));
        // No unit is proposed under which the number would be another amount.
        for unlike in ["grad", "ng/L", "mg/hL", "kmol/L", "mmmol", "mg/L as S", "mg/L as SiO2", "m"]
        {
            assert_eq!(near(unlike), None, "{unlike}");
        }
    }
}
