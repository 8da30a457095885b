//! The style that a flight asks of all its waters, as written.

use serde::Deserialize;

use crate::bench::{explain, place};
use crate::files::{Diagnostic, SourceText, Written};
use crate::flight::Goal;
use crate::flight::style::{PAIRS, STYLE_WEIGHT, StyleAsked};
use crate::quantities::Dimension;
use crate::water::Measure;

/// As written.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) enum StyleEntry {
    #[default]
    Any,
    SameSalts,
    SameRatios,
    /// `Ratios(calcium_to_magnesium: "1 mol/mol", chloride_to_sulfate: "2 mol/mol")`
    Ratios {
        calcium_to_magnesium: Option<Written>,
        chloride_to_sulfate: Option<Written>,
    },
}

impl StyleEntry {
    /// The style as the planner takes it, checked.
    pub(super) fn meant(&self, source: &SourceText) -> Result<StyleAsked, Diagnostic> {
        let (first, second) = match self {
            StyleEntry::Any => return Ok(StyleAsked::Any),
            StyleEntry::SameSalts => return Ok(StyleAsked::SameSalts),
            StyleEntry::SameRatios => return Ok(StyleAsked::SameRatios),
            StyleEntry::Ratios { calcium_to_magnesium, chloride_to_sulfate } => {
                (calcium_to_magnesium, chloride_to_sulfate)
            }
        };
        let goal = |(leaf, pair): (&Option<Written>, (Measure, Measure))| {
            leaf.as_ref().map(|leaf| ratio(source, leaf, pair))
        };
        let goals = [first, second].into_iter().zip(PAIRS).filter_map(goal);
        Ok(StyleAsked::Ratios(goals.collect::<Result<_, _>>()?))
    }
}

fn ratio(
    source: &SourceText,
    leaf: &Written,
    (of, to): (Measure, Measure),
) -> Result<Goal, Diagnostic> {
    let units = explain::units_of(&[Dimension::Ratio]);
    let goal = Goal::parse_ratio(of, to, leaf.text())
        .map_err(|e| place::mistake(source, leaf, &e, explain::goal(&e, &units)))?;
    Ok(Goal { weight: STYLE_WEIGHT * goal.weight, ..goal })
}
