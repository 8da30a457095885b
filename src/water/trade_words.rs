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

/// Dissolved solids: of a meter or of a laboratory, which the word leaves open.
pub const SOLIDS: Meaning = Meaning {
    word: "TDS",
    means: "a conductivity times a factor where a meter shows it, and `dissolved_solids` here where a \
            laboratory found it",
    write: "conductivity: \"260 ppm factor 0.5\"",
};

/// What a meter measures, as its display calls it.
pub const CONDUCTIVITY: Meaning = Meaning {
    word: "EC",
    means: "what a meter measures, `conductivity` here",
    write: "conductivity: \"520 µS/cm\"",
};

/// Substances whose names are like that of a measure, with the measure that they are not.
const OTHER_SUBSTANCES: &[(&str, &str)] = &[
    ("chlorine", "chloride"),
    ("chlor", "chloride"),
    ("chlorite", "chloride"),
    ("chlorate", "chloride"),
    ("nitrite", "nitrate"),
    ("nitrit", "nitrate"),
    ("sulfite", "sulfate"),
    ("sulphite", "sulfate"),
    ("sulfit", "sulfate"),
    ("sulfide", "sulfate"),
    ("sulphide", "sulfate"),
    ("sulfid", "sulfate"),
];

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
    (&["tds", "total dissolved solids", "ppm"], SOLIDS),
    (
        &[
            "ec",
            "electrical conductivity",
            "electric conductivity",
            "specific conductance",
            "conductance",
            "leitfähigkeit",
            "leitfaehigkeit",
        ],
        CONDUCTIVITY,
    ),
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

/// The measure whose name a substance is like and which it is not.
///
/// ```
/// assert_eq!(waterflight::water::trade_words::unlike("Chlorine"), Some("chloride"));
/// ```
#[must_use]
pub fn unlike(word: &str) -> Option<&'static str> {
    let word = word.trim().to_lowercase();
    OTHER_SUBSTANCES.iter().find(|(name, _)| *name == word).map(|(_, measure)| *measure)
}

/// What a word from elsewhere is called here, in a sentence.
#[must_use]
pub fn in_a_sentence(word: &str) -> Option<String> {
    let meant = meaning(word).map(|Meaning { word, means, .. }| format!("{word} is {means}"));
    let other = || unlike(word).map(|measure| another_substance(word, measure));
    meant.or_else(other)
}

/// That a substance is not the measure that its name is like.
#[must_use]
pub fn another_substance(word: &str, measure: &str) -> String {
    format!(
        "{} is another substance than {measure}, and nothing here is computed of it",
        word.trim()
    )
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
        for (word, measure) in OTHER_SUBSTANCES {
            assert!(Measure::from_key(word).is_none() && meaning(word).is_none(), "{word}");
            assert!(Measure::KEYS.contains(measure), "{measure}");
        }
    }
}
