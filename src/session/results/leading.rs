//! The water that came first by what is wanted, and those not found to differ from it.

use serde::Serialize;

use crate::quantities::show::plain;
use crate::session::analysis::recipe_scores::RecipeScore;
use crate::session::plan::common_phrases::and_list;
use crate::session::plan::panel::is_significant;
use crate::session::plan::{Aim, Direction};
use crate::session::results::ranking::RankingNumbers;
use crate::session::results::score_numbers::ScoreNumbers;
use crate::session::results::standings::WaterResult;

/// The water that came first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Leading {
    /// Attribute or criterion.
    pub of: String,
    /// The water.
    pub water: String,
    /// Which way it is wanted.
    #[serde(skip)]
    pub direction: Direction,
    /// Waters that it was found to be better than, the way that it is wanted.
    pub better_than: Vec<String>,
    /// Waters that it was found to differ from, those too that it was not found to be better than.
    pub differs_from: Vec<String>,
    /// Waters that it was not found to differ from: near ties.
    pub not_found_to_differ_from: Vec<String>,
    /// Waters that it was not tested against.
    pub not_tested_against: Vec<String>,
}

/// Two waters, and what allows for all pairs; nothing where it was not tested.
type Pair<'a> = (&'a str, &'a str, Option<f64>);

impl Leading {
    /// `recipe_scores` say what it is better than: the one test of that.
    pub(crate) fn of(
        aim: &Aim,
        standings: &[WaterResult],
        (scores, ranking): (&[ScoreNumbers], Option<&RankingNumbers>),
        recipe_scores: &[RecipeScore],
    ) -> Option<Self> {
        let of = aim.of.clone();
        let [score] = first_places(aim, recipe_scores)[..] else { return None };
        let water = score.water.clone();
        let scores = scores.iter().find(|scores| scores.attribute == of);
        let differences = scores.into_iter().flat_map(|scores| &scores.differences);
        let ranked = ranking.iter().flat_map(|ranking| &ranking.plackett_luce.pairs);
        let pairs: Vec<Pair<'_>> = differences
            .map(|d| (d.higher.as_str(), d.lower.as_str(), d.p))
            .chain(ranked.map(|pair| (pair.higher.as_str(), pair.lower.as_str(), pair.p)))
            .collect();
        let mut leading = Self {
            water,
            direction: aim.direction,
            better_than: score.above.clone(),
            differs_from: Vec::new(),
            not_found_to_differ_from: Vec::new(),
            not_tested_against: Vec::new(),
            of,
        };
        let own = standings.iter().filter(|standing| standing.of == leading.of);
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

    /// Whether it was found to be better than every other water.
    #[must_use]
    pub fn is_above_all(&self) -> bool {
        self.not_found_to_differ_from.is_empty()
            && self.not_tested_against.is_empty()
            && self.differs_from.iter().all(|other| self.better_than.contains(other))
    }

    /// The same in a sentence.
    #[must_use]
    pub fn words(&self) -> String {
        let Self { of, water, better_than, differs_from, .. } = self;
        let first = format!("{water} came first in {of}");
        if differs_from.is_empty() && self.not_found_to_differ_from.is_empty() {
            return format!("{first}; it was not tested against the others.");
        }
        let apart = differs_from.iter().filter(|other| !better_than.contains(*other));
        let apart: Vec<String> = apart.cloned().collect();
        let how = better_words(self.direction);
        let mut open = Vec::new();
        if !apart.is_empty() {
            open.push(format!("it is not shown to be {how} {}", and_list(&apart)));
        }
        if !self.not_found_to_differ_from.is_empty() {
            let near = and_list(&self.not_found_to_differ_from);
            open.push(format!("this panel cannot tell it from {near}"));
        }
        if !self.not_tested_against.is_empty() {
            open.push(format!("not tested against {}", and_list(&self.not_tested_against)));
        }
        let open = open.join("; ");
        match (better_than.as_slice(), open.as_str()) {
            ([], open) => format!("{first}, but {open}."),
            (better, "") => format!("{first}, {how} {}.", and_list(better)),
            (better, open) => format!("{first}, {how} {}; {open}.", and_list(better)),
        }
    }
}

/// How a better water stands to another one.
pub(crate) fn better_words(direction: Direction) -> String {
    match direction {
        Direction::More => "above".to_owned(),
        Direction::Less => "below".to_owned(),
        Direction::Near(wanted) => format!("nearer to {} than", plain(wanted)),
    }
}

/// The waters that no other was before, by what is wanted; none where they were not compared.
fn first_places<'a>(aim: &Aim, recipe_scores: &'a [RecipeScore]) -> Vec<&'a RecipeScore> {
    let own = recipe_scores.iter().filter(|score| score.of == aim.of && score.comparable);
    own.filter(|score| score.place == 1 && score.waters > 1).collect()
}

/// The waters that share the first place by what is wanted; none where one came first alone.
pub(crate) fn sharing_first_place(
    wanted: Option<&Aim>,
    recipe_scores: &[RecipeScore],
) -> Vec<String> {
    let first = wanted.map(|aim| first_places(aim, recipe_scores));
    let shared = first.filter(|first| first.len() > 1).unwrap_or_default();
    shared.into_iter().map(|score| score.water.clone()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_differs_is_not_yet_worse() {
        let leading = |direction, better: &[&str], differs: &[&str]| Leading {
            of: "body".to_owned(),
            water: "a".to_owned(),
            direction,
            better_than: better.iter().map(|w| (*w).to_owned()).collect(),
            differs_from: differs.iter().map(|w| (*w).to_owned()).collect(),
            not_found_to_differ_from: Vec::new(),
            not_tested_against: Vec::new(),
        };
        let near = Direction::Near(5.0);
        assert_eq!(
            leading(near, &[], &["b"]).words(),
            "a came first in body, but it is not shown to be nearer to 5 than b."
        );
        assert_eq!(
            leading(near, &["b"], &["b", "c"]).words(),
            "a came first in body, nearer to 5 than b; it is not shown to be nearer to 5 than c."
        );
        assert_eq!(
            leading(Direction::Less, &["b"], &["b"]).words(),
            "a came first in body, below b."
        );
    }
}
