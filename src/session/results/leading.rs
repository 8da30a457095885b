//! The water that came first by what is wanted, and those not found to differ from it.

use serde::Serialize;

use crate::session::plan::panel::is_significant;
use crate::session::results::results_page::{SessionResults, WaterResult};

/// The water that came first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Leading {
    /// Attribute or criterion.
    pub of: String,
    /// The water.
    pub water: String,
    /// Waters that it was found to differ from.
    pub differs_from: Vec<String>,
    /// Waters that it was not found to differ from: near ties.
    pub not_found_to_differ_from: Vec<String>,
    /// Waters that it was not tested against.
    pub not_tested_against: Vec<String>,
}

/// Two waters, and what allows for all pairs; nothing where it was not tested.
type Pair<'a> = (&'a str, &'a str, Option<f64>);

impl Leading {
    pub(crate) fn of(results: &SessionResults) -> Option<Self> {
        let of = results.wanted.as_ref()?.of.clone();
        let water = results.first_by_what_is_wanted()?.to_owned();
        let scores = results.scores.iter().find(|scores| scores.attribute == of);
        let differences = scores.into_iter().flat_map(|scores| &scores.differences);
        let ranked = results.ranking.iter().flat_map(|ranking| &ranking.plackett_luce.pairs);
        let pairs: Vec<Pair<'_>> = differences
            .map(|d| (d.higher.as_str(), d.lower.as_str(), d.p))
            .chain(ranked.map(|pair| (pair.higher.as_str(), pair.lower.as_str(), pair.p)))
            .collect();
        let mut leading = Self {
            water,
            differs_from: Vec::new(),
            not_found_to_differ_from: Vec::new(),
            not_tested_against: Vec::new(),
            of,
        };
        let own = results.standings.iter().filter(|standing| standing.of == leading.of);
        for other in own.map(|standing| &standing.water).filter(|w| **w != leading.water) {
            let both = |(a, b, _): &&Pair<'_>| {
                (*a == leading.water && b == other) || (a == other && *b == leading.water)
            };
            let list = match pairs.iter().find(both).and_then(|(_, _, p)| *p) {
                Some(p) if is_significant(p) => &mut leading.differs_from,
                Some(_) => &mut leading.not_found_to_differ_from,
                None => &mut leading.not_tested_against,
            };
            list.push(other.clone());
        }
        Some(leading)
    }

    /// The same in a sentence.
    #[must_use]
    pub fn words(&self) -> String {
        let Self { of, water, differs_from, not_found_to_differ_from, not_tested_against } = self;
        let first = format!("{water} came first in {of}");
        match (
            differs_from.as_slice(),
            not_found_to_differ_from.as_slice(),
            not_tested_against.as_slice(),
        ) {
            ([], [], _) => format!("{first}; it was not tested against the others."),
            ([], near, _) => format!("{first}, but this panel cannot tell it from {}.", list(near)),
            (below, [], []) => format!("{first}, above {}.", list(below)),
            (below, [], open) => {
                format!("{first}, above {}; not tested against {}.", list(below), list(open))
            }
            (below, near, _) => format!(
                "{first}, above {}; this panel cannot tell it from {}.",
                list(below),
                list(near)
            ),
        }
    }
}

impl SessionResults {
    /// The water that came first by what is wanted, whether or not it was found to differ from others;
    /// nothing where nothing is wanted, or no water was judged by itself.
    #[must_use]
    pub fn first_by_what_is_wanted(&self) -> Option<&str> {
        let aim = self.wanted.as_ref()?;
        let own = self.standings.iter().filter(|standing| standing.of == aim.of);
        // A mean rank of 1 is the most, so that less of it is more.
        let how_good = |standing: &&WaterResult| match standing.kind {
            "mean" => Some(aim.direction.desirability(standing.value)),
            "mean_rank" => Some(aim.direction.desirability(-standing.value)),
            _ => None,
        };
        let judged = own.filter_map(|standing| Some((how_good(&standing)?, standing)));
        // Of waters alike the first one of the standings.
        let best = judged.reduce(|best, next| if next.0 > best.0 { next } else { best });
        best.map(|(_, standing)| standing.water.as_str())
    }
}

/// `a, b and c`.
fn list(names: &[String]) -> String {
    match names.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, others)) => format!("{} and {last}", others.join(", ")),
        None => String::new(),
    }
}
