//! `bench.ron` as written: it marks a folder as a bench and holds its settings.

use serde::Deserialize;

use crate::bench::tools_entry::ToolsEntry;
use crate::bench::{kept, place};
use crate::files::{Diagnostic, SourceText, Written, read};
use crate::quantities::Dimension;
use crate::shelf::{Price, Tools};

/// The settings file as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Bench", deny_unknown_fields)]
struct SettingsEntry {
    title: Written,
    #[serde(default)]
    tools: ToolsEntry,
    distilled_price: Option<Written>,
}

/// The settings of a bench.
pub(super) struct Settings {
    /// Its title.
    pub(super) title: String,
    /// What is weighed, measured and dosed with.
    pub(super) tools: Tools,
    /// Price of distilled water, per millilitre.
    pub(super) distilled_price: Option<Price>,
}

/// Reads the settings.
pub(super) fn settings(source: &SourceText) -> Result<Settings, Diagnostic> {
    let entry: SettingsEntry = read::parse(source)?;
    let price = entry.distilled_price.as_ref();
    Ok(Settings {
        title: place::name(source, &entry.title)?,
        tools: entry.tools.meant(source)?,
        distilled_price: price
            .map(|leaf| kept::price(source, leaf, Dimension::Volume))
            .transpose()?,
    })
}
