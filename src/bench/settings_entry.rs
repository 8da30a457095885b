//! `bench.ron` as written: it marks a folder as a bench and holds its settings.

use serde::Deserialize;

use crate::bench::dispenser_entry::DispenserEntry;
use crate::bench::place;
use crate::files::{Diagnostic, SourceText, Written, read};
use crate::waters::Dispenser;

/// The settings file as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Bench", deny_unknown_fields)]
struct SettingsEntry {
    title: Written,
    #[serde(default)]
    dispensers: Vec<DispenserEntry>,
}

/// What `bench.ron` holds.
#[derive(Debug)]
pub(super) struct Settings {
    pub(super) title: String,
    pub(super) dispensers: Vec<Dispenser>,
}

/// The settings of a bench.
pub(super) fn settings(source: &SourceText) -> Result<Settings, Diagnostic> {
    let entry: SettingsEntry = read::parse(source)?;
    let title = place::name(source, &entry.title)?;
    let mut dispensers: Vec<Dispenser> = Vec::new();
    for entry in &entry.dispensers {
        let dispenser = entry.meant(source)?;
        if dispensers.iter().any(|d| d.name == dispenser.name) {
            return Err(place::duplicate(source, entry.name_leaf(), "dispenser", "above"));
        }
        dispensers.push(dispenser);
    }
    Ok(Settings { title, dispensers })
}
