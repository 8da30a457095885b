//! Salts as written: the built-in list and the files of the folder `salts`.

use serde::Deserialize;

use crate::bench::parse::parse;
use crate::bench::{explain, place};
use crate::chemistry::Formula;
use crate::files::{Diagnostic, Mistakes, SourceText, Written};
use crate::stock::catalogue::without_the_word_anhydrous;
use crate::stock::{Salt, SaltError, Solubility};

/// The built-in salts, in the user's own format.
const BUILT_IN: &str = include_str!("../../stocks/salts.ron");

/// A salt as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Salt", deny_unknown_fields)]
pub(super) struct SaltEntry {
    pub(super) name: Written,
    compound: Option<Written>,
    #[serde(default)]
    pub(super) also: Vec<Written>,
    pub(super) formula: Written,
    #[serde(default)]
    releases: Vec<(Written, u32)>,
    #[serde(default)]
    carbonation_mol_co2: u32,
    ins: Option<String>,
    #[serde(default)]
    solubility: Vec<(f64, f64)>,
    solubility_source: Option<String>,
    dissolving: Option<String>,
    #[serde(default)]
    cautions: Vec<String>,
    looks: Option<String>,
    source: Option<String>,
}

impl SaltEntry {
    /// The salt as meant.
    ///
    /// # Errors
    /// All that is wrong with it; what it releases only where its formula can be read.
    pub(super) fn into_salt(self, source: &SourceText) -> Result<Salt, Mistakes> {
        let mut wrong = Mistakes::default();
        let name = wrong.take(place::name(source, &self.name));
        let compound = match &self.compound {
            Some(leaf) => wrong.take(place::name(source, leaf)),
            None => name.clone(),
        };
        let also: Vec<String> =
            self.also.iter().filter_map(|leaf| wrong.take(place::name(source, leaf))).collect();
        // The word counts only where no water contradicts it.
        let bare = without_the_word_anhydrous(self.formula.text())
            .and_then(|text| Formula::parse(&text).ok())
            .filter(|formula| formula.waters() <= 0.0);
        let formula = bare
            .map_or_else(|| Formula::parse(self.formula.text()), Ok)
            .map_err(|e| place::mistake(source, &self.formula, &e, explain::formula(&e)));
        let formula = wrong.take(formula);
        let (Some(name), Some(compound), Some(formula)) = (name, compound, formula) else {
            return Err(wrong);
        };
        let stated: Vec<(String, u32)> =
            self.releases.iter().map(|(ion, n)| (ion.text().to_owned(), *n)).collect();
        let ions = Salt::ions_of(&formula, &stated).map_err(|e| {
            let unknown = self.releases.iter().map(|(leaf, _)| leaf).find(
                |leaf| matches!(&e, SaltError::UnknownIon { symbol } if symbol == leaf.text()),
            );
            place::mistake(source, unknown.unwrap_or(&self.formula), &e, explain::salt(&e))
        });
        let Some(ions) = wrong.take(ions).filter(|_| wrong.is_empty()) else {
            return Err(wrong);
        };
        Ok(Salt {
            name,
            compound,
            also,
            formula,
            ions,
            carbonation_mol_co2: f64::from(self.carbonation_mol_co2),
            ins: self.ins,
            solubility: Solubility::new(
                &self.solubility,
                self.solubility_source.unwrap_or_else(|| "stated by the user".to_owned()),
            ),
            dissolving: self.dissolving,
            cautions: self.cautions,
            looks: self.looks,
            source: self.source.unwrap_or_else(|| "stated by the user".to_owned()),
        })
    }
}

/// The salts that come with the program.
///
/// # Errors
/// None in a program that passes its tests: the list is read there.
pub fn built_in_salts() -> Result<Vec<Salt>, Diagnostic> {
    let source = SourceText::new("(built-in salts)", BUILT_IN);
    let entries: Vec<SaltEntry> = parse(&source)?;
    entries.into_iter().map(|e| e.into_salt(&source).map_err(Mistakes::into_first)).collect()
}
