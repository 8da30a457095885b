//! The measure that a word means: its key, or what the labels of waters call the ions.

use crate::water::Measure;

impl Measure {
    /// The measure of a key; ion symbols (`Ca`, `SO4`, …) and the British spelling of sulfate
    /// are understood as well.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        let folded = key.trim().to_lowercase().replace([' ', '-'], "_");
        let known = Measure::ALL.into_iter().find(|m| m.key() == folded);
        known.or_else(|| from_label(&folded))
    }
}

/// The measure that a label means: by the symbol of its ion, with or without the charge, or by its name in
/// the languages of labels (common practice).
fn from_label(folded: &str) -> Option<Measure> {
    let symbol: String = folded
        .trim_end_matches('_')
        .chars()
        .filter(|c| !matches!(c, '+' | '²' | '⁺' | '⁻'))
        .map(|c| match c {
            '₂' => '2',
            '₃' => '3',
            '₄' => '4',
            other => other,
        })
        .collect();
    Some(match symbol.as_str() {
        "ca" | "ca2" | "kalzium" | "calcio" => Measure::Calcium,
        "mg" | "mg2" | "magnésium" | "magnesio" => Measure::Magnesium,
        "na" | "natrium" | "sodio" => Measure::Sodium,
        "k" | "kalium" | "potasio" | "potassio" => Measure::Potassium,
        "cl" | "chlorid" | "chlorides" | "chlorure" | "chlorures" | "cloruro" => Measure::Chloride,
        "so4" | "so42" | "so4_2" | "sulphate" | "sulfat" | "sulfates" | "sulfato" | "solfato" => {
            Measure::Sulfate
        }
        "no3" | "nitrat" | "nitrates" => Measure::Nitrate,
        "sio2" => Measure::Silica,
        "hco3" | "hydrogencarbonate" | "hydrogen_carbonate" | "hydrogencarbonat" | "bicarb"
        | "bicarbonates" | "bicarbonato" => Measure::Bicarbonate,
        "total_hardness" => Measure::Hardness,
        "total_alkalinity" => Measure::Alkalinity,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_name_their_measures() {
        for (measure, key) in Measure::ALL.into_iter().zip(Measure::KEYS) {
            assert_eq!(Measure::from_key(key), Some(measure));
        }
        assert_eq!(Measure::from_key("SO4"), Some(Measure::Sulfate));
        for (label, measure) in [
            ("Ca2+", Measure::Calcium),
            ("Mg²⁺", Measure::Magnesium),
            ("SO₄", Measure::Sulfate),
            ("HCO₃⁻", Measure::Bicarbonate),
            ("Cl-", Measure::Chloride),
            ("Hydrogen carbonate", Measure::Bicarbonate),
            ("Natrium", Measure::Sodium),
        ] {
            assert_eq!(Measure::from_key(label), Some(measure), "{label}");
        }
        assert_eq!(Measure::from_key("iron"), None);
    }
}
