//! All sessions of a bench together: how each water and each recipe did over time.

use serde::Serialize;

use crate::scores::reveal::Revealed;
use crate::tasting::method::Method;
use crate::tasting::panel::is_seen;

use super::results::Results;

/// What a value is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A mean score: more is more.
    Mean,
    /// A mean rank: 1 is the most.
    MeanRank,
}

/// A water in one session.
#[derive(Debug, Clone, PartialEq)]
pub struct Tasted {
    /// The session.
    pub session: String,
    /// The water.
    pub water: String,
    /// What it was made by, when the caller knows: waters of one recipe are followed together.
    pub recipe: Option<String>,
    /// What was judged: an attribute or a criterion.
    pub measure: String,
    /// What the value is.
    pub kind: Kind,
    /// Ends of the scale of a score.
    pub scale: Option<(f64, f64)>,
    /// Mean score or mean rank.
    pub value: f64,
    /// Interval of a mean score.
    pub interval: Option<(f64, f64)>,
    /// Place among the waters of the session, 1 the most.
    pub place: usize,
    /// Waters of the session that were judged.
    pub of: usize,
    /// Those of them that it was told apart from.
    pub told_from: Vec<String>,
    /// Whether it was clearly above every other water.
    pub won: bool,
    /// Who tasted.
    pub tasters: Vec<String>,
}

/// A pair of waters in one session.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// The session.
    pub session: String,
    /// The two waters.
    pub pair: (String, String),
    /// The method.
    pub method: &'static str,
    /// More of what, for a paired test.
    pub criterion: Option<String>,
    /// Right answers; for a paired test, choices of the first water.
    pub right: usize,
    /// Answers.
    pub answers: usize,
    /// Distance d′; `None` where no distance is too far.
    pub distance: Option<f64>,
    /// Its interval; an open end is `None`.
    pub interval: (Option<f64>, Option<f64>),
    /// p allowing for all pairs of the session.
    pub p: f64,
    /// The water that was named as having more, for a paired test that told them apart.
    pub more: Option<String>,
    /// Whether the panel told them apart.
    pub apart: bool,
}

/// What a session says of its waters; nothing for tests of two, which speak of pairs.
#[must_use]
pub fn tasted(revealed: &Revealed, results: &Results) -> Vec<Tasted> {
    let name = |water: usize| revealed.waters.get(water).cloned().unwrap_or_default();
    let entry = |water: usize, measure: &str, kind: Kind, value: f64| Tasted {
        session: revealed.session.clone(),
        water: name(water),
        recipe: None,
        measure: measure.to_owned(),
        kind,
        scale: None,
        value,
        interval: None,
        place: 0,
        of: 0,
        told_from: Vec::new(),
        won: false,
        tasters: revealed.tasters.clone(),
    };
    let mut all = Vec::new();
    match results {
        Results::Scores(attributes) => {
            for (a, model) in attributes.iter().filter_map(|a| Some((a, a.model.as_ref().ok()?))) {
                let scales = revealed.method.attributes().iter();
                let scale =
                    scales.filter(|s| s.name == a.table.attribute).map(|s| (s.low, s.high)).next();
                let apart = model.differences.iter().filter(|d| is_seen(d.p));
                let apart: Vec<(usize, usize)> =
                    apart
                        .map(|d| {
                            if d.estimate > 0.0 { (d.first, d.second) } else { (d.second, d.first) }
                        })
                        .collect();
                let means: Vec<(usize, f64)> =
                    model.means.iter().map(|m| (m.water, m.mean)).collect();
                for mean in &model.means {
                    let above = means.iter().filter(|(_, other)| *other > mean.mean).count();
                    let mut found = entry(mean.water, &a.table.attribute, Kind::Mean, mean.mean);
                    (found.scale, found.interval) = (scale, Some(mean.interval));
                    (found.place, found.of) = (above + 1, means.len());
                    stand(&mut found, mean.water, &apart, name);
                    all.push(found);
                }
            }
        }
        Results::Ranking(ranking) => {
            let criterion = match &revealed.method {
                Method::Ranking { criterion } => criterion.as_str(),
                other => other.name(),
            };
            let Some(test) = &ranking.ranks else { return all };
            let apart = test.pairs.iter().filter(|p| is_seen(p.p));
            let apart: Vec<(usize, usize)> = apart
                .map(|p| if p.difference < 0.0 { (p.first, p.second) } else { (p.second, p.first) })
                .collect();
            let ranks: Vec<(usize, f64)> =
                test.mean_ranks.iter().enumerate().filter_map(|(w, r)| Some((w, (*r)?))).collect();
            for &(water, rank) in &ranks {
                let above = ranks.iter().filter(|(_, other)| *other < rank).count();
                let mut found = entry(water, criterion, Kind::MeanRank, rank);
                (found.place, found.of) = (above + 1, ranks.len());
                stand(&mut found, water, &apart, name);
                all.push(found);
            }
        }
        Results::Choices(_) => {}
    }
    all
}

/// Fills in what a water was told apart from; `apart` are pairs of a higher and a lower water.
fn stand(
    entry: &mut Tasted,
    water: usize,
    apart: &[(usize, usize)],
    name: impl Fn(usize) -> String,
) {
    let others = apart.iter().filter_map(|&(high, low)| match water {
        w if w == high => Some(low),
        w if w == low => Some(high),
        _ => None,
    });
    entry.told_from = others.map(name).collect();
    let below = apart.iter().filter(|(high, _)| *high == water).count();
    entry.won = entry.of > 1 && below == entry.of - 1;
}

/// What a session of tests of two waters says of its pairs; nothing for other methods.
#[must_use]
pub fn told(revealed: &Revealed, results: &Results) -> Vec<Told> {
    let Results::Choices(pairs) = results else { return Vec::new() };
    let name = |water: usize| revealed.waters.get(water).cloned().unwrap_or_default();
    let of = |pair: &super::PairResult, apart: bool| {
        let result = &pair.result;
        let (criterion, more) = match &revealed.method {
            Method::Paired { criterion, .. } => {
                let first = 2 * result.right > result.answers;
                let more = name(if first { pair.pair.0 } else { pair.pair.1 });
                (Some(criterion.clone()), apart.then_some(more))
            }
            _ => (None, None),
        };
        Told {
            session: revealed.session.clone(),
            pair: (name(pair.pair.0), name(pair.pair.1)),
            method: revealed.method.name(),
            criterion,
            right: result.right,
            answers: result.answers,
            distance: result.distance,
            interval: result.distance_interval,
            p: pair.p,
            more,
            apart,
        }
    };
    pairs.iter().map(|(pair, verdict)| of(pair, !verdict.cannot_tell)).collect()
}

/// The waters that no session has tasted, in the order given.
#[must_use]
pub fn never_tasted(waters: &[String], tasted: &[String]) -> Vec<String> {
    let mut never: Vec<String> = Vec::new();
    for water in waters.iter().filter(|water| !tasted.contains(water)) {
        if !never.contains(water) {
            never.push(water.clone());
        }
    }
    never
}
