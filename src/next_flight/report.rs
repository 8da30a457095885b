//! The next flight, from what all sessions of a bench say of one attribute.

use serde::Serialize;

use crate::assessment::Withheld;
use crate::chemistry::{Composition, ConservedSet};
use crate::everyday::wanted::pinned;
use crate::flight::{Goal, GoalError, Target};
use crate::next_flight::Axis;
use crate::next_flight::Shape;
use crate::next_flight::asked::{NextAsked, NextError};
use crate::next_flight::asked_axes::{Region, region};
use crate::next_flight::known::{EvidenceLine, KnownLine};
use crate::next_flight::shape_words::shape_words;
use crate::next_flight::slice::SurfaceSlice;
use crate::next_flight::tasted_waters::{TastedWater, TastedWaters, tasted_waters};
use crate::next_flight::{Expected, NextRequest, Proposal, ProposeError, Reason, propose};
use crate::next_flight::{Panel, TastedMean, VarianceParts};
use crate::quantities::show::three_figures;
use crate::session::plan::Direction;
use crate::session::results::PlannedWaterRecipe;
use crate::water::Measure;

/// The next flight.
#[derive(Debug, Clone, Serialize)]
pub struct NextReport {
    /// What was judged; nothing when nothing was.
    pub of: Option<String>,
    /// Which way it is wanted.
    pub wanted: Option<Direction>,
    /// What the scores are: `mean`, or `log strength` from rankings.
    pub scores: &'static str,
    /// Sessions whose scores were used.
    pub sessions: Vec<String>,
    /// The axes, with their units.
    pub axes: Vec<AxisLine>,
    /// The hardness that every new water has, where the axes leave it open and a share of it is sought.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub held_hardness_mg_per_l_caco3: Option<f64>,
    /// The waters tasted.
    pub tasted: Vec<TastedLine>,
    /// What the scores say of each water tasted, the best first; empty where they are too few.
    pub known: Vec<KnownLine>,
    /// The best water so far.
    pub best: Option<String>,
    /// The evidence for a slope.
    pub evidence: Option<EvidenceLine>,
    /// What the differences between waters consist of.
    pub parts: Option<VarianceParts>,
    /// What had to be assumed of sessions that count.
    pub assumed: Vec<String>,
    /// What was judged as well and does not count, with the reason.
    pub left_out: Vec<String>,
    /// Why these waters were chosen.
    pub reason: Reason,
    /// What is said of the surface: `flat`, `undecided`, `open` or `placed`.
    pub verdict: Option<&'static str>,
    /// What the surface looks like, in words.
    pub shape: Option<String>,
    /// The new waters.
    pub waters: Vec<NextWater>,
    /// How many were asked for.
    pub waters_asked: usize,
    /// The water that ties the flight to what was tasted, as the flight names it.
    pub reference: Option<String>,
    /// The same as `known` names it; nothing when it never was tasted.
    pub reference_is: Option<String>,
    /// Candidates tried, and how many of them the shelf can make.
    pub tried: usize,
    /// Candidates that the shelf can make, in doses of any size.
    pub in_reach: usize,
    /// What the flight asks as well, and what the candidates were not checked for, in words; the new waters
    /// were.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_counted: Vec<String>,
    /// What is expected along the first two axes, where a picture of it is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub surface: Option<SurfaceSlice>,
    /// The targets to write, the reference last.
    #[serde(skip)]
    pub targets: Vec<Target>,
    /// The session that the reference was tasted in, and what it held; nothing when it never was.
    #[serde(skip)]
    pub reference_tasted: Option<(String, Composition)>,
}

/// The water that ties a flight to what was tasted.
struct Reference {
    target: Target,
    /// Its number among the waters tasted.
    water: Option<usize>,
    /// The session it was tasted in, and what it held.
    tasted: Option<(String, Composition)>,
}

/// One axis.
#[derive(Debug, Clone, Serialize)]
pub struct AxisLine {
    /// Its name.
    pub name: String,
    /// Its unit.
    pub unit: &'static str,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// A water tasted in one session.
#[derive(Debug, Clone, Serialize)]
pub struct TastedLine {
    /// Its name.
    pub water: String,
    /// The session.
    pub session: String,
    /// Its value on each axis.
    pub at: Vec<f64>,
    /// Mean score, or logarithm of its strength in a ranking.
    pub score: f64,
    /// Standard error among waters.
    pub standard_error: f64,
}

/// A new water.
#[derive(Debug, Clone, Serialize)]
pub struct NextWater {
    /// Its name in the flight.
    pub target: String,
    /// Its value on each axis, as the shelf makes it.
    pub at: Vec<f64>,
    /// Score expected above the mean of the waters tasted.
    pub above_mean: Option<f64>,
    /// Standard deviation of that.
    pub standard_deviation: Option<f64>,
    /// Probability that it is better than every water tasted.
    pub beats_best: Option<f64>,
}

impl NextReport {
    /// Proposes the next flight.
    ///
    /// # Errors
    /// When the attribute was never judged, an axis is none, or nothing in the region is in reach.
    pub fn new(asked: &NextAsked<'_>) -> Result<Self, NextError> {
        let TastedWaters { aim, ranked, tasted, assumed, mut left_out } = tasted_waters(asked)?;
        let Region { axes, held_hardness } = region(asked, &tasted)?;
        let held = held_hardness.map(hardness_goal).transpose();
        let held = Vec::from_iter(held.map_err(ProposeError::from)?);
        let placed: Vec<(&TastedWater<'_>, Vec<f64>)> = tasted
            .iter()
            .filter_map(|t| {
                let at = axes.iter().map(|axis| axis.place(&t.water)).collect::<Option<_>>()?;
                Some((t, at))
            })
            .collect();
        let nowhere = |t: &&TastedWater<'_>| axes.iter().any(|axis| axis.place(&t.water).is_none());
        left_out.extend(tasted.iter().filter(nowhere).map(|t| {
            let missing = axes
                .iter()
                .fold(ConservedSet::NONE, |all, axis| all.union(axis.of.not_measured_of(&t.water)));
            let why = Withheld::of(missing)
                .map_or("it has no hardness to share".to_owned(), |why| why.to_string());
            format!("{} of {} ({why})", t.made.water, t.session.1)
        }));
        let (tasted_means, panels) = tasted_means(&placed);
        let direction = aim.as_ref().map_or(Direction::More, |aim| aim.direction);
        let desirability = |score: f64| direction.desirability(score);
        let proposal = propose(&NextRequest {
            flight: asked.flight,
            stocks: asked.stocks,
            axes: &axes,
            held: &held,
            tasted_means: &tasted_means,
            panels: &panels,
            desirability: &desirability,
            makes: asked.makes,
            wanted: asked.wanted,
            seed: asked.seed,
        })?;
        let best = best(&placed, &tasted_means, &proposal, direction);
        let reference = reference(asked, &placed, &tasted_means, best)?;
        // A flight may have no two waters of one name.
        let is_new =
            |r: &Reference| proposal.picks.iter().all(|pick| pick.target.name != r.target.name);
        let reference = reference.filter(is_new);
        let mut sessions: Vec<String> =
            placed.iter().map(|(t, _)| t.session.1.to_owned()).collect();
        sessions.dedup();
        let known = proposal.known.as_ref();
        let name = |water: usize| newest_name(&placed, &tasted_means, water);
        Ok(Self {
            of: aim.as_ref().map(|aim| aim.of.clone()),
            wanted: aim.as_ref().map(|aim| aim.direction),
            scores: if ranked { "log strength" } else { "mean" },
            sessions,
            axes: axes.iter().map(line_of).collect(),
            held_hardness_mg_per_l_caco3: held_hardness,
            tasted: placed
                .iter()
                .map(|(t, at)| TastedLine {
                    water: t.made.water.clone(),
                    session: t.session.1.to_owned(),
                    at: values(&axes, at),
                    score: t.effect.score,
                    standard_error: t.effect.standard_error,
                })
                .collect(),
            known: known
                .map_or_else(Vec::new, |known| KnownLine::best_first(known, &desirability, name)),
            best: best.and_then(|place| tasted_means.get(place)).map(|one| name(one.water)),
            evidence: known.map(|known| EvidenceLine::new(&known.evidence)),
            parts: known.map(|known| known.parts),
            assumed,
            left_out,
            reason: proposal.reason,
            verdict: proposal.shape.as_ref().map(verdict_of),
            shape: proposal.shape.as_ref().map(|shape| shape_words(shape, &axes)),
            waters: proposal
                .picks
                .iter()
                .map(|pick| NextWater {
                    target: pick.target.name.clone(),
                    at: values(&axes, &pick.at),
                    above_mean: pick.expected.map(|e: Expected| e.above_mean),
                    standard_deviation: pick.expected.map(|e| e.standard_deviation),
                    beats_best: pick.expected.map(|e| e.beats_best),
                })
                .collect(),
            waters_asked: asked.wanted,
            tried: proposal.tried,
            in_reach: proposal.in_reach,
            not_counted: asked.not_counted.to_vec(),
            surface: slice_of(&proposal, &axes),
            targets: proposal
                .picks
                .into_iter()
                .map(|pick| pick.target)
                .chain(reference.as_ref().map(|r| r.target.clone()))
                .collect(),
            reference: reference.as_ref().map(|r| r.target.name.clone()),
            reference_is: reference.as_ref().and_then(|r| r.water).map(name),
            reference_tasted: reference.and_then(|r| r.tasted),
        })
    }
}

fn slice_of(proposal: &Proposal, axes: &[Axis]) -> Option<SurfaceSlice> {
    let value = |axis: usize, at: f64| axes.get(axis).map_or(0.0, |axis| axis.value(at));
    SurfaceSlice::new(&proposal.surface, proposal.levels, &value)
}

/// What was tasted, as numbers; waters and sessions are numbered without gaps, whatever could not be
/// placed.
fn tasted_means(placed: &[(&TastedWater<'_>, Vec<f64>)]) -> (Vec<TastedMean>, Vec<Panel>) {
    let (mut sessions, mut recipes) = (Vec::new(), Vec::new());
    let mut panels = Vec::new();
    let mut tasted_means: Vec<TastedMean> = Vec::new();
    let mut places: Vec<&Vec<f64>> = Vec::new();
    for (t, at) in placed {
        if !sessions.contains(&t.session.0) {
            panels.push(Panel { one_score: t.effect.one_score, degrees: t.effect.degrees });
        }
        let water = number_of(&mut recipes, t.recipe);
        // One recipe is one water, and lies where it was tasted first.
        if water == places.len() {
            places.push(at);
        }
        tasted_means.push(TastedMean {
            session: number_of(&mut sessions, t.session.0),
            water,
            at: places.get(water).copied().unwrap_or(at).clone(),
            score: t.effect.score,
            standard_error: t.effect.standard_error,
        });
    }
    (tasted_means, panels)
}

/// The place of one in a list, behind all others when it is new.
fn number_of(known: &mut Vec<usize>, one: usize) -> usize {
    known.iter().position(|other| *other == one).unwrap_or_else(|| {
        known.push(one);
        known.len() - 1
    })
}

/// The name under which a water was tasted last; after its session, where another water bears it too.
fn newest_name(
    placed: &[(&TastedWater<'_>, Vec<f64>)],
    tasted_means: &[TastedMean],
    water: usize,
) -> String {
    let numbered = || placed.iter().map(|(t, _)| *t).zip(tasted_means);
    let Some((last, _)) = numbered().rev().find(|(_, s)| s.water == water) else {
        return String::new();
    };
    let name = &last.made.water;
    let shared = numbered().any(|(t, s)| s.water != water && t.made.water == *name);
    if shared { last.full_name() } else { name.clone() }
}

/// The best water so far, as it was tasted last, by its place among those tasted: by its own score from
/// all sessions, or where that is not known by its mean in the newest session.
fn best(
    placed: &[(&TastedWater<'_>, Vec<f64>)],
    tasted_means: &[TastedMean],
    proposal: &Proposal,
    direction: Direction,
) -> Option<usize> {
    if let Some(known) = &proposal.known {
        let best = known.best(&|score| direction.desirability(score))?;
        return tasted_means.iter().rposition(|one| one.water == best);
    }
    let newest = tasted_means.iter().map(|one| one.session).max()?;
    let own = tasted_means.iter().enumerate().filter(|(_, one)| one.session == newest);
    let rated = own.map(|(place, one)| (place, direction.desirability(one.score)));
    rated
        .rev()
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(place, _)| place)
        .filter(|p| *p < placed.len())
}

/// The key of what the scores say of the surface.
fn verdict_of(shape: &Shape) -> &'static str {
    match shape {
        Shape::Flat => "flat",
        Shape::Undecided => "undecided",
        Shape::Unclear => "open",
        Shape::Placed(_) => "placed",
    }
}

/// A hardness in its usual unit as a goal.
fn hardness_goal(usual: f64) -> Result<Goal, GoalError> {
    let unit = Measure::Hardness.usual_unit();
    Goal::parse(Measure::Hardness, &format!("{} {}", three_figures(usual), unit.symbol()))
}

fn line_of(axis: &Axis) -> AxisLine {
    AxisLine { name: axis.of.label(), unit: axis.unit.symbol(), low: axis.low, high: axis.high }
}

fn values(axes: &[Axis], at: &[f64]) -> Vec<f64> {
    axes.iter().zip(at).map(|(axis, place)| axis.value(*place)).collect()
}

/// The water tasted before that goes into the flight again: the one named, or the best so far.
fn reference(
    asked: &NextAsked<'_>,
    placed: &[(&TastedWater<'_>, Vec<f64>)],
    tasted_means: &[TastedMean],
    best: Option<usize>,
) -> Result<Option<Reference>, NextError> {
    let numbered = || placed.iter().map(|(t, _)| *t).zip(tasted_means);
    let named = |name: &str| asked.flight.targets.iter().find(|t| t.name == name).cloned();
    // Goals may be met by another water by now; what was tasted is a composition.
    let of_tasted = |(tasted, mean): (&TastedWater<'_>, &TastedMean)| Reference {
        target: pinned(&tasted.made.water, &tasted.water, None, &asked.flight.base),
        water: Some(mean.water),
        tasted: Some((tasted.session.1.to_owned(), tasted.water)),
    };
    match asked.reference {
        Some(name) => {
            // As another session tasted it, which need not have judged this.
            let elsewhere = asked.past.iter().find_map(|session| {
                let full =
                    |made: &&PlannedWaterRecipe| name == format!("{}/{}", session.name, made.water);
                session.made.iter().find(full)
            });
            let is_named = |t: &TastedWater<'_>| t.made.water == name || t.full_name() == name;
            let is_alike = |t: &TastedWater<'_>| elsewhere.is_some_and(|m| m.same_recipe(t.made));
            // Sessions come in the order of time: the last one that had it.
            let mut own: Vec<_> = numbered().rev().filter(|(t, _)| is_named(t)).collect();
            if own.is_empty() {
                own = numbered().rev().filter(|(t, _)| is_alike(t)).collect();
            }
            let planned = elsewhere.map_or(name, |made| made.water.as_str());
            let Some(&(last, mean)) = own.first() else {
                let never =
                    named(planned).map(|target| Reference { target, water: None, tasted: None });
                return never
                    .map(Some)
                    .ok_or_else(|| NextError::Reference { name: name.to_owned() });
            };
            if own.iter().any(|(_, other)| other.water != mean.water) {
                let name = name.to_owned();
                let waters = own.iter().rev().map(|(t, _)| t.full_name()).collect();
                return Err(NextError::SeveralReferences { name, waters });
            }
            Ok(Some(of_tasted((last, mean))))
        }
        None => Ok(best.and_then(|place| numbered().nth(place)).map(of_tasted)),
    }
}
