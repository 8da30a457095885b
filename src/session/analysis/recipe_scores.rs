//! All sessions of a bench together: how each water and each recipe did over time.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use crate::session::plan::Direction;
use crate::session::plan::panel::is_significant;
use crate::session::plan::{Method, each_once};
use crate::session::score::Revealed;

use crate::session::analysis::clear_differences::better_pairs;
use crate::session::analysis::ranked::ROUNDING;
use crate::session::analysis::{AttributeResults, Results};

/// What a value is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A mean score: more is more.
    Mean,
    /// A mean rank: 1 is the most.
    MeanRank,
}

/// A water in one session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecipeScore {
    /// The session.
    pub session: String,
    /// The water.
    pub water: String,
    /// What was judged: an attribute or a criterion.
    pub of: String,
    /// What the value is.
    pub kind: Kind,
    /// Ends of the scale of a score.
    #[serde(skip)]
    pub scale: Option<(f64, f64)>,
    /// Mean score or mean rank.
    pub value: f64,
    /// Interval of a mean score.
    pub interval: Option<(f64, f64)>,
    /// Which way it is wanted; nothing for what is only described.
    pub wanted: Option<Direction>,
    /// Whether its value can be set beside those of the other waters: by a model, or as plain means of
    /// the same tasters.
    pub comparable: bool,
    /// Place among the waters of the session, 1 the best where it is wanted, and else the most; waters of
    /// the same value share it. It says nothing where they are not comparable.
    pub place: usize,
    /// Waters of the session that were judged.
    pub waters: usize,
    /// Those of them that it differs from.
    pub differs_from: Vec<String>,
    /// Those that it is better than; where nothing is wanted, to have less.
    pub above: Vec<String>,
    /// Whether it was wanted, and clearly better than every other water.
    pub won: bool,
    /// Who gave an answer that counts here.
    #[serde(skip)]
    pub tasters: Vec<String>,
}

/// A pair of waters in one session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PairComparison {
    /// The session.
    pub session: String,
    /// The two waters.
    pub pair: (String, String),
    /// The method.
    pub method: String,
    /// More of what, for a paired test.
    pub criterion: Option<String>,
    /// Right answers; for a paired test, choices of the first water.
    pub right: usize,
    /// Answers.
    pub answers: usize,
    /// Distance d′; `None` where no distance is too far.
    pub d_prime: Option<f64>,
    /// Its interval; an open end is `None`.
    pub d_prime_interval: (Option<f64>, Option<f64>),
    /// p allowing for all pairs of the session.
    pub p: f64,
    /// The water that was named as having more, for a paired test that found a difference.
    pub more: Option<String>,
    /// Whether the panel found a difference.
    pub told_apart: bool,
}

/// What a session says of its waters; nothing for tests of two, which speak of pairs. Scores without a
/// model give their means alone, without comparisons.
#[must_use]
pub fn recipe_scores(revealed: &Revealed, results: &Results) -> Vec<RecipeScore> {
    match results {
        Results::Scores(attributes) => {
            attributes.iter().flat_map(|one| of_scores(revealed, one)).collect()
        }
        Results::Ranking(ranking) => {
            let criterion = ranking.criterion.as_str();
            let Some(test) = &ranking.ranks else { return Vec::new() };
            let wanted = revealed.aim_for(criterion).map(|aim| aim.direction);
            let less = wanted == Some(Direction::Less);
            let clear = test.pairs.iter().filter(|p| is_significant(p.p));
            let apart: Vec<(usize, usize)> = clear
                .map(|p| {
                    if (p.difference < 0.0) == less {
                        (p.second, p.first)
                    } else {
                        (p.first, p.second)
                    }
                })
                .collect();
            let ranks: Vec<(usize, f64)> =
                test.mean_ranks.iter().enumerate().filter_map(|(w, r)| Some((w, (*r)?))).collect();
            let answered = revealed.rankings.iter().filter(|row| row.order.is_some());
            let tasters = named_tasters(revealed, answered.map(|row| row.taster));
            // Rank 1 is the most.
            let good = |rank: f64| wanted.unwrap_or(Direction::More).desirability(-rank);
            ranks
                .iter()
                .map(|&(water, rank)| {
                    let before =
                        ranks.iter().filter(|(_, other)| is_above(good(*other), good(rank)));
                    let place = before.count() + 1;
                    let found = entry(revealed, water, criterion, Kind::MeanRank, rank);
                    let tasters = tasters.clone();
                    let found =
                        RecipeScore { wanted, place, waters: ranks.len(), tasters, ..found };
                    compared(found, water, &apart, &apart, &revealed.waters)
                })
                .collect()
        }
        Results::Choices(_) => Vec::new(),
    }
}

fn entry(revealed: &Revealed, water: usize, measure: &str, kind: Kind, value: f64) -> RecipeScore {
    RecipeScore {
        session: revealed.session.clone(),
        water: revealed.waters.get(water).cloned().unwrap_or_default(),
        of: measure.to_owned(),
        kind,
        scale: None,
        value,
        interval: None,
        wanted: None,
        comparable: true,
        place: 0,
        waters: 0,
        differs_from: Vec::new(),
        above: Vec::new(),
        won: false,
        tasters: Vec::new(),
    }
}

/// The tasters who gave these answers, in the order of the session.
fn named_tasters(revealed: &Revealed, answered: impl Iterator<Item = usize>) -> Vec<String> {
    let answered: BTreeSet<usize> = answered.collect();
    answered.into_iter().filter_map(|taster| revealed.tasters.get(taster).cloned()).collect()
}

/// Whether one value is above another by more than the rounding of a fit.
fn is_above(one: f64, other: f64) -> bool {
    one - other > ROUNDING * (1.0 + other.abs())
}

/// Waters with their means and, where an error was seen, their intervals.
type Means = Vec<(usize, f64, Option<(f64, f64)>)>;

/// What the scores of one attribute say of each water.
fn of_scores(revealed: &Revealed, found: &AttributeResults) -> Vec<RecipeScore> {
    let attribute = found.table.attribute.as_str();
    let scale = revealed.method.attributes().iter().find(|s| s.name == attribute);
    let scale = scale.map(|s| (s.low, s.high));
    let wanted = revealed.aim_for(attribute).map(|aim| aim.direction);
    let tasters = named_tasters(revealed, found.table.rows.iter().map(|row| row.taster));
    let comparable = found.model.is_ok() || found.table.raw_means_compare();
    let way = wanted.unwrap_or(Direction::More);
    let (means, apart, better): (Means, Vec<_>, Vec<_>) = match &found.model {
        Ok(model) => (
            model.means.iter().map(|m| (m.water, m.mean, Some(m.interval))).collect(),
            better_pairs(model, Direction::More, found.tested.share()),
            better_pairs(model, way, found.tested.share()),
        ),
        Err(_) => (
            found.table.raw_means().into_iter().map(|(water, mean)| (water, mean, None)).collect(),
            Vec::new(),
            Vec::new(),
        ),
    };
    means
        .iter()
        .map(|&(water, value, interval)| {
            let good = |mean: f64| way.desirability(mean);
            let before = means.iter().filter(|m| is_above(good(m.1), good(value)));
            let (place, waters) = (before.count() + 1, means.len());
            let found = RecipeScore {
                scale,
                interval,
                wanted,
                comparable,
                place,
                waters,
                tasters: tasters.clone(),
                ..entry(revealed, water, attribute, Kind::Mean, value)
            };
            compared(found, water, &apart, &better, &revealed.waters)
        })
        .collect()
}

/// Fills in what a water differs from, and what it was better than; both are pairs with the
/// higher, or better, water first.
fn compared(
    entry: RecipeScore,
    water: usize,
    apart: &[(usize, usize)],
    better: &[(usize, usize)],
    waters: &[String],
) -> RecipeScore {
    let name = |water: usize| waters.get(water).cloned().unwrap_or_default();
    let others = apart.iter().filter_map(|&(high, low)| match water {
        w if w == high => Some(low),
        w if w == low => Some(high),
        _ => None,
    });
    let below = better.iter().filter(|(first, _)| *first == water).map(|(_, second)| *second);
    let above: Vec<String> = below.map(name).collect();
    let won = entry.wanted.is_some() && entry.waters > 1 && above.len() == entry.waters - 1;
    RecipeScore { differs_from: others.map(name).collect(), won, above, ..entry }
}

/// What a session of tests of two waters says of its pairs; nothing for other methods.
#[must_use]
pub fn pair_comparisons(revealed: &Revealed, results: &Results) -> Vec<PairComparison> {
    let Results::Choices(pairs) = results else { return Vec::new() };
    let name = |water: usize| revealed.waters.get(water).cloned().unwrap_or_default();
    let of = |pair: &crate::session::analysis::PairResult, apart: bool| {
        let result = &pair.result;
        let (criterion, more) = match &revealed.method {
            Method::Paired { criterion, .. } => {
                let first = 2 * result.right > result.answers;
                let more = name(if first { pair.pair.0 } else { pair.pair.1 });
                (Some(criterion.clone()), apart.then_some(more))
            }
            _ => (None, None),
        };
        PairComparison {
            session: revealed.session.clone(),
            pair: (name(pair.pair.0), name(pair.pair.1)),
            method: revealed.method.name().to_owned(),
            criterion,
            right: result.right,
            answers: result.answers,
            d_prime: result.d_prime,
            d_prime_interval: result.d_prime_interval,
            p: pair.p,
            more,
            told_apart: apart,
        }
    };
    pairs.iter().map(|(pair, verdict)| of(pair, !verdict.cannot_tell)).collect()
}

/// The waters that no session has tasted, in the order given.
#[must_use]
pub fn never_tasted(waters: &[String], tasted: &[String]) -> Vec<String> {
    each_once(waters.iter().filter(|water| !tasted.contains(water)).cloned())
}
