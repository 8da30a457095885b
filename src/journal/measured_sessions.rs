//! What the sessions of a bench have measured of how scores scatter, for its next plan.

use std::collections::BTreeMap;

use crate::session::analysis::panel_scatter::{MeasuredScatter, measured, pooled};
use crate::session::analysis::{ModelChoice, Results, analyse};
use crate::session::plan::{Plan, Scatter};

use crate::session::results::{PastSession, WorkedOut};
use crate::session::score::Revealed;

/// The scatter that revealed sessions have measured of a plan's attributes, by name.
#[must_use]
pub fn measured_scatter(
    past: &[PastSession],
    plan: &Plan,
    worked_out: &WorkedOut,
) -> BTreeMap<String, Scatter> {
    let mut all: Vec<MeasuredScatter> = Vec::new();
    let wanted = plan.method.attributes();
    for revealed in past.iter().filter_map(|session| session.revealed.as_ref()) {
        let own = revealed.method.attributes();
        if !own.iter().any(|a| wanted.iter().any(|w| w.name == a.name)) {
            continue;
        }
        all.extend(worked_out.answer(revealed, "scatter", || scatter_of(revealed)));
    }
    let known = wanted.iter().filter_map(|a| Some((a.name.clone(), pooled(a, &all)?)));
    known.collect()
}

/// How the scores of a session scattered.
fn scatter_of(revealed: &Revealed) -> Vec<MeasuredScatter> {
    let Results::Scores(found) = analyse(revealed, ModelChoice::default()) else {
        return Vec::new();
    };
    let own = revealed.method.attributes();
    own.iter().zip(&found).filter_map(|(a, found)| measured(a, found)).collect()
}
