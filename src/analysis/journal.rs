//! All sessions of a bench together: how each water and each recipe did over time.

use super::results::Results;

/// A water in one session.
#[derive(Debug, Clone, PartialEq)]
pub struct Tasted {
    /// The session.
    pub session: String,
    /// When it was revealed, as the log states it.
    pub at: String,
    /// The water.
    pub water: String,
    /// What it was made by, when the caller knows: waters of one recipe are followed together.
    pub recipe: Option<String>,
    /// What was judged: an attribute, a criterion or a test.
    pub measure: String,
    /// Mean score, mean rank, or share of tasters who could tell it from its pair.
    pub value: Option<f64>,
    /// Interval of a mean score.
    pub interval: Option<(f64, f64)>,
    /// Place among the waters of the session, 1 the best; none for a test of two.
    pub place: Option<usize>,
    /// Waters of the session.
    pub of: usize,
    /// Whether it was clearly above every other water.
    pub won: bool,
    /// Whether the panel could not tell.
    pub cannot_tell: bool,
}

/// What a session says of its waters.
#[must_use]
pub fn tasted(session: &str, at: &str, waters: &[String], results: &Results) -> Vec<Tasted> {
    let blank = |water: usize, measure: &str, cannot_tell: bool| Tasted {
        session: session.to_owned(),
        at: at.to_owned(),
        water: waters.get(water).cloned().unwrap_or_default(),
        recipe: None,
        measure: measure.to_owned(),
        value: None,
        interval: None,
        place: None,
        of: waters.len(),
        won: false,
        cannot_tell,
    };
    match results {
        Results::Scores(attributes) => attributes
            .iter()
            .filter_map(|a| Some((a, a.model.as_ref().ok()?)))
            .flat_map(|(a, model)| {
                let cannot_tell = a.verdict.as_ref().is_none_or(|v| v.cannot_tell);
                model.means.iter().map(move |mean| {
                    let above = model.means.iter().filter(|m| m.mean > mean.mean).count();
                    let beats = |other: usize| {
                        model.differences.iter().any(|d| {
                            (d.first == mean.water && d.second == other && d.interval.0 > 0.0)
                                || (d.second == mean.water
                                    && d.first == other
                                    && d.interval.1 < 0.0)
                        })
                    };
                    let others = model.means.iter().filter(|m| m.water != mean.water);
                    Tasted {
                        value: Some(mean.mean),
                        interval: Some(mean.interval),
                        place: Some(above + 1),
                        won: model.means.len() > 1 && others.map(|m| m.water).all(beats),
                        ..blank(mean.water, &a.table.attribute, cannot_tell)
                    }
                })
            })
            .collect(),
        Results::Ranking(ranking) => {
            let cannot_tell = ranking.verdict.as_ref().is_none_or(|v| v.cannot_tell);
            let Some(test) = &ranking.ranks else { return Vec::new() };
            let ranks = &test.mean_ranks;
            ranks
                .iter()
                .enumerate()
                .filter_map(|(water, rank)| Some((water, (*rank)?)))
                .map(|(water, rank)| {
                    let above = ranks.iter().flatten().filter(|r| **r < rank).count();
                    let clear = |p: &super::ranks::RankPair| {
                        let lower = if p.first == water { p.difference } else { -p.difference };
                        p.p < crate::tasting::panel::USUAL_ALPHA && lower < 0.0
                    };
                    let own =
                        || test.pairs.iter().filter(|p| p.first == water || p.second == water);
                    Tasted {
                        value: Some(rank),
                        place: Some(above + 1),
                        won: own().next().is_some() && own().all(clear),
                        ..blank(water, "rank", cannot_tell)
                    }
                })
                .collect()
        }
        Results::Choices(pairs) => pairs
            .iter()
            .flat_map(|(pair, verdict)| {
                [pair.pair.0, pair.pair.1].map(|water| Tasted {
                    value: Some(pair.result.tellers.0),
                    of: 2,
                    ..blank(water, "share who can tell", verdict.cannot_tell)
                })
            })
            .collect(),
    }
}

/// Entries of one water or recipe, in the order of time.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// The water or recipe.
    pub name: String,
    /// Sessions it was in.
    pub sessions: usize,
    /// Sessions and measures in which it was clearly above every other water.
    pub wins: usize,
    /// Its entries.
    pub entries: Vec<Tasted>,
}

/// Everything by water, in the order of first tasting.
#[must_use]
pub fn by_water(entries: &[Tasted]) -> Vec<Course> {
    courses(entries, |entry| Some(entry.water.as_str()))
}

/// Everything by recipe; entries without one are left out.
#[must_use]
pub fn by_recipe(entries: &[Tasted]) -> Vec<Course> {
    courses(entries, |entry| entry.recipe.as_deref())
}

/// The waters that no session has tasted, in the order given.
#[must_use]
pub fn never_tasted(waters: &[String], entries: &[Tasted]) -> Vec<String> {
    waters.iter().filter(|w| !entries.iter().any(|e| e.water == **w)).cloned().collect()
}

fn courses(entries: &[Tasted], name: impl Fn(&Tasted) -> Option<&str>) -> Vec<Course> {
    let mut sorted: Vec<&Tasted> = entries.iter().collect();
    sorted.sort_by(|a, b| a.at.cmp(&b.at));
    let mut courses: Vec<Course> = Vec::new();
    for entry in sorted {
        let Some(name) = name(entry) else { continue };
        let place = courses.iter().position(|course| course.name == name).unwrap_or_else(|| {
            courses.push(Course {
                name: name.to_owned(),
                sessions: 0,
                wins: 0,
                entries: Vec::new(),
            });
            courses.len() - 1
        });
        if let Some(course) = courses.get_mut(place) {
            course.sessions +=
                usize::from(!course.entries.iter().any(|e| e.session == entry.session));
            course.wins += usize::from(entry.won);
            course.entries.push(entry.clone());
        }
    }
    courses
}
