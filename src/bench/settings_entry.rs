//! `bench.ron` as written: it marks a folder as a bench and holds its settings.

use serde::Deserialize;

use crate::bench::machine_entry::{BoilersEntry, MeterEntry};
use crate::bench::place;
use crate::files::{Diagnostic, SourceText, Written, read};
use crate::report::{BoilerSettings, MeterSettings};

/// The settings file as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Bench", deny_unknown_fields)]
struct SettingsEntry {
    title: Written,
    #[serde(default)]
    boilers: BoilersEntry,
    #[serde(default)]
    meter: MeterEntry,
}

/// What `bench.ron` holds.
#[derive(Debug)]
pub(super) struct Settings {
    pub(super) title: String,
    pub(super) boilers: BoilerSettings,
    pub(super) meter: MeterSettings,
}

/// The settings of a bench.
pub(super) fn settings(source: &SourceText) -> Result<Settings, Diagnostic> {
    let entry: SettingsEntry = read::parse(source)?;
    Ok(Settings {
        title: place::name(source, &entry.title)?,
        boilers: entry.boilers.meant(source)?,
        meter: entry.meter.meant(source)?,
    })
}
