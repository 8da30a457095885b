//! A dispenser as written in `bench.ron`.

use serde::Deserialize;

use crate::bench::place;
use crate::files::{Diagnostic, Fault, SourceText, Written};
use crate::quantities::{Dimension, Grams, Millilitres};
use crate::waters::{Dispenser, Measured};

/// A dispenser as written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) enum DispenserEntry {
    /// `Syringe(name: "…", step: "0.1 mL", least: "0.5 mL", error: "0.05 mL")`
    Syringe { name: Written, step: Written, least: Option<Written>, error: Option<Written> },
    /// `Pipette(name: "…", step: "0.01 mL", least: "0.1 mL", error: "0.01 mL")`
    Pipette { name: Written, step: Written, least: Option<Written>, error: Option<Written> },
    /// `Scale(name: "…", step: "0.01 g", least: "0.1 g", error: "0.01 g")`
    Scale { name: Written, step: Written, least: Option<Written>, error: Option<Written> },
    /// `Dropper(name: "…", drop: "0.05 mL", error: "0.005 mL")`
    Dropper { name: Written, drop: Written, least: Option<Written>, error: Option<Written> },
}

impl DispenserEntry {
    /// Where its name stands.
    pub(super) fn name_leaf(&self) -> &Written {
        match self {
            DispenserEntry::Syringe { name, .. }
            | DispenserEntry::Pipette { name, .. }
            | DispenserEntry::Scale { name, .. }
            | DispenserEntry::Dropper { name, .. } => name,
        }
    }

    /// The dispenser as meant. The least amount is one step when nothing is said; the error half
    /// of a step, as that of a reading between two marks (common practice).
    pub(super) fn meant(&self, source: &SourceText) -> Result<Dispenser, Diagnostic> {
        let (kind, name, step_leaf, least, error) = match self {
            DispenserEntry::Syringe { name, step, least, error } => {
                ("syringe", name, step, least, error)
            }
            DispenserEntry::Pipette { name, step, least, error } => {
                ("pipette", name, step, least, error)
            }
            DispenserEntry::Scale { name, step, least, error } => {
                ("scale", name, step, least, error)
            }
            DispenserEntry::Dropper { name, drop, least, error } => {
                ("dropper", name, drop, least, error)
            }
        };
        let dimension = if kind == "scale" { Dimension::Mass } else { Dimension::Volume };
        let amount = |leaf: &Written| place::amount(source, leaf, &[dimension]);
        let step = amount(step_leaf)?;
        if step <= 0.0 {
            return Err(Diagnostic::new(Fault::Content, "a step of nothing measures nothing")
                .at(source, source.span_of(step_leaf))
                .found(format!("`{}`", step_leaf.text()))
                .expected("an amount above zero, as in \"0.1 mL\""));
        }
        let or =
            |leaf: &Option<Written>, otherwise: f64| leaf.as_ref().map_or(Ok(otherwise), amount);
        Ok(Dispenser {
            name: place::name(source, name)?,
            kind,
            step: match dimension {
                Dimension::Mass => Measured::Mass(Grams::new(step)),
                _ => Measured::Volume(Millilitres::new(step)),
            },
            least: or(least, step)?,
            error: or(error, step / 2.0)?,
        })
    }
}
