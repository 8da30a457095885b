//! The next flight: candidates that the shelf can make, chosen by what the scores say so far.

use nalgebra::DMatrix;
use statrs::distribution::{ContinuousCDF, Normal};
use thiserror::Error;

use crate::chance::count;
use crate::chemistry::Composition;
use crate::next_flight::axis::{Axis, wished};
use crate::next_flight::choose::{d_optimal, far_apart, improving};
use crate::next_flight::shape::{Shape, shape};
use crate::next_flight::surface::{Seen, Surface, SurfaceError, tasted_places};
use crate::planner::{Plan, PlanError, plan_flight};
use crate::quantities::uncertain::COVERAGE;
use crate::shelf::Stock;
use crate::waters::goal_text::GoalError;
use crate::waters::{Flight, Target, design};

/// What a next flight is asked for.
#[derive(Debug)]
pub struct Asked<'a> {
    /// The flight whose base waters and conventions are kept.
    pub flight: &'a Flight,
    /// The stocks to make it with.
    pub stocks: &'a [Stock],
    /// The region.
    pub axes: &'a [Axis],
    /// What was scored.
    pub seen: &'a [Seen],
    /// How many waters.
    pub wanted: usize,
    /// Seed of the draws.
    pub seed: u64,
}

/// Why these waters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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
    /// The fitted surface.
    pub surface: Option<Surface>,
    /// The waters.
    pub picks: Vec<Pick>,
    /// Candidates tried, and those in reach of the shelf.
    pub tried: usize,
    /// Candidates in reach of the shelf.
    pub in_reach: usize,
}

/// One proposed water.
#[derive(Debug, Clone)]
pub struct Pick {
    /// Its goals.
    pub target: Target,
    /// What it holds as the shelf makes it.
    pub water: Composition,
    /// Where that lies on the axes, 0 to 1.
    pub at: Vec<f64>,
    /// What is expected of it; nothing without a surface.
    pub expected: Option<Expected>,
}

/// What a surface says of a water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// Score above the mean of the waters tasted.
    pub above_mean: f64,
    /// Its standard deviation.
    pub standard_deviation: f64,
    /// Chance that it is better than every water tasted.
    pub beats_best: f64,
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
    #[error("the waters do not differ in anything that a next one could be placed by")]
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

/// Surfaces drawn: our choice; a chance is then known to 1.5 %.
const DRAWS: usize = 1000;

/// Proposes the next flight.
///
/// # Errors
/// When the region has no axis or too many, nothing in it is in reach, or the scores are no numbers.
pub fn propose(asked: &Asked<'_>) -> Result<Proposal, ProposeError> {
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
    let places: Vec<Vec<f64>> = candidates.iter().map(|c| c.at.clone()).collect();
    let tasted = tasted_places(asked.seen);
    let (surface, seen_shape, chosen) = match Surface::fit(asked.seen) {
        Err(SurfaceError::TooFew { .. }) => {
            (None, None, (Reason::Spread, far_apart(&tasted, &places, asked.wanted)))
        }
        Err(other) => return Err(other.into()),
        Ok(surface) => {
            let points = [tasted.clone(), places.clone()].concat();
            let draws = surface.draws(&points, DRAWS, asked.seed)?;
            let found = shape(&surface, &draws, tasted.len(), &places);
            for (n, candidate) in candidates.iter_mut().enumerate() {
                candidate.expected =
                    Some(expected(&draws, tasted.len(), tasted.len() + n, surface.scales().misfit));
            }
            let mut picks = Vec::new();
            if matches!(found, Shape::Placed(_)) {
                let (open, _) = may_be_best(&candidates, &places, &[]);
                let rows = (0..tasted.len()).chain(open.iter().map(|c| tasted.len() + c));
                let hopeful = draws.select_rows(&rows.collect::<Vec<_>>());
                let gains = improving(&hopeful, tasted.len(), asked.wanted);
                let least = WORTH_A_CUP * gains.first().map_or(0.0, |(_, gain)| *gain);
                let worth_it = gains.into_iter().filter(|(_, gain)| *gain > least);
                picks = worth_it.filter_map(|(place, _)| open.get(place).copied()).collect();
            }
            let reason = if picks.is_empty() { Reason::Learn } else { Reason::Improve };
            let known: Vec<Vec<f64>> =
                tasted.iter().chain(picks.iter().filter_map(|p| places.get(*p))).cloned().collect();
            let (open, at) = may_be_best(&candidates, &places, &picks);
            let more = d_optimal(&known, &at, asked.wanted.saturating_sub(picks.len()));
            picks.extend(more.into_iter().filter_map(|place| open.get(place).copied()));
            let chosen = (reason, picks);
            (Some(surface), Some(found), chosen)
        }
    };
    let (reason, places) = chosen;
    let picks = places.iter().filter_map(|place| candidates.get(*place).cloned()).collect();
    Ok(Proposal { reason, shape: seen_shape, surface, picks, tried, in_reach })
}

/// The candidates not yet picked that may still be as good as the best expected, with their places:
/// nobody needs to taste what is surely worse.
fn may_be_best(
    candidates: &[Pick],
    places: &[Vec<f64>],
    picked: &[usize],
) -> (Vec<usize>, Vec<Vec<f64>>) {
    let expected = |pick: &Pick| pick.expected.map(|e| (e.above_mean, e.standard_deviation));
    let best = candidates.iter().filter_map(expected).map(|(mean, _)| mean);
    let best = best.fold(f64::NEG_INFINITY, f64::max);
    let is_open = |(at, pick): &(usize, &Pick)| {
        let hoped = expected(pick).is_none_or(|(mean, sd)| mean + COVERAGE * sd >= best);
        hoped && !picked.contains(at)
    };
    let open: Vec<usize> =
        candidates.iter().enumerate().filter(is_open).map(|(at, _)| at).collect();
    let at = open.iter().filter_map(|place| places.get(*place).cloned()).collect();
    (open, at)
}

/// The waters of a grid that the shelf reaches, as it makes them.
fn candidates(asked: &Asked<'_>, grid: &[Vec<f64>]) -> Result<Vec<Pick>, ProposeError> {
    let targets =
        grid.iter().map(|point| wished(asked.axes, point)).collect::<Result<Vec<_>, _>>()?;
    let flight = Flight { targets, ..asked.flight.clone() };
    let plans = plan_flight(&flight, asked.stocks)?;
    let reached = flight.targets.into_iter().zip(plans).filter(|(_, plan)| Plan::reached(plan));
    let placed = reached.filter_map(|(target, plan)| {
        let at = asked.axes.iter().map(|axis| axis.place(&plan.water)).collect::<Option<_>>()?;
        Some(Pick { target, water: plan.water, at, expected: None })
    });
    Ok(placed.collect())
}

/// What drawn surfaces say of one row, the first `tasted` rows being the waters tasted. A new water
/// has something of its own as well, which no surface knows.
fn expected(draws: &DMatrix<f64>, tasted: usize, row: usize, misfit: f64) -> Expected {
    /// The golden section: its multiples fill the unit interval evenly in any order.
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let normal = Normal::standard();
    let [drawn, known] = [draws.ncols(), tasted].map(|n| count(n.max(1)));
    let (mut sum, mut squares, mut better) = (0.0, 0.0, 0.0);
    for (n, surface) in draws.column_iter().enumerate() {
        let own = misfit * normal.inverse_cdf((GOLDEN * (count(n) + 1.0)).fract());
        let value = surface.get(row).copied().unwrap_or_default() + own;
        let so_far = || surface.iter().take(tasted);
        let above = value - so_far().sum::<f64>() / known;
        sum += above;
        squares += above * above;
        if so_far().all(|best| value > *best) {
            better += 1.0;
        }
    }
    let mean = sum / drawn;
    Expected {
        above_mean: mean,
        standard_deviation: (squares / drawn - mean * mean).max(0.0).sqrt(),
        beats_best: better / drawn,
    }
}
