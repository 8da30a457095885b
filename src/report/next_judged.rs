//! What was tasted and how it was judged, from all sessions of a bench, for the next flight.

use crate::analysis::{ModelChoice, results};
use crate::chemistry::Composition;
use crate::report::journal::{Made, PastSession};
use crate::report::next_report::{NextAsked, NextError};
use crate::tasting::Method;

/// A water tasted, before it is placed.
pub(super) struct TastedWater<'a> {
    pub(super) session: (usize, &'a str),
    pub(super) made: &'a Made,
    pub(super) water: Composition,
    pub(super) score: f64,
    pub(super) standard_error: f64,
}

/// Everything tasted and judged by one attribute.
#[derive(Default)]
pub(super) struct Judged<'a> {
    pub(super) of: Option<String>,
    /// Whether by ranking.
    pub(super) ranked: bool,
    pub(super) tasted: Vec<TastedWater<'a>>,
    /// What was judged by it and does not count, with the reason.
    pub(super) left_out: Vec<String>,
}

/// By what, and on which scale, waters were judged.
#[derive(Debug, Clone, PartialEq)]
struct Judgement {
    of: String,
    /// Ends of the scale of scores; nothing for a ranking.
    scale: Option<(f64, f64)>,
}

/// Everything tasted and judged by the attribute asked for, or by the newest that places waters, in
/// the order of time. Scores on different scales and worths are never put together: the newest kind
/// counts, and what is left out is said.
pub(super) fn judged<'a>(asked: &NextAsked<'a>) -> Result<Judged<'a>, NextError> {
    let mut known: Vec<Judgement> = Vec::new();
    for judgement in asked.past.iter().rev().flat_map(judgements) {
        if !known.contains(&judgement) {
            known.push(judgement);
        }
    }
    let wanted = |j: &&Judgement| asked.of.is_none_or(|asked| asked == j.of);
    let found = known.iter().filter(wanted).map(|j| (j, tasted(asked.past, j)));
    if let Some((judgement, tasted)) = found.into_iter().find(|(_, t)| !t.is_empty()) {
        let other = |j: &Judgement| j.of == judgement.of && j != judgement;
        let others = asked.past.iter().filter(|s| judgements(s).iter().any(other));
        let left_out = others.map(|s| format!("{} (on another scale)", s.name)).collect();
        let ranked = judgement.scale.is_none();
        return Ok(Judged { of: Some(judgement.of.clone()), ranked, tasted, left_out });
    }
    match asked.of {
        None => Ok(Judged::default()),
        Some(of) => {
            let judged = known.into_iter().map(|j| j.of).collect();
            Err(NextError::NothingOf { of: of.to_owned(), judged })
        }
    }
}

/// The waters that all sessions place by one judgement.
fn tasted<'a>(past: &'a [PastSession], judgement: &Judgement) -> Vec<TastedWater<'a>> {
    let mut tasted = Vec::new();
    for (number, session) in past.iter().enumerate() {
        let Some(revealed) = &session.revealed else { continue };
        if !judgements(session).contains(judgement) {
            continue;
        }
        let found = results(revealed, ModelChoice::default());
        for effect in found.effects(&judgement.of).unwrap_or_default() {
            let name = revealed.waters.get(effect.water);
            let made = session.made.iter().find(|m| Some(&m.water) == name);
            tasted.extend(made.map(|made| TastedWater {
                session: (number, session.name.as_str()),
                made,
                water: made.composition(),
                score: effect.score,
                standard_error: effect.standard_error,
            }));
        }
    }
    tasted
}

/// What a session judged its waters by, in its order; nothing for one that is not revealed, and for
/// tests of two, which place no water on a line.
fn judgements(session: &PastSession) -> Vec<Judgement> {
    match session.revealed.as_ref().map(|r| &r.method) {
        Some(Method::Scoring { attributes }) => attributes
            .iter()
            .map(|a| Judgement { of: a.name.clone(), scale: Some((a.low, a.high)) })
            .collect(),
        Some(Method::Ranking { criterion }) => {
            vec![Judgement { of: criterion.clone(), scale: None }]
        }
        _ => Vec::new(),
    }
}
