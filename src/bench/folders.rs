//! The folders of a bench read file by file: one that cannot be read stops nothing that does not name it.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use serde::de::DeserializeOwned;

use crate::bench::layout::is_meant_for;
use crate::bench::parse::parse;
use crate::bench::salt_entry::SaltEntry;
use crate::bench::stock_entry::StockEntry;
use crate::bench::water_entry::WaterEntry;
use crate::bench::{built_in_salts, place};
use crate::files::{Diagnostic, Mistakes, SourceText, Written, read};
use crate::stock::catalogue::without_the_word_anhydrous;
use crate::stock::{Bottle, Catalogue, Price, Salt};
use crate::text::names;
use crate::water::BaseWater;
use crate::water::base_water::DISTILLED;

/// A value with the file it came from.
#[derive(Debug, Clone)]
pub struct FromFile<T> {
    /// What the file describes.
    pub value: T,
    /// Its file.
    pub path: PathBuf,
}

/// A flight file that has not been read yet.
#[derive(Debug, Clone)]
pub struct FlightFile {
    /// File name without its ending.
    pub stem: String,
    /// The file.
    pub path: PathBuf,
}

/// One thing that is wrong with a file, or a folder, that cannot be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Unread {
    /// The name that the file gives to what it describes, as far as that can be read.
    pub name: Option<String>,
    /// Whether nothing of the bench is missing for it: it is a copy, word for word, of a file that is
    /// read, or describes nothing of this folder's kind.
    pub is_stray: bool,
    /// What is wrong.
    pub wrong: Diagnostic,
}

impl Unread {
    fn is_in(&self, folder: &str) -> bool {
        let Some(path) = self.wrong.details().path.as_deref() else { return false };
        let parent = path.parent().and_then(Path::file_name);
        parent.is_some_and(|name| name == folder) || self.is_folder(folder)
    }

    fn is_folder(&self, folder: &str) -> bool {
        let path = self.wrong.details().path.as_deref();
        path.and_then(Path::file_name).is_some_and(|name| name == folder)
    }

    fn is_called(&self, name: &str) -> bool {
        let path = self.wrong.details().path.as_deref();
        path.is_some_and(|path| names::alike(name, &stem(path)))
            || self.name.as_ref().is_some_and(|own| names::alike(name, own))
    }
}

/// What is missing of one folder of a bench, since its files cannot be read.
pub(super) fn of_folder<'a>(
    unread: &'a [Unread],
    folder: &str,
) -> impl Iterator<Item = &'a Diagnostic> {
    unread.iter().filter(move |one| one.is_in(folder) && !one.is_stray).map(|one| &one.wrong)
}

/// That every file of a stock can be read.
///
/// # Errors
/// What is wrong with those that cannot; and with salts, which a stock may lack for that.
pub(super) fn stocks_known(unread: &[Unread]) -> Result<(), Mistakes> {
    let mut wrong = of_folder(unread, "stocks").peekable();
    if wrong.peek().is_none() {
        return Ok(());
    }
    Err(wrong.chain(of_folder(unread, "salts")).cloned().collect())
}

/// What was read of a folder, and what cannot be.
type Found<T> = (Vec<FromFile<T>>, Vec<Unread>);

/// The base waters with their prices.
pub(super) fn open_waters(root: &Path) -> Found<(BaseWater, Option<Price>)> {
    open_each(
        &root.join("waters"),
        "base water",
        |entry: &WaterEntry| &entry.name,
        |entry, source| {
            let leaf = &entry.name;
            if leaf.text().eq_ignore_ascii_case(DISTILLED) {
                return Err(place::duplicate(source, leaf, "base water", "always there").into());
            }
            entry.into_water(source)
        },
    )
}

/// The stocks in their bottles, as their files mean them.
pub(super) fn open_stocks(root: &Path, salts: &Catalogue) -> Found<Bottle> {
    open_each(
        &root.join("stocks"),
        "stock",
        |entry: &StockEntry| &entry.name,
        |entry, source| entry.into_bottle(source, salts),
    )
}

/// The salts of a bench, its own beside the built-in ones, and what is wrong with the files that cannot be
/// read; nothing else of the bench is needed for it.
///
/// # Errors
/// When the folder cannot be listed.
pub fn salts_of(root: &Path) -> Result<(Catalogue, Vec<Unread>), Mistakes> {
    let mut unread = Vec::new();
    open_salts(root, &mut unread).map(|salts| (salts, unread))
}

/// What is wrong with the file of a folder that may be meant, by the name of the file or of what it
/// describes.
#[must_use]
pub fn unread_in<'a>(unread: &'a [Unread], folder: &str, name: &str) -> Option<&'a Diagnostic> {
    // A copy has the name of what it is a copy of, which is there.
    let is_meant =
        |one: &&Unread| one.is_in(folder) && (one.is_folder(folder) || one.is_called(name));
    let meant = unread.iter().find(is_meant);
    meant.map(|one| &one.wrong)
}

/// Files of stocks, base waters and salts that cannot be read, for whoever does not need them.
#[must_use]
pub fn unread_files(root: &Path) -> Vec<Diagnostic> {
    let mut unread = Vec::new();
    // What else is wrong stops the command and is said there.
    if let Ok(salts) = open_salts(root, &mut unread) {
        unread.extend(open_stocks(root, &salts).1);
    }
    unread.extend(open_waters(root).1);
    unread.into_iter().map(|one| one.wrong).collect()
}

pub(super) fn open_salts(root: &Path, unread: &mut Vec<Unread>) -> Result<Catalogue, Mistakes> {
    let mut salts: Vec<Salt> = built_in_salts()?;
    let (own, wrong) = open_each(
        &root.join("salts"),
        "salt",
        |entry: &SaltEntry| &entry.name,
        |entry, source| {
            let (name, formula) = (entry.name.clone(), entry.formula.clone());
            let trade_names = entry.also.clone();
            let salt = entry.into_salt(source)?;
            let is_taken = |leaf: &&Written| salts.iter().any(|s| s.is_called(leaf.text()));
            if let Some(leaf) = std::iter::once(&name).chain(&trade_names).find(is_taken) {
                return Err(place::duplicate(source, leaf, "salt", "built in").into());
            }
            // A second description of a compound would make it a matter of luck which is used.
            if let Some(twin) = salts.iter().find(|s| s.formula.same_compound(&salt.formula)) {
                return Err(described_already(source, &formula, twin).into());
            }
            // Labels leave hydrate water out of formulae; that none is there has to be said.
            let kin = salts
                .iter()
                .find(|s| s.formula.same_but_for_water(&salt.formula) && s.formula.waters() > 0.0);
            let said = |leaf: &Written| without_the_word_anhydrous(leaf.text()).is_some();
            match kin {
                Some(kin) if salt.formula.waters() <= 0.0 && !said(&name) && !said(&formula) => {
                    Err(hydrate_left_open(source, &formula, kin).into())
                }
                _ => Ok(salt),
            }
        },
    );
    unread.extend(wrong);
    salts.extend(own.into_iter().map(|s| s.value));
    Ok(Catalogue::new(salts))
}

fn described_already(source: &SourceText, formula: &Written, twin: &Salt) -> Diagnostic {
    let title = format!("{} is built in already, as `{}`", twin.formula, twin.name);
    place::at(source, formula, title)
        .remedy("use it by that name; purity and moisture belong to the `lot` of a stock")
}

fn hydrate_left_open(source: &SourceText, formula: &Written, kin: &Salt) -> Diagnostic {
    place::at(source, formula, format!("`{}` does not say which hydrate", formula.text()))
        .expected(format!("`{}, anhydrous`, or a formula with its water", formula.text()))
        .remedy(format!(
            "look at the label of the bag; {} is built in, as `{}`",
            kin.formula, kin.name
        ))
}

/// The flight files of a bench, none of those whose names differ only in their endings; and what is
/// wrong with the folder.
pub(super) fn flight_files(root: &Path) -> (Vec<FlightFile>, Vec<Unread>) {
    let mut unread = Vec::new();
    let mut flights: Vec<FlightFile> = Vec::new();
    let mut twice = Vec::new();
    let files = read::ron_files(&root.join("flights"))
        .map_err(|wrong| unread.push(Unread { name: None, is_stray: false, wrong }))
        .unwrap_or_default();
    for path in files {
        let stem = stem(&path);
        if let Some(first) = flights.iter().find(|f| f.stem == stem) {
            let what = format!("two flights are called `{stem}`");
            let wrong = Diagnostic::content(what)
                .about(path)
                .expected(format!("names that differ; the first one is {}", first.path.display()))
                .remedy("rename one of the two");
            unread.push(Unread { name: None, is_stray: false, wrong });
            twice.push(stem);
        } else {
            flights.push(FlightFile { stem, path });
        }
    }
    flights.retain(|flight| !twice.contains(&flight.stem));
    (flights, unread)
}

/// A file that was read, with its text and the name that it gives.
struct Read<T> {
    name: String,
    text: SourceText,
    file: FromFile<T>,
}

/// Reads every file of a folder. Where two have one name neither is read, since nobody can tell which is
/// meant; but of copies, word for word, the one of the shortest name counts.
fn open_each<Entry: DeserializeOwned, T>(
    folder: &Path,
    what: &str,
    name: impl Fn(&Entry) -> &Written,
    meant: impl Fn(Entry, &SourceText) -> Result<T, Mistakes>,
) -> Found<T> {
    let mut found: Vec<Read<T>> = Vec::new();
    let (mut twice, mut unread) = (Vec::new(), Vec::new());
    // Which file of several copies counts is only known behind the last of them.
    let mut copies: Vec<(String, PathBuf)> = Vec::new();
    let files = read::ron_files(folder)
        .map_err(|wrong| unread.push(Unread { name: None, is_stray: false, wrong }))
        .unwrap_or_default();
    for path in files {
        // A link to nothing was meant as anything; what is there and cannot be opened may be a stock.
        let (mut called, mut is_stray) = (None, !path.exists());
        let mut one = || -> Result<Option<Read<T>>, Mistakes> {
            let text = read::text(&path)?;
            is_stray = !is_meant_for(folder.file_name().and_then(OsStr::to_str), text.text());
            let entry: Entry = parse(&text)?;
            let leaf = name(&entry).clone();
            called = Some(leaf.text().to_owned());
            let first = found.iter_mut().find(|read| names::alike(&read.name, leaf.text()));
            if let Some(first) = first {
                if text.text() == first.text.text() {
                    copies.push((first.name.clone(), longer_of(first, &path)));
                    return Ok(None);
                }
                twice.push(first.name.clone());
                let first = format!("in {}", first.file.path.display());
                return Err(place::duplicate(&text, &leaf, what, &first).into());
            }
            let value = meant(entry, &text)?;
            let file = FromFile { value, path: path.clone() };
            Ok(Some(Read { name: leaf.text().to_owned(), text, file }))
        };
        match one() {
            Ok(read) => found.extend(read),
            Err(wrong) => unread.extend(wrong.iter().map(|wrong| {
                let (name, wrong) = (called.clone(), wrong.clone());
                Unread { name, is_stray, wrong }
            })),
        }
    }
    for (name, copy) in copies {
        let counts = found.iter().find(|read| read.name == name).map(|read| &read.file.path);
        let wrong = copy_of(counts.unwrap_or(&copy), &copy);
        unread.push(Unread { name: Some(name), is_stray: true, wrong });
    }
    unread.sort_by(|a, b| a.wrong.details().path.cmp(&b.wrong.details().path));
    found.retain(|read| !twice.contains(&read.name));
    (found.into_iter().map(|read| read.file).collect(), unread)
}

/// Of two copies the one that does not count: what systems put into the names of copies makes them longer.
fn longer_of<T>(first: &mut Read<T>, path: &Path) -> PathBuf {
    let length = |path: &Path| path.file_name().map(OsStr::len);
    let mut copy = path.to_owned();
    if length(path) < length(&first.file.path) {
        std::mem::swap(&mut copy, &mut first.file.path);
    }
    copy
}

fn copy_of(original: &Path, copy: &Path) -> Diagnostic {
    let original = original.file_name().unwrap_or_default().to_string_lossy();
    Diagnostic::content(format!("this is a copy of `{original}`, word for word"))
        .about(copy)
        .remedy(format!(
            "remove it, or give what it describes a name of its own; `{original}` counts"
        ))
}

/// The name of a file without its ending.
pub(super) fn stem(path: &Path) -> String {
    path.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}
