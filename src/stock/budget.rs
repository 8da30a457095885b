//! Where the uncertainty of a figure comes from: its sources by their share in the variance.

use std::borrow::Borrow;

use serde::Serialize;

use crate::quantities::uncertain::{COVERAGE, Uncertain};
use crate::stock::UncertaintySource;

/// Our choice: sources below this share of the variance are left out of a budget.
pub(super) const MATTERS: f64 = 0.01;

/// One source of an uncertainty.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BudgetLine {
    /// What it is.
    pub source: String,
    /// Share in the variance, %.
    pub percent: f64,
    /// Expanded uncertainty if this source were half as large.
    pub expanded_if_halved: f64,
    /// What would halve this source.
    pub to_halve: &'static str,
}

impl BudgetLine {
    /// The source without the name of its stock.
    pub(crate) fn short(&self) -> &str {
        self.source.rsplit_once(": ").map_or(self.source.as_str(), |(_, source)| source)
    }
}

/// The sources of a result that matter, largest first.
#[must_use]
pub fn budget(
    result: &Uncertain,
    uncertainty_sources: &[impl Borrow<UncertaintySource>],
) -> Vec<BudgetLine> {
    result
        .budget(MATTERS)
        .into_iter()
        .filter_map(|(at, share)| {
            let doubt = uncertainty_sources.get(at)?.borrow();
            Some(BudgetLine {
                source: doubt.input.name.clone(),
                percent: 100.0 * share,
                expanded_if_halved: COVERAGE * result.with_half(at),
                to_halve: doubt.cause.remedy(),
            })
        })
        .collect()
}
