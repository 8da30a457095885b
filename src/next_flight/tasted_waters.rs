//! What was tasted and how it was judged, from all sessions of a bench, for the next flight.

use crate::chemistry::Composition;
use crate::next_flight::asked::{NextAsked, NextError};
use crate::quantities::show::three_figures;
use crate::session::analysis::design::Wanted;
use crate::session::analysis::effects::WaterEffect;
use crate::session::analysis::{MixedError, ModelChoice, Results, analyse};
use crate::session::plan::{Aim, each_once};
use crate::session::plan::{AssumedScatter, Method};
use crate::session::results::{PastSession, PlannedWaterRecipe};
use crate::session::score::Revealed;

/// What stands in the place of degrees of freedom where the error is assumed and not seen: our choice,
/// so that it may well be twice or half as large.
const ASSUMED_DEGREES: f64 = 4.0;

/// The model that places waters: tasters and waters, and no places on the tray or waters before.
///
/// The plan balances both over the waters, so that they average out, while corrections for them move
/// the means at random with every other order of serving. Our choice.
const PLACED_BY: ModelChoice =
    ModelChoice { order: Wanted::No, carry_over: Wanted::No, multiplicity: None };

/// A water tasted, before it is placed.
pub(crate) struct TastedWater<'a> {
    /// Number among the sessions that count, and its name.
    pub(crate) session: (usize, &'a str),
    /// Number of its recipe.
    pub(crate) recipe: usize,
    pub(crate) made: &'a PlannedWaterRecipe,
    pub(crate) water: Composition,
    pub(crate) effect: WaterEffect,
}

impl TastedWater<'_> {
    /// `SESSION/WATER`, which names one water only.
    pub(crate) fn full_name(&self) -> String {
        format!("{}/{}", self.session.1, self.made.water)
    }
}

/// Everything tasted and judged by one attribute.
#[derive(Default)]
pub(crate) struct TastedWaters<'a> {
    pub(crate) aim: Option<Aim>,
    /// Whether by ranking.
    pub(crate) ranked: bool,
    pub(crate) tasted: Vec<TastedWater<'a>>,
    /// What must be borne in mind of sessions that count.
    pub(crate) assumed: Vec<String>,
    /// What was judged by it and does not count, with the reason.
    pub(crate) left_out: Vec<String>,
}

/// By what, and on which scale, waters were judged.
#[derive(Debug, Clone, PartialEq)]
struct Criterion {
    of: String,
    /// Ends of the scale of scores; nothing for a ranking.
    scale: Option<(f64, f64)>,
}

/// Everything tasted and judged by the attribute asked for, or by the newest that is wanted, in the
/// order of time. What nobody said is wanted is never bettered. Scores on different scales and strengths
/// are never put together: the newest kind counts, and what is left out is said.
pub(crate) fn tasted_waters<'a>(asked: &NextAsked<'a>) -> Result<TastedWaters<'a>, NextError> {
    let newest = || asked.past.iter().rev().filter_map(|s| Some((s, s.revealed.as_ref()?)));
    let all = || newest().flat_map(|(_, revealed)| criteria(revealed));
    let names = each_once(all().map(|criterion| criterion.of));
    if let Some(of) = asked.of.filter(|of| !names.iter().any(|name| name == of)) {
        return Err(NextError::NothingOf { of: of.to_owned(), judged: names });
    }
    let aim_of = |revealed: &Revealed| match asked.of {
        Some(of) => revealed.aim_for(of),
        // What the plan says comes before what a name says.
        None => revealed.wanted.clone(),
    };
    let Some(aim) = newest().find_map(|(_, revealed)| {
        aim_of(revealed).filter(|aim| criteria(revealed).iter().any(|j| j.of == aim.of))
    }) else {
        return match (asked.of, names.is_empty()) {
            (None, true) => Ok(TastedWaters::default()),
            _ => Err(NextError::NotWanted { of: asked.of.map(str::to_owned), judged: names }),
        };
    };
    let kinds = each_once(all().filter(|j| j.of == aim.of));
    let mut found: Option<TastedWaters<'a>> = None;
    for kind in &kinds {
        let one = tasted_by(asked, kind);
        let counts = !one.tasted.is_empty();
        if found.is_none() || counts {
            let on_another = |s: &&PastSession| {
                s.revealed
                    .as_ref()
                    .is_some_and(|r| criteria(r).iter().any(|j| j.of == kind.of && j != kind))
            };
            let others = asked.past.iter().filter(on_another);
            let others = others.map(|s| format!("{} (on another scale)", s.name));
            let left_out = one.left_out.iter().cloned().chain(others).collect();
            found = Some(TastedWaters { left_out, ranked: kind.scale.is_none(), ..one });
        }
        if counts {
            break;
        }
    }
    let mut found = found.unwrap_or_default();
    // Sessions since that judged nothing of it.
    let other = newest().filter(|(_, r)| {
        let own = criteria(r);
        !own.is_empty() && own.iter().all(|j| j.of != aim.of)
    });
    found.left_out.extend(other.map(|(s, _)| format!("{} (it did not judge {})", s.name, aim.of)));
    Ok(TastedWaters { aim: Some(aim), ..found })
}

/// The waters that all sessions place by one criterion.
fn tasted_by<'a>(asked: &NextAsked<'a>, criterion: &Criterion) -> TastedWaters<'a> {
    let mut found = TastedWaters::default();
    let mut recipes: Vec<&PlannedWaterRecipe> = Vec::new();
    let mut number = 0;
    for session in asked.past {
        let Some(revealed) = &session.revealed else { continue };
        if !criteria(revealed).contains(criterion) {
            continue;
        }
        let of = criterion.of.as_str();
        let question = format!("effects on {of}");
        let effects = match asked.worked_out.answer(revealed, &question, || effects(revealed, of)) {
            Ok((effects, None)) => effects,
            Ok((effects, Some(assumed))) => {
                found.assumed.push(format!("{}: {assumed}", session.name));
                effects
            }
            Err(why) => {
                found.left_out.push(format!("{} ({why})", session.name));
                continue;
            }
        };
        for effect in effects {
            let name = revealed.waters.get(effect.water);
            let Some(made) = session.made.iter().find(|m| Some(&m.water) == name) else { continue };
            let recipe = recipes.iter().position(|known| known.same_recipe(made));
            let recipe = recipe.unwrap_or_else(|| {
                recipes.push(made);
                recipes.len() - 1
            });
            let (session, water) = ((number, session.name.as_str()), made.composition());
            found.tasted.push(TastedWater { session, recipe, made, water, effect });
        }
        number += 1;
    }
    found
}

/// How good each water of a session was, with what had to be assumed; or why that is not known.
fn effects(revealed: &Revealed, of: &str) -> Result<(Vec<WaterEffect>, Option<String>), String> {
    let found = analyse(revealed, PLACED_BY);
    if let Some(effects) = found.effects(of) {
        return Ok((effects, None));
    }
    let Results::Scores(attributes) = &found else {
        return Err("nothing was ranked".to_owned());
    };
    let own = attributes.iter().find(|a| a.table.attribute == of);
    let scale = revealed.method.attributes().iter().find(|a| a.name == of);
    let (Some(own), Some(scale)) = (own, scale) else {
        return Err("it did not judge that".to_owned());
    };
    match &own.model {
        Err(why @ (MixedError::TooFew | MixedError::NoResidual)) if revealed.tasters.len() == 1 => {
            // The taste of one taster is no error to that taster.
            let one_score = AssumedScatter::usual(scale.high - scale.low).cup;
            let cups =
                |water: usize| own.table.rows.iter().filter(|row| row.water == water).count();
            let effects = own.table.raw_means().into_iter().map(|(water, score)| WaterEffect {
                water,
                score,
                standard_error: one_score
                    / f64::from(u32::try_from(cups(water)).unwrap_or(1)).sqrt(),
                one_score,
                degrees: Some(ASSUMED_DEGREES),
            });
            let unknown = match why {
                MixedError::TooFew => "nothing was repeated, so that the error is unknown",
                _ => "every repeat is exact, so that the error is unknown",
            };
            let scatter = three_figures(one_score);
            let assumed = format!("{unknown}; the SD of one score is assumed to be {scatter}");
            Ok((effects.collect(), Some(assumed)))
        }
        Err(why) => Err(why.to_string()),
        Ok(_) => Err("there is no model".to_owned()),
    }
}

/// What a session judged its waters by, in its order; nothing for tests of two, which place no water on
/// a line.
fn criteria(revealed: &Revealed) -> Vec<Criterion> {
    match &revealed.method {
        Method::Scoring { attributes } => attributes
            .iter()
            .map(|a| Criterion { of: a.name.clone(), scale: Some((a.low, a.high)) })
            .collect(),
        Method::Ranking { criterion } => vec![Criterion { of: criterion.clone(), scale: None }],
        _ => Vec::new(),
    }
}
