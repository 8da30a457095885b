//! The next flight: candidates that the shelf can make, chosen by what the scores say so far.

use serde::Serialize;
use thiserror::Error;

use crate::flight::GoalError;
use crate::flight::{Flight, Goal, Target, design};
use crate::next_flight::Axis;
use crate::next_flight::Evidence;
use crate::next_flight::axis::target_at;
use crate::next_flight::observations::Observations;
use crate::next_flight::posterior_values::PosteriorValues;
use crate::next_flight::{Panel, SurfaceError, TastedMean};
use crate::next_flight::{Posterior, VarianceParts, WaterEstimate, best_of};
use crate::next_flight::{Shape, shape};
use crate::next_flight::{d_optimal, far_apart, improving};
use crate::planner::{Plan, PlanError, plan_flight};
use crate::quantities::uncertain::COVERAGE;
use crate::stock::Stock;

pub use crate::next_flight::Expected;

/// What a next flight is asked for.
pub struct NextRequest<'a> {
    /// The flight whose base waters and conventions are kept.
    pub flight: &'a Flight,
    /// The stocks to make it with.
    pub stocks: &'a [Stock],
    /// The region.
    pub axes: &'a [Axis],
    /// What every water holds whatever its place.
    pub held: &'a [Goal],
    /// What was scored.
    pub tasted_means: &'a [TastedMean],
    /// How scores scattered, for each session.
    pub panels: &'a [Panel],
    /// How good a score is: of two scores the better one has more.
    pub desirability: &'a dyn Fn(f64) -> f64,
    /// Which of some targets can be made as the flight is poured, and not only in doses of any size.
    pub makes: &'a dyn Fn(&[Target]) -> Vec<bool>,
    /// How many waters.
    pub wanted: usize,
    /// Seed of the draws.
    pub seed: u64,
}

/// Why these waters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Reason {
    /// Nothing or too little was scored: spread through the region.
    Spread,
    /// The shape of the surface is open: where it is least known, of what may still be the best.
    Learn,
    /// They promise most above the best so far; those that promise little are chosen as to learn.
    Improve,
}

/// A next flight.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// Why these.
    pub reason: Reason,
    /// What the surface looks like; nothing when there is none yet.
    pub shape: Option<Shape>,
    /// What the scores say of the waters tasted; nothing where they are too few.
    pub known: Option<Estimates>,
    /// The waters.
    pub picks: Vec<ProposedWater>,
    /// Candidates tried, and those in reach of the shelf.
    pub tried: usize,
    /// Candidates in reach of the shelf.
    pub in_reach: usize,
    /// Every candidate in reach with what is expected of it; empty without a surface.
    pub surface: Vec<(Vec<f64>, Expected)>,
    /// Levels of each axis that were tried.
    pub levels: u32,
}

/// What the scores say of the waters tasted.
#[derive(Debug, Clone)]
pub struct Estimates {
    /// How strong the evidence for a slope is.
    pub evidence: Evidence,
    /// What the differences between waters consist of.
    pub parts: VarianceParts,
    /// The waters tasted, in the order of their numbers.
    pub waters: Vec<KnownWater>,
}

/// What the scores say of one water tasted.
#[derive(Debug, Clone, Copy)]
pub struct KnownWater {
    /// Its own score.
    pub own: WaterEstimate,
    /// Probability that it is the best of the waters tasted.
    pub best: f64,
}

impl Estimates {
    /// Number of the best water so far.
    #[must_use]
    pub fn best(&self, desirability: &dyn Fn(f64) -> f64) -> Option<usize> {
        best_of(&self.waters.iter().map(|water| water.own).collect::<Vec<_>>(), desirability)
    }
}

/// One proposed water.
#[derive(Debug, Clone)]
pub struct ProposedWater {
    /// Its goals.
    pub target: Target,
    /// Where that lies on the axes, 0 to 1.
    pub at: Vec<f64>,
    /// What is expected of it; nothing without a surface.
    pub expected: Option<Expected>,
}

/// Why there is no next flight.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ProposeError {
    /// No candidate is in reach.
    #[error("none of {tried} waters of this region is in reach of the stocks")]
    OutOfReach {
        /// Candidates tried.
        tried: usize,
    },
    /// No axis.
    #[error("the waters hardly differ in anything that a next one could be placed by")]
    NoAxis,
    /// More axes than candidates can fill.
    #[error("{found} axes are more than can be searched; take at most {MOST_AXES}")]
    TooManyAxes {
        /// Axes asked for.
        found: usize,
    },
    /// An axis that no goal can state.
    #[error(transparent)]
    Goal(#[from] GoalError),
    /// The planner failed.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// The scores make no surface.
    #[error(transparent)]
    Surface(#[from] SurfaceError),
}

/// Levels of each axis in the grid of candidates, by the number of axes: our choice, up to some 1000
/// waters.
const LEVELS: [u32; MOST_AXES] = [41, 21, 10, 5];

/// Most axes.
pub const MOST_AXES: usize = 4;

/// Least gain of a pick, as a part of the first one's: our choice. What promises less is chosen for
/// what it tells.
const WORTH_A_CUP: f64 = 0.05;

/// Proposes the next flight.
///
/// # Errors
/// When the region has no axis or too many, nothing in it is in reach, or the scores are no numbers.
pub fn propose(asked: &NextRequest<'_>) -> Result<Proposal, ProposeError> {
    let levels = match asked.axes.len() {
        0 => return Err(ProposeError::NoAxis),
        found => LEVELS.get(found - 1).ok_or(ProposeError::TooManyAxes { found })?,
    };
    let grid = design::grid(&vec![*levels; asked.axes.len()]);
    let tried = grid.len();
    let mut candidates = candidates(asked, &grid)?;
    if candidates.is_empty() {
        return Err(ProposeError::OutOfReach { tried });
    }
    let in_reach = candidates.len();
    let tasted = Observations::new(asked.tasted_means).at();
    let known = match Posterior::new(asked.tasted_means, asked.panels) {
        Err(SurfaceError::TooFew { .. }) => None,
        Err(other) => return Err(other.into()),
        Ok(posterior) => Some(posterior),
    };
    let Some(posterior) = known else {
        let (reason, chosen) = picked_to_be_made(asked, &candidates, |rejected| {
            let open: Vec<usize> =
                (0..candidates.len()).filter(|n| !rejected.contains(n)).collect();
            let at: Vec<Vec<f64>> =
                open.iter().filter_map(|n| Some(candidates.get(*n)?.at.clone())).collect();
            let chosen = far_apart(&tasted, &at, asked.wanted);
            let chosen = chosen.into_iter().filter_map(|place| open.get(place).copied());
            (Reason::Spread, chosen.collect())
        });
        let picks = chosen.iter().filter_map(|place| candidates.get(*place).cloned()).collect();
        let (shape, known) = (None, None);
        let (surface, levels) = (Vec::new(), *levels);
        return Ok(Proposal { reason, shape, known, picks, tried, in_reach, surface, levels });
    };
    let at = places_of(&candidates);
    let drawn = posterior.draw(&at, asked.seed)?;
    let values = PosteriorValues::of(&drawn, asked.desirability);
    let found = shape(posterior.evidence(), &values.following(), &at);
    for (n, candidate) in candidates.iter_mut().enumerate() {
        candidate.expected = Some(values.expected(n));
    }
    let (reason, chosen) = picked_to_be_made(asked, &candidates, |rejected| {
        choose(&found, &values, (&candidates, rejected), &tasted, asked.wanted)
    });
    let own = posterior.own().into_iter().zip(values.probabilities_of_best());
    let waters = own.map(|(own, best)| KnownWater { own, best }).collect();
    let known = Estimates { evidence: *posterior.evidence(), parts: posterior.parts(), waters };
    let picks = chosen.iter().filter_map(|place| candidates.get(*place).cloned()).collect();
    let expected = candidates.into_iter().filter_map(|c| Some((c.at, c.expected?)));
    let (shape, known) = (Some(found), Some(known));
    let (surface, levels) = (expected.collect(), *levels);
    Ok(Proposal { reason, shape, known, picks, tried, in_reach, surface, levels })
}

/// Picks among the candidates, and anew without those that cannot be made as the flight is poured: it is
/// checked of what is proposed and not of every candidate.
fn picked_to_be_made(
    asked: &NextRequest<'_>,
    candidates: &[ProposedWater],
    pick: impl Fn(&[usize]) -> (Reason, Vec<usize>),
) -> (Reason, Vec<usize>) {
    /// Our choice: where so many rounds found too few waters, the steps are too coarse for the region.
    const MOST_ROUNDS: usize = 12;
    let mut rejected: Vec<usize> = Vec::new();
    let (mut reason, mut best) = pick(&rejected);
    let (mut most, mut picks) = (None, best.clone());
    for _ in 0..MOST_ROUNDS {
        let targets = picks.iter().filter_map(|n| Some(candidates.get(*n)?.target.clone()));
        let made = (asked.makes)(&targets.collect::<Vec<_>>());
        let (kept, failed): (Vec<_>, Vec<_>) =
            picks.iter().copied().zip(made).partition(|(_, made)| *made);
        let kept: Vec<usize> = kept.into_iter().map(|(n, _)| n).collect();
        if !kept.is_empty() && most.is_none_or(|most| kept.len() > most) {
            (most, best) = (Some(kept.len()), kept);
        }
        rejected.extend(failed.iter().map(|(n, _)| *n));
        if failed.is_empty() {
            break;
        }
        (reason, picks) = pick(&rejected);
    }
    (reason, best)
}

fn places_of(candidates: &[ProposedWater]) -> Vec<Vec<f64>> {
    candidates.iter().map(|candidate| candidate.at.clone()).collect()
}

/// Picks candidates: what promises most, once the best is placed, and then what tells most.
fn choose(
    found: &Shape,
    values: &PosteriorValues<'_>,
    (candidates, rejected): (&[ProposedWater], &[usize]),
    tasted: &[Vec<f64>],
    wanted: usize,
) -> (Reason, Vec<usize>) {
    let places = places_of(candidates);
    let mut picks = Vec::new();
    if matches!(found, Shape::Placed(_)) {
        let (open, _) = may_be_best(candidates, &places, rejected);
        let gains = improving(&values.with(&open), values.tasted.nrows(), wanted);
        let least = WORTH_A_CUP * gains.first().map_or(0.0, |(_, gain)| *gain);
        let worth_it = gains.into_iter().filter(|(_, gain)| *gain > least);
        picks = worth_it.filter_map(|(place, _)| open.get(place).copied()).collect();
    }
    let reason = if picks.is_empty() { Reason::Learn } else { Reason::Improve };
    let known: Vec<Vec<f64>> =
        tasted.iter().chain(picks.iter().filter_map(|p| places.get(*p))).cloned().collect();
    let closed = [rejected, &picks].concat();
    let (open, at) = may_be_best(candidates, &places, &closed);
    let more = d_optimal(&known, &at, wanted.saturating_sub(picks.len()));
    picks.extend(more.into_iter().filter_map(|place| open.get(place).copied()));
    (reason, picks)
}

/// The candidates not yet picked that may still be as good as the best expected, with their places:
/// nobody needs to taste what is surely worse.
fn may_be_best(
    candidates: &[ProposedWater],
    places: &[Vec<f64>],
    picked: &[usize],
) -> (Vec<usize>, Vec<Vec<f64>>) {
    let expected = |pick: &ProposedWater| pick.expected.map(|e| e.desirability);
    let best = candidates.iter().filter_map(expected).map(|(mean, _)| mean);
    let best = best.fold(f64::NEG_INFINITY, f64::max);
    let is_open = |(at, pick): &(usize, &ProposedWater)| {
        let hoped = expected(pick).is_none_or(|(mean, sd)| mean + COVERAGE * sd >= best);
        hoped && !picked.contains(at)
    };
    let open: Vec<usize> =
        candidates.iter().enumerate().filter(is_open).map(|(at, _)| at).collect();
    let at = open.iter().filter_map(|place| places.get(*place).cloned()).collect();
    (open, at)
}

/// The waters of a grid that the shelf reaches, as it makes them.
fn candidates(
    asked: &NextRequest<'_>,
    grid: &[Vec<f64>],
) -> Result<Vec<ProposedWater>, ProposeError> {
    let target = |point: &Vec<f64>| -> Result<Target, GoalError> {
        let mut target = target_at(asked.axes, point)?;
        target.goals.extend_from_slice(asked.held);
        Ok(target)
    };
    let targets = grid.iter().map(target).collect::<Result<Vec<_>, _>>()?;
    let flight = Flight { targets, ..asked.flight.clone() };
    let plans = plan_flight(&flight, asked.stocks)?;
    let reached = flight.targets.into_iter().zip(plans).filter(|(_, plan)| Plan::reached(plan));
    let placed = reached.filter_map(|(target, plan)| {
        let at = asked.axes.iter().map(|axis| axis.place(&plan.water)).collect::<Option<_>>()?;
        Some(ProposedWater { target, at, expected: None })
    });
    Ok(placed.collect())
}
