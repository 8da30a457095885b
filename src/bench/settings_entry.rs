//! `bench.ron` as written: it marks a folder as a bench and holds its settings.

use serde::Deserialize;

use crate::bench::place;
use crate::files::{Diagnostic, SourceText, Written, read};

/// The settings file as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Bench", deny_unknown_fields)]
struct SettingsEntry {
    title: Written,
}

/// The title of a bench.
pub(super) fn title(source: &SourceText) -> Result<String, Diagnostic> {
    let entry: SettingsEntry = read::parse(source)?;
    place::name(source, &entry.title)
}
