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
use crate::files::{Diagnostic, Mistakes, SourceText, Written};
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
///
/// # Errors
/// All that is wrong with them.
pub(super) fn settings(source: &SourceText) -> Result<Settings, Mistakes> {
    let entry: SettingsEntry = parse(source)?;
    let mut wrong = Mistakes::default();
    let title = wrong.take(place::name(source, &entry.title));
    let tools = wrong.take(entry.tools.meant(source));
    let boilers = wrong.take(entry.boilers.meant(source));
    let meter = wrong.take(entry.meter.meant(source));
    let (one, other) = (entry.meter.error.as_ref(), entry.tools.meter.as_ref());
    let error = wrong.take(meter_error(source, one, other));
    let price = entry.distilled_price.as_ref();
    let price = price.map(|leaf| kept::price(source, leaf, Dimension::Volume)).transpose();
    let price = wrong.take(price);
    let machine = entry.machine.as_ref().map(|machine| machine.meant(source)).transpose();
    let machine = wrong.take(machine);
    let read = entry.dispensers.iter().map(|e| (e.name_leaf(), e.meant(source)));
    let what = "dispenser";
    let dispensers = each(source, what, read, |dispenser: &Dispenser| &dispenser.name, &mut wrong);
    let read = entry.labels.iter().map(|e| (&e.name, e.meant(source)));
    let what = "sheet of labels";
    let labels = each(source, what, read, |sheet: &LabelSheet| &sheet.name, &mut wrong);
    match (title, tools, boilers, meter, error, price, machine) {
        (
            Some(title),
            Some(mut tools),
            Some(boilers),
            Some(mut meter),
            Some(error),
            Some(distilled_price),
            Some(machine),
        ) if wrong.is_empty() => {
            if let Some(error) = error {
                (tools.meter, meter.error) = (error, error);
            }
            Ok(Settings {
                title,
                tools,
                distilled_price,
                boilers,
                meter,
                machine,
                dispensers,
                labels,
            })
        }
        _ => Err(wrong),
    }
}

/// Those of a list that can be read and have a name of their own.
fn each<'a, T>(
    source: &SourceText,
    what: &str,
    read: impl Iterator<Item = (&'a Written, Result<T, Diagnostic>)>,
    name: impl Fn(&T) -> &str,
    wrong: &mut Mistakes,
) -> Vec<T> {
    let mut kept: Vec<T> = Vec::new();
    for (leaf, read) in read {
        let Some(one) = wrong.take(read) else { continue };
        if kept.iter().any(|k| names::alike(name(k), name(&one))) {
            wrong.push(place::duplicate(source, leaf, what, "above"));
        } else {
            kept.push(one);
        }
    }
    kept
}
