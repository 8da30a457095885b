//! Words that people bring from other lists, with what they are called here.

/// What a word is called here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Meaning {
    /// The word as it is usually written.
    pub word: &'static str,
    /// What it means.
    pub means: &'static str,
    /// The line to write.
    pub write: &'static str,
}

/// The dissolved solids of a meter.
pub const METER_SOLIDS: Meaning = Meaning {
    word: "TDS as a meter shows it",
    means: "a conductivity times a factor of the meter",
    write: "conductivity: \"260 ppm factor 0.5\"",
};

/// Our choice of words; the meanings are common practice of water tests and their labels.
const WORDS: &[(&[&str], Meaning)] = &[
    (
        &["gh", "th", "dgh", "general hardness", "gesamthärte", "gesamthaerte"],
        Meaning {
            word: "GH (total hardness)",
            means: "calcium and magnesium together, `hardness` here",
            write: "hardness: \"4 °dH\"",
        },
    ),
    (
        &[
            "kh",
            "dkh",
            "carbonate hardness",
            "karbonathärte",
            "karbonathaerte",
            "alk",
            "temporary hardness",
            "ta",
        ],
        Meaning {
            word: "KH (carbonate hardness)",
            means: "the acid that the water can take up, `alkalinity` here",
            write: "alkalinity: \"3 °dH\"",
        },
    ),
    (&["tds", "total dissolved solids", "ppm", "ec"], METER_SOLIDS),
    (
        &["dry residue", "residue", "abdampfrückstand", "residuo fisso"],
        Meaning {
            word: "dry residue",
            means: "what is left when the water is boiled away, `residue_on_evaporation` here",
            write: "residue_on_evaporation: \"200 mg/L\"",
        },
    ),
    (
        &["cah", "ca hardness", "calcium as caco3"],
        Meaning {
            word: "calcium hardness",
            means: "the calcium part of the hardness",
            write: "calcium_hardness: \"70 mg/L as CaCO3\"",
        },
    ),
    (
        &["mgh", "mg hardness", "magnesium as caco3"],
        Meaning {
            word: "magnesium hardness",
            means: "the magnesium part of the hardness",
            write: "magnesium_hardness: \"30 mg/L as CaCO3\"",
        },
    ),
];

/// What a word from elsewhere is called here; nothing for words that are not known.
///
/// ```
/// let said = waterflight::water::trade_words::meaning("kh").unwrap();
/// assert!(said.write.starts_with("alkalinity"));
/// ```
#[must_use]
pub fn meaning(word: &str) -> Option<Meaning> {
    let folded = word.trim().to_lowercase().replace(['_', '-'], " ");
    let plain = word.trim().to_lowercase();
    let known =
        |words: &[&str]| words.contains(&folded.as_str()) || words.contains(&plain.as_str());
    WORDS.iter().find(|(words, _)| known(words)).map(|(_, meaning)| *meaning)
}

/// What a word from elsewhere is called here, in a sentence.
#[must_use]
pub fn in_a_sentence(word: &str) -> Option<String> {
    meaning(word).map(|Meaning { word, means, .. }| format!("{word} is {means}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::water::Measure;

    #[test]
    fn no_word_is_a_measure_already_and_every_line_is_one() {
        for (words, meaning) in WORDS {
            assert!(words.iter().all(|w| Measure::from_key(w).is_none()), "{words:?}");
            let key = meaning.write.split(':').next().unwrap_or_default();
            assert!(Measure::from_key(key).is_some() || key == "conductivity", "{key}");
        }
    }
}
