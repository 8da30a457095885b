//! What the labels of waters call the ions.

use crate::water::Measure;

/// The measure that a label means: by the symbol of its ion, with or without the charge, or by its name in
/// the languages of labels (common practice).
pub(super) fn from_label(folded: &str) -> Option<Measure> {
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
