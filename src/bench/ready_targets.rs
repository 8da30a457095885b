//! Targets that are ready to be put into a flight: those published by an organisation, which come
//! with the program, and the user's own in the folder `targets`.

use std::path::Path;

use serde::Deserialize;

use crate::bench::parse::parse;
use crate::bench::place;
use crate::bench::target_entry::{RatioEntry, goals_of};
use crate::files::{Diagnostic, Fields, Mistakes, SourceText, Written, read};
use crate::flight::Target;
use crate::flight::ladder::{WrittenTarget, rewritten};
use crate::text::names;

/// The published ones, in the user's own format.
const PUBLISHED: &str = include_str!("../../stocks/targets.ron");

/// The folder of the user's own.
pub const FOLDER: &str = "targets";

/// A target as written on its own.
#[derive(Debug, Deserialize)]
#[serde(rename = "Target", deny_unknown_fields)]
struct ReadyEntry {
    name: Written,
    #[serde(default)]
    goals: Fields,
    #[serde(default)]
    ratios: Vec<RatioEntry>,
    source: Option<String>,
}

/// A target that is ready.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadyTarget {
    /// Its goals.
    pub written: WrittenTarget,
    /// Who published it; nothing for the user's own that do not say.
    pub source: Option<String>,
}

impl ReadyTarget {
    /// Its name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.written.target.name
    }

    /// Its goals in one line.
    #[must_use]
    pub fn goals_in_words(&self) -> String {
        let ratios = self.written.ratios.iter().map(|(of, to, goal)| format!("{of} : {to} {goal}"));
        let goals = self.written.goals.iter();
        let goals = goals.map(|(key, text)| format!("{} {text}", key.replace('_', " ")));
        goals.chain(ratios).collect::<Vec<_>>().join(", ")
    }
}

/// The published targets.
///
/// # Errors
/// None in a program that passes its tests: the list is read there.
pub fn published() -> Result<Vec<ReadyTarget>, Diagnostic> {
    let source = SourceText::new("(ready targets)", PUBLISHED);
    let entries: Vec<ReadyEntry> = parse(&source)?;
    entries.iter().map(|entry| entry.meant(&source).map_err(Mistakes::into_first)).collect()
}

/// The user's own targets, by file name. A file that is no target is left out and named.
///
/// # Errors
/// When the folder cannot be listed.
pub fn own(root: &Path) -> Result<(Vec<ReadyTarget>, Vec<Diagnostic>), Diagnostic> {
    let (mut targets, mut mistakes): (Vec<ReadyTarget>, Vec<Diagnostic>) = (Vec::new(), Vec::new());
    for path in read::ron_files(&root.join(FOLDER))? {
        let one = || -> Result<ReadyTarget, Mistakes> {
            let source = read::text(&path)?;
            let entry: ReadyEntry = parse(&source)?;
            let target = entry.meant(&source)?;
            match targets.iter().find(|t| names::alike(t.name(), target.name())) {
                Some(_) => {
                    let again = place::duplicate(&source, &entry.name, "target", "in another file");
                    Err(again.into())
                }
                None => Ok(target),
            }
        };
        match one() {
            Ok(target) => targets.push(target),
            Err(wrong) => mistakes.extend(wrong.iter().cloned()),
        }
    }
    Ok((targets, mistakes))
}

/// The target that a text describes.
///
/// # Errors
/// The mistake in the text.
pub fn of_text(text: &str) -> Result<ReadyTarget, Diagnostic> {
    of_source(&SourceText::new("(this answer)", text)).map_err(Mistakes::into_first)
}

/// The target of a file of the folder [`FOLDER`].
pub(super) fn of_source(source: &SourceText) -> Result<ReadyTarget, Mistakes> {
    parse::<ReadyEntry>(source)?.meant(source)
}

impl ReadyEntry {
    fn meant(&self, source: &SourceText) -> Result<ReadyTarget, Mistakes> {
        let name = place::name(source, &self.name)?;
        let goals = goals_of(source, (&self.name, &name), (&self.goals, &self.ratios), &[])?;
        let written = rewritten(&Target { name, goals })
            .map_err(|error| place::at(source, &self.name, error.to_string()))?;
        Ok(ReadyTarget { written, source: self.source.clone() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_published_target_names_its_source() -> Result<(), String> {
        let published = published().map_err(|d| d.details().title.clone())?;
        assert!(published.len() >= 5);
        assert!(published.iter().all(|t| t.source.as_ref().is_some_and(|s| s.contains("20"))));
        Ok(())
    }
}
