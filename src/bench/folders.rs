//! The folders of a bench read file by file: of waters and salts one that cannot be read stops nothing
//! that does not name it.

use std::path::Path;

use crate::bench::open::{FromFile, stem};
use crate::bench::{built_in_salts, place, salt_entry, water_entry};
use crate::files::{Diagnostic, Fault, Mistakes, SourceText, Written, read};
use crate::stock::catalogue::without_the_word_anhydrous;
use crate::stock::{Catalogue, Price, Salt};
use crate::text::names;
use crate::water::BaseWater;
use crate::water::base_water::DISTILLED;

/// The base waters with their prices, and what is wrong with the files that cannot be read.
#[expect(clippy::type_complexity, reason = "a list and its mistakes")]
pub(super) fn open_waters(
    root: &Path,
) -> Result<(Vec<FromFile<(BaseWater, Option<Price>)>>, Vec<Diagnostic>), Diagnostic> {
    open_each(
        &root.join("waters"),
        "base water",
        water_entry::one,
        water_entry::WaterEntry::name_leaf,
        |entry, source| {
            if entry.name_leaf().text().eq_ignore_ascii_case(DISTILLED) {
                return Err(place::duplicate(
                    source,
                    entry.name_leaf(),
                    "base water",
                    "always there",
                ));
            }
            let price = entry.price(source)?;
            Ok((entry.into_water(source)?, price))
        },
    )
}

/// The salts of a bench, its own beside the built-in ones, and what is wrong with the files that cannot be
/// read; nothing else of the bench is needed for it.
///
/// # Errors
/// When the folder cannot be listed.
pub fn salts_of(root: &Path) -> Result<(Catalogue, Vec<Diagnostic>), Mistakes> {
    let mut unread = Vec::new();
    open_salts(root, &mut unread).map(|salts| (salts, unread))
}

/// What is wrong with the file of a folder that may be meant, by the name of the file.
#[must_use]
pub fn unread_in<'a>(unread: &'a [Diagnostic], folder: &str, name: &str) -> Option<&'a Diagnostic> {
    unread.iter().find(|wrong| {
        let path = wrong.details().path.as_deref();
        let is_in =
            |path: &&Path| path.parent().and_then(Path::file_name).is_some_and(|f| f == folder);
        path.filter(is_in).is_some_and(|path| names::alike(name, &stem(path)))
    })
}

/// Files of base waters and salts that cannot be read, for whoever does not name them.
#[must_use]
pub fn unread_files(root: &Path) -> Vec<Diagnostic> {
    let mut unread = Vec::new();
    // Without salts of its own a bench need not read the built-in ones for this.
    if read::ron_files(&root.join("salts")).is_ok_and(|files| !files.is_empty()) {
        // What else is wrong stops the command and is said there.
        let _ = open_salts(root, &mut unread);
    }
    unread.extend(open_waters(root).map(|(_, wrong)| wrong).unwrap_or_default());
    unread
}

pub(super) fn open_salts(root: &Path, unread: &mut Vec<Diagnostic>) -> Result<Catalogue, Mistakes> {
    let mut salts: Vec<Salt> = built_in_salts()?;
    let (own, wrong) = open_each(
        &root.join("salts"),
        "salt",
        salt_entry::one,
        salt_entry::SaltEntry::name_leaf,
        |entry, source| {
            let (name, formula) = (entry.name_leaf().clone(), entry.formula_leaf().clone());
            let trade_names = entry.also_leaves().to_vec();
            let salt = entry.into_salt(source)?;
            let is_taken = |leaf: &&Written| salts.iter().any(|s| s.is_called(leaf.text()));
            if let Some(leaf) = std::iter::once(&name).chain(&trade_names).find(is_taken) {
                return Err(place::duplicate(source, leaf, "salt", "built in"));
            }
            // A second description of a compound would make it a matter of luck which is used.
            if let Some(twin) = salts.iter().find(|s| s.formula.same_compound(&salt.formula)) {
                return Err(described_already(source, &formula, twin));
            }
            // Labels leave hydrate water out of formulae; that none is there has to be said.
            let kin = salts
                .iter()
                .find(|s| s.formula.same_but_for_water(&salt.formula) && s.formula.waters() > 0.0);
            let said = |leaf: &Written| without_the_word_anhydrous(leaf.text()).is_some();
            match kin {
                Some(kin) if salt.formula.waters() <= 0.0 && !said(&name) && !said(&formula) => {
                    Err(hydrate_left_open(source, &formula, kin))
                }
                _ => Ok(salt),
            }
        },
    )?;
    unread.extend(wrong);
    salts.extend(own.into_iter().map(|s| s.value));
    Ok(Catalogue::new(salts))
}

fn described_already(source: &SourceText, formula: &Written, twin: &Salt) -> Diagnostic {
    let title = format!("{} is built in already, as `{}`", twin.formula, twin.name);
    Diagnostic::new(Fault::Content, title)
        .at(source, source.span_of(formula))
        .remedy("use it by that name; purity and moisture belong to the `lot` of a stock")
}

fn hydrate_left_open(source: &SourceText, formula: &Written, kin: &Salt) -> Diagnostic {
    Diagnostic::new(Fault::Content, format!("`{}` does not say which hydrate", formula.text()))
        .at(source, source.span_of(formula))
        .expected(format!("`{}, anhydrous`, or a formula with its water", formula.text()))
        .remedy(format!(
            "look at the label of the bag; {} is built in, as `{}`",
            kin.formula, kin.name
        ))
}

/// Reads every file of a folder. Where two have one name neither is read: which is meant nobody can tell.
fn open_each<Entry, T>(
    folder: &Path,
    what: &str,
    parse: impl Fn(&SourceText) -> Result<Entry, Diagnostic>,
    name: impl Fn(&Entry) -> &Written,
    meant: impl Fn(Entry, &SourceText) -> Result<T, Diagnostic>,
) -> Result<(Vec<FromFile<T>>, Vec<Diagnostic>), Diagnostic> {
    let mut found: Vec<(String, FromFile<T>)> = Vec::new();
    let (mut twice, mut mistakes) = (Vec::new(), Vec::new());
    for path in read::ron_files(folder)? {
        let mut one = || -> Result<(String, T), Diagnostic> {
            let source = read::text(&path)?;
            let entry = parse(&source)?;
            let leaf = name(&entry).clone();
            if let Some((name, first)) = found.iter().find(|(n, _)| names::alike(n, leaf.text())) {
                twice.push(name.clone());
                let first = format!("in {}", first.path.display());
                return Err(place::duplicate(&source, &leaf, what, &first));
            }
            Ok((leaf.text().to_owned(), meant(entry, &source)?))
        };
        match one() {
            Ok((name, value)) => found.push((name, FromFile { value, path })),
            Err(mistake) => mistakes.push(mistake),
        }
    }
    found.retain(|(name, _)| !twice.contains(name));
    let found = found.into_iter().map(|(_, file)| file).collect();
    Ok((found, mistakes))
}

/// The same of a folder of which every file is needed.
pub(super) fn open_all<Entry, T>(
    folder: &Path,
    what: &str,
    parse: impl Fn(&SourceText) -> Result<Entry, Diagnostic>,
    name: impl Fn(&Entry) -> &Written,
    meant: impl Fn(Entry, &SourceText) -> Result<T, Diagnostic>,
) -> Result<Vec<FromFile<T>>, Mistakes> {
    let (found, mistakes) = open_each(folder, what, parse, name, meant)?;
    if mistakes.is_empty() { Ok(found) } else { Err(mistakes.into()) }
}
