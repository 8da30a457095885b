//! `bench.ron` as written: it marks a folder as a bench and holds its settings.

use serde::Deserialize;

use crate::assessment::{BoilerSettings, MachineProfile};
use crate::bench::dispenser_entry::DispenserEntry;
use crate::bench::labels_entry::LabelsEntry;
use crate::bench::machine_entry::{BoilersEntry, MeterEntry};
use crate::bench::parse::parse;
use crate::bench::profile_entry::ProfileEntry;
use crate::bench::tools_entry::{ToolsEntry, meter_error};
use crate::bench::{kept, place};
use crate::files::{Diagnostic, SourceText, Written};
use crate::flight::Dispenser;
use crate::page::label_sheet::LabelSheet;
use crate::quantities::Dimension;
use crate::stock::{Price, Tools};
use crate::text::names;
use crate::water::MeterSettings;

/// The settings file as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Bench", deny_unknown_fields)]
struct SettingsEntry {
    title: Written,
    #[serde(default)]
    tools: ToolsEntry,
    distilled_price: Option<Written>,
    #[serde(default)]
    boilers: BoilersEntry,
    #[serde(default)]
    meter: MeterEntry,
    machine: Option<ProfileEntry>,
    #[serde(default)]
    dispensers: Vec<DispenserEntry>,
    #[serde(default)]
    labels: Vec<LabelsEntry>,
}

/// The settings of a bench.
pub(super) struct Settings {
    /// Its title.
    pub(super) title: String,
    /// What is weighed, measured and dosed with.
    pub(super) tools: Tools,
    /// Price of distilled water, per millilitre.
    pub(super) distilled_price: Option<Price>,
    /// The temperatures that waters are looked at in.
    pub(super) boilers: BoilerSettings,
    /// The meter that readings come from.
    pub(super) meter: MeterSettings,
    /// The machine and its maker's limits, where one is described.
    pub(super) machine: Option<MachineProfile>,
    /// What doses can be measured out with.
    pub(super) dispensers: Vec<Dispenser>,
    /// Sheets of labels beside the common ones.
    pub(super) labels: Vec<LabelSheet>,
}

/// Reads the settings.
pub(super) fn settings(source: &SourceText) -> Result<Settings, Diagnostic> {
    let entry: SettingsEntry = parse(source)?;
    let price = entry.distilled_price.as_ref();
    let (mut tools, mut meter) = (entry.tools.meant(source)?, entry.meter.meant(source)?);
    if let Some(error) = meter_error(source, entry.meter.error_leaf(), entry.tools.meter_leaf())? {
        (tools.meter, meter.error) = (error, error);
    }
    Ok(Settings {
        title: place::name(source, &entry.title)?,
        tools,
        distilled_price: price
            .map(|leaf| kept::price(source, leaf, Dimension::Volume))
            .transpose()?,
        boilers: entry.boilers.meant(source)?,
        meter,
        machine: entry.machine.as_ref().map(|machine| machine.meant(source)).transpose()?,
        dispensers: dispensers(source, &entry.dispensers)?,
        labels: labels(source, &entry.labels)?,
    })
}

fn labels(source: &SourceText, entries: &[LabelsEntry]) -> Result<Vec<LabelSheet>, Diagnostic> {
    let mut sheets: Vec<LabelSheet> = Vec::new();
    for entry in entries {
        let sheet = entry.meant(source)?;
        if sheets.iter().any(|s| names::alike(&s.name, &sheet.name)) {
            return Err(place::duplicate(source, entry.name_leaf(), "sheet of labels", "above"));
        }
        sheets.push(sheet);
    }
    Ok(sheets)
}

fn dispensers(
    source: &SourceText,
    entries: &[DispenserEntry],
) -> Result<Vec<Dispenser>, Diagnostic> {
    let mut dispensers: Vec<Dispenser> = Vec::new();
    for entry in entries {
        let dispenser = entry.meant(source)?;
        if dispensers.iter().any(|d| names::alike(&d.name, &dispenser.name)) {
            return Err(place::duplicate(source, entry.name_leaf(), "dispenser", "above"));
        }
        dispensers.push(dispenser);
    }
    Ok(dispensers)
}
