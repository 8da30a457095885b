//! The journal of a bench: what won, how each recipe did over time, what was never tasted.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use crate::session::analysis::over_time::{OverTime, over_time};
use crate::session::analysis::recipe_scores::{
    PairComparison, RecipeScore, never_tasted, pair_comparisons, recipe_scores,
};
use crate::session::analysis::{ModelChoice, Results, Verdict, analyse};
use crate::session::plan::Direction;
use crate::session::plan::wanted::attributes_of;
use crate::session::score::Revealed;

use crate::session::results::{PastSession, PlannedWaterRecipe, WorkedOut};

/// A recipe: a water by what it was made of, whatever its name.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Recipe {
    /// From 1, in the order of first tasting.
    pub number: usize,
    /// The name of its first tasting, distinguished from others of that name by its number.
    pub name: String,
    /// All names under which it was tasted.
    pub waters: Vec<String>,
    /// What it is made of, as first tasted.
    pub made: PlannedWaterRecipe,
    /// Sessions in which it was tasted.
    pub sessions: usize,
    /// Sessions and wanted measures in which it was clearly better than every other water.
    pub wins: usize,
    /// How it did over time, by measure.
    pub over_time: Vec<OverTime>,
}

/// What a session said of a water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ServedWater {
    /// Number of its recipe.
    pub recipe: usize,
    /// The day of the session.
    pub day: String,
    /// Its score or rank.
    #[serde(flatten)]
    pub score: RecipeScore,
    /// Whether it differs from any other water of the session.
    pub told_apart: bool,
}

/// What a session said of a pair of waters.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ComparedPair {
    /// Numbers of their recipes.
    pub recipes: (usize, usize),
    /// The day of the session.
    pub day: String,
    /// The comparison.
    #[serde(flatten)]
    pub comparison: PairComparison,
    /// Which way its criterion is wanted.
    pub wanted: Option<Direction>,
}

/// All sessions of a bench.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Journal {
    /// Headlines of all sessions: session and answer.
    pub verdicts: Vec<(String, String)>,
    /// What sessions could not say, and why: session and reason.
    pub unsaid: Vec<(String, String)>,
    /// Whether anything that was judged by more and less is wanted; without it nothing wins.
    pub anything_wanted: bool,
    /// What is judged by more and less and not said to be wanted.
    pub not_wanted: Vec<String>,
    /// Every water in every session that judged single waters.
    pub served: Vec<ServedWater>,
    /// Every pair in every session that compared two.
    pub pairs: Vec<ComparedPair>,
    /// The recipes.
    pub recipes: Vec<Recipe>,
    /// Sessions not revealed yet.
    pub not_revealed: Vec<String>,
    /// Waters of the bench's flights that no revealed session tasted.
    pub never_tasted: Vec<String>,
    /// Revealed sessions, in the order of time: name and day.
    pub sessions: Vec<(String, String)>,
}

impl Journal {
    /// The journal of these sessions, in the order of time; `wanted` are the waters of the bench's
    /// flights. With `of` it holds what was judged by that alone; recipes keep their numbers.
    #[must_use]
    pub fn new(
        past: &[PastSession],
        wanted: &[String],
        worked_out: &WorkedOut,
        of: Option<&str>,
    ) -> Self {
        let mut journal = Self::default();
        // By recipe, in the order of their numbers.
        let mut entries: Vec<Vec<RecipeScore>> = Vec::new();
        let mut drunk: BTreeSet<String> = BTreeSet::new();
        for session in past {
            let Some(revealed) = &session.revealed else {
                journal.not_revealed.push(session.name.clone());
                continue;
            };
            let summary = worked_out.answer(revealed, "journal 3", || SessionSummary::of(revealed));
            drunk.extend(journal.take((session, of), revealed, summary, &mut entries));
        }
        for (recipe, own) in journal.recipes.iter_mut().zip(&entries) {
            recipe.wins = own.iter().filter(|entry| entry.won).count();
            recipe.over_time = over_time(own);
        }
        if of.is_some() {
            journal.recipes.retain(|recipe| recipe.sessions > 0);
        }
        journal.never_tasted = never_tasted(wanted, &drunk.into_iter().collect::<Vec<_>>());
        journal
    }

    /// Takes in a revealed session with what it says; gives the names of the waters that were tasted in it.
    fn take(
        &mut self,
        (session, of): (&PastSession, Option<&str>),
        revealed: &Revealed,
        summary: SessionSummary,
        entries: &mut Vec<Vec<RecipeScore>>,
    ) -> Vec<String> {
        let judged = attributes_of(&revealed.method);
        let counts = of.is_none_or(|of| judged.contains(&of));
        let is_asked = |one: &str| of.is_none_or(|of| of == one);
        let SessionSummary { verdicts, unsaid, scores, pairs } = summary;
        let day = session.day().to_owned();
        if counts {
            self.sessions.push((session.name.clone(), day.clone()));
        }
        for of in judged.into_iter().filter(|one| is_asked(one)) {
            if revealed.aim_for(of).is_some() {
                self.anything_wanted = true;
            } else if !self.not_wanted.iter().any(|known| known == of) {
                self.not_wanted.push(of.to_owned());
            }
        }
        let said = |list: Vec<Said>| {
            let own = list
                .into_iter()
                .filter(|said| said.of.iter().any(|one| is_asked(one)) || of.is_none());
            own.map(|said| (session.name.clone(), said.words)).collect::<Vec<_>>()
        };
        self.verdicts.extend(said(verdicts));
        self.unsaid.extend(said(unsaid));
        // Whether or not anything can be said of it: who got an answer was tasted.
        let drunk = answered(revealed);
        let mut recipes: BTreeMap<String, usize> = BTreeMap::new();
        let mut recipe_of = |journal: &mut Self, water: &str| {
            *recipes.entry(water.to_owned()).or_insert_with(|| journal.recipe(session, water))
        };
        let met: Vec<usize> = drunk.iter().map(|water| recipe_of(self, water)).collect();
        for SummarisedScore { score, scale, tasters } in scores {
            if !is_asked(&score.of) {
                continue;
            }
            let recipe = recipe_of(self, &score.water);
            let score = RecipeScore { scale, tasters, ..score };
            self.served.push(ServedWater {
                recipe,
                day: day.clone(),
                told_apart: !score.differs_from.is_empty(),
                score: score.clone(),
            });
            entries.resize_with(entries.len().max(recipe), Vec::new);
            if let Some(own) = entries.get_mut(recipe - 1) {
                own.push(score);
            }
        }
        let is_asked = |pair: &PairComparison| counts && pair.answers > 0;
        for pair in pairs.into_iter().filter(is_asked) {
            let recipes = (recipe_of(self, &pair.pair.0), recipe_of(self, &pair.pair.1));
            let wanted = pair.criterion.as_deref().and_then(|of| revealed.aim_for(of));
            self.pairs.push(ComparedPair {
                recipes,
                day: day.clone(),
                wanted: wanted.map(|aim| aim.direction),
                comparison: pair,
            });
        }
        let met = |recipe: &&mut Recipe| counts && met.contains(&recipe.number);
        for recipe in self.recipes.iter_mut().filter(met) {
            recipe.sessions += 1;
        }
        drunk
    }

    /// The number of the recipe of a session's water, a new one where it is not known yet.
    fn recipe(&mut self, session: &PastSession, water: &str) -> usize {
        let blank =
            || PlannedWaterRecipe { water: water.to_owned(), ..PlannedWaterRecipe::default() };
        let made =
            session.made.iter().find(|made| made.water == water).cloned().unwrap_or_else(blank);
        if let Some(known) = self.recipes.iter_mut().find(|r| r.made.same_recipe(&made)) {
            if !known.waters.iter().any(|name| name == water) {
                known.waters.push(water.to_owned());
            }
            return known.number;
        }
        let number = self.recipes.len() + 1;
        let taken = self.recipes.iter().any(|recipe| recipe.name == water);
        let name = if taken { format!("{water} (recipe {number})") } else { water.to_owned() };
        let waters = vec![water.to_owned()];
        self.recipes.push(Recipe {
            number,
            name,
            waters,
            made,
            sessions: 0,
            wins: 0,
            over_time: Vec::new(),
        });
        number
    }
}

/// What a session says by itself, whatever was tasted before it and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct SessionSummary {
    verdicts: Vec<Said>,
    unsaid: Vec<Said>,
    scores: Vec<SummarisedScore>,
    pairs: Vec<PairComparison>,
}

/// Words, and the attributes or the criterion that they are about; none for tests of two that ask for no
/// more and less.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Said {
    of: Vec<String>,
    words: String,
}

/// The score of a water, with what its JSON leaves out beside it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct SummarisedScore {
    score: RecipeScore,
    scale: Option<(f64, f64)>,
    tasters: Vec<String>,
}

impl SessionSummary {
    fn of(revealed: &Revealed) -> Self {
        let found = analyse(revealed, ModelChoice::default());
        Self {
            verdicts: headlines(revealed, &found),
            unsaid: unsaid(revealed, &found),
            scores: recipe_scores(revealed, &found).into_iter().map(SummarisedScore::of).collect(),
            pairs: pair_comparisons(revealed, &found),
        }
    }
}

impl SummarisedScore {
    fn of(mut score: RecipeScore) -> Self {
        let (scale, tasters) = (score.scale.take(), std::mem::take(&mut score.tasters));
        Self { score, scale, tasters }
    }
}

/// The waters of a session of which anyone gave an answer, in the order of the session.
fn answered(revealed: &Revealed) -> Vec<String> {
    let mut tasted: Vec<usize> = Vec::new();
    let scored = revealed.scores.iter().filter(|row| row.value.is_some());
    tasted.extend(scored.map(|row| row.cup.water));
    for order in revealed.rankings.iter().filter_map(|row| row.order.as_ref()) {
        tasted.extend(order.iter().map(|cup| cup.water));
    }
    for row in revealed.choices.iter().filter(|row| row.right.is_some()) {
        tasted.extend([row.pair.0, row.pair.1]);
    }
    let waters = revealed.waters.iter().enumerate();
    waters.filter(|(water, _)| tasted.contains(water)).map(|(_, name)| name.clone()).collect()
}

/// The headlines of a session.
fn headlines(revealed: &Revealed, found: &Results) -> Vec<Said> {
    let said = |of: Vec<String>, verdict: &Verdict| Said { of, words: verdict.headline.clone() };
    match found {
        Results::Scores(attributes) => attributes
            .iter()
            .map(|one| said(vec![one.table.attribute.clone()], &one.verdict))
            .collect(),
        Results::Ranking(ranking) => vec![said(judged(revealed), &ranking.verdict)],
        Results::Choices(pairs) => {
            pairs.iter().map(|(_, verdict)| said(judged(revealed), verdict)).collect()
        }
    }
}

/// What a session judged.
fn judged(revealed: &Revealed) -> Vec<String> {
    attributes_of(&revealed.method).into_iter().map(str::to_owned).collect()
}

/// What a session cannot test, and why; attributes of one reason together.
fn unsaid(revealed: &Revealed, found: &Results) -> Vec<Said> {
    match found {
        Results::Scores(attributes) => {
            let mut reasons: Vec<(String, Vec<String>)> = Vec::new();
            for (name, why) in attributes
                .iter()
                .filter_map(|a| Some((a.table.attribute.clone(), a.model.as_ref().err()?)))
            {
                let why = why.to_string();
                match reasons.iter_mut().find(|(known, _)| *known == why) {
                    Some((_, names)) => names.push(name),
                    None => reasons.push((why, vec![name])),
                }
            }
            let words = |(why, of): (String, Vec<String>)| {
                let words = Verdict::untested(&of.join(", "), &why).headline;
                Said { of, words }
            };
            reasons.into_iter().map(words).collect()
        }
        Results::Ranking(ranking) if ranking.ranks.is_none() => {
            vec![Said { of: judged(revealed), words: "nothing was ranked".to_owned() }]
        }
        Results::Ranking(_) => Vec::new(),
        Results::Choices(pairs) => {
            let silent = pairs.iter().filter(|(pair, _)| pair.result.answers == 0);
            let words = |verdict: &Verdict| verdict.headline.clone();
            silent.map(|(_, v)| Said { of: judged(revealed), words: words(v) }).collect()
        }
    }
}
