//! How much of stocks and dissolved solids a flight allows, as written.

use serde::Deserialize;

use crate::bench::{explain, place};
use crate::files::{Diagnostic, SourceText, Written};
use crate::flight::DoseLimits;
use crate::flight::dose_limits;
use crate::flight::dose_limits::DoseLimitError;
use crate::quantities::Dimension;

/// `(stocks: "100 mL/L", dissolved_solids: "1500 mg/L")`, either of them left out or "none".
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct LimitsEntry {
    stocks: Option<Written>,
    dissolved_solids: Option<Written>,
}

impl LimitsEntry {
    /// As meant; what is left out is as usual.
    pub(super) fn meant(&self, source: &SourceText) -> Result<DoseLimits, Diagnostic> {
        let usual = DoseLimits::default();
        let one = |leaf: &Option<Written>, dimension, usual, example| {
            let Some(leaf) = leaf else { return Ok(usual) };
            dose_limits::read(leaf.text(), dimension).map_err(|error| {
                let advice = match &error {
                    DoseLimitError::Quantity(of) => {
                        explain::quantity(of, &explain::units_of(&[dimension]))
                    }
                    DoseLimitError::Nothing => explain::dose_limit(example),
                };
                place::mistake(source, leaf, &error, advice)
            })
        };
        Ok(DoseLimits {
            stocks_ml_per_l: one(
                &self.stocks,
                Dimension::VolumePerVolume,
                usual.stocks_ml_per_l,
                "100 mL/L",
            )?,
            dissolved_solids_mg_per_l: one(
                &self.dissolved_solids,
                Dimension::MassPerVolume,
                usual.dissolved_solids_mg_per_l,
                "1500 mg/L",
            )?,
            ..usual
        })
    }
}

/// The limits as a flight file has them; nothing where they are the usual ones.
pub(super) fn text(limits: DoseLimits) -> String {
    if limits == DoseLimits::default() {
        return String::new();
    }
    format!(
        "    limits: (stocks: \"{}\", dissolved_solids: \"{}\"),\n",
        limits.stocks(),
        limits.dissolved_solids()
    )
}
