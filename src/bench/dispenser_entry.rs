//! A dispenser as written in `bench.ron`.

use serde::Deserialize;

use crate::bench::place;
use crate::files::{Diagnostic, SourceText, Written};
use crate::flight::dispenser::DROPPER;
use crate::flight::{Dispenser, Measured};
use crate::quantities::{Dimension, Fraction, Grams, Millilitres, show};

/// A dispenser as written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) enum DispenserEntry {
    /// `Syringe(name: "…", step: "0.1 mL", least: "0.5 mL", error: "0.05 mL", holds: "5 mL")`
    Syringe {
        name: Written,
        step: Written,
        least: Option<Written>,
        error: Option<Written>,
        off: Option<Written>,
        holds: Option<Written>,
    },
    /// `Pipette(name: "…", step: "0.01 mL", least: "0.1 mL", error: "0.01 mL", holds: "1 mL")`
    Pipette {
        name: Written,
        step: Written,
        least: Option<Written>,
        error: Option<Written>,
        off: Option<Written>,
        holds: Option<Written>,
    },
    /// `Balance(name: "…", step: "0.01 g", least: "0.1 g", error: "0.01 g")`; `Scale` in older files.
    #[serde(alias = "Scale")]
    Balance { name: Written, step: Written, least: Option<Written>, error: Option<Written> },
    /// `Dropper(name: "…", drop: "0.05 mL", error: "0.005 mL", scatter: "0.002 mL")`
    Dropper {
        name: Written,
        drop: Written,
        least: Option<Written>,
        error: Option<Written>,
        scatter: Option<Written>,
    },
}

/// What a dispenser that weighs is called.
const BALANCE: &str = "balance";

/// The error of a reading between two marks, in steps.
const HALF: f64 = 0.5;

/// Our choice: how far the drops of a dropper are from their stated size, as a part of it, where
/// nobody says. The dropper of a pharmacopoeia is within 5 % (from memory), others are not made so
/// well; a hundred drops on the balance settle it.
const DROP_WITHIN: f64 = 0.1;

impl DispenserEntry {
    /// Where its name stands.
    pub(super) fn name_leaf(&self) -> &Written {
        match self {
            DispenserEntry::Syringe { name, .. }
            | DispenserEntry::Pipette { name, .. }
            | DispenserEntry::Balance { name, .. }
            | DispenserEntry::Dropper { name, .. } => name,
        }
    }

    /// The dispenser as meant. The least amount is one step when nothing is said; the error half
    /// of a step, as that of a reading between two marks (common practice), or [`DROP_WITHIN`] of
    /// a drop; it holds any dose, and its drops are alike.
    pub(super) fn meant(&self, source: &SourceText) -> Result<Dispenser, Diagnostic> {
        let (mut off, mut holds, mut scatter) = (&None, &None, &None);
        let (kind, name, step_leaf, least, error) = match self {
            DispenserEntry::Syringe { name, step, least, error, off: o, holds: h } => {
                (off, holds) = (o, h);
                ("syringe", name, step, least, error)
            }
            DispenserEntry::Pipette { name, step, least, error, off: o, holds: h } => {
                (off, holds) = (o, h);
                ("pipette", name, step, least, error)
            }
            DispenserEntry::Balance { name, step, least, error } => {
                (BALANCE, name, step, least, error)
            }
            DispenserEntry::Dropper { name, drop, least, error, scatter: s } => {
                scatter = s;
                (DROPPER, name, drop, least, error)
            }
        };
        let dimension = if kind == BALANCE { Dimension::Mass } else { Dimension::Volume };
        let amount = |leaf: &Written| place::amount(source, leaf, &[dimension]);
        let step = amount(step_leaf)?;
        if step <= 0.0 {
            return Err(place::wrong(source, step_leaf, "a step of nothing measures nothing")
                .expected("an amount above zero, as in \"0.1 mL\""));
        }
        let or =
            |leaf: &Option<Written>, otherwise: f64| leaf.as_ref().map_or(Ok(otherwise), amount);
        let least = or(least, step)?;
        let held = holds.as_ref().map(amount).transpose()?;
        if let (Some(leaf), Some(held)) = (holds, held)
            && held < least.max(step)
        {
            return Err(place::wrong(source, leaf, "it holds less than the least it delivers")
                .expected(format!("{} mL or more", show::plain(least.max(step)))));
        }
        let usual = if kind == DROPPER { DROP_WITHIN } else { HALF };
        let limit = or(error, step * usual)?;
        if let Some(leaf) = error.as_ref().filter(|_| kind == DROPPER && limit >= step) {
            return Err(place::wrong(source, leaf, "these drops may be nothing at all")
                .expected(format!("less than a drop, {} mL", show::plain(step))));
        }
        Ok(Dispenser {
            name: place::name(source, name)?,
            kind,
            step: match dimension {
                Dimension::Mass => Measured::Mass(Grams::new(step)),
                _ => Measured::Volume(Millilitres::new(step)),
            },
            least,
            error: limit,
            scatter: or(scatter, 0.0)?,
            off: off
                .as_ref()
                .map_or(Ok(0.0), |leaf| place::share(source, leaf))
                .map(Fraction::new)?,
            holds: held,
        })
    }
}
