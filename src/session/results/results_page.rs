//! What a revealed session says: verdicts first, tables behind.

use serde::Serialize;

use crate::session::analysis::recipe_scores::recipe_scores;
use crate::session::analysis::results::paired_strengths;
use crate::session::analysis::{AttributeResults, Results, Verdict};
use crate::session::plan::common_phrases::and_list;
use crate::session::plan::common_phrases::counted;
use crate::session::plan::{Aim, Serving, Verified, each_once};
use crate::session::results::PlannedWaterRecipe;
use crate::session::results::given::{
    GivenRanking, InTheCups, TasterNote, rankings, remarks, show_rankings, show_remarks,
};
use crate::session::results::leading::{Leading, sharing_first_place};
use crate::session::results::order_tests::{OrderTest, order_tests};
use crate::session::results::pairs;
use crate::session::results::pairs::PairNumbers;
use crate::session::results::ranking::{RankingNumbers, StrengthTable};
use crate::session::results::score_numbers::ScoreNumbers;
use crate::session::results::standings::WaterResult;
use crate::session::score::{AfterTurning, Revealed};
use crate::text::Page;

/// The results of a session.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct SessionResults {
    /// The session.
    pub session: String,
    /// The method.
    pub method: &'static str,
    /// Why the reveal was forced, when it was.
    pub forced: Option<String>,
    /// Whether the plan was drawn again from the opened key.
    pub drawn_again: bool,
    /// Answers left out because they came after the reveal.
    pub late: usize,
    /// Answers missing.
    pub missing_answers: usize,
    /// Openings of the key that the procedure does not foresee.
    pub opened_early: Vec<String>,
    /// What was entered in a tasting alone after cups had been turned over, so not blind.
    pub after_turning: Vec<AfterTurning>,
    /// What is wanted; nothing where neither the plan nor a name says it.
    pub wanted: Option<Aim>,
    /// The water that came first by what is wanted; nothing where nothing is wanted, the waters were not
    /// compared, or several share the first place.
    pub leading: Option<Leading>,
    /// The waters that share the first place; empty where one came first alone.
    pub shared_first: Vec<String>,
    /// What may be said.
    pub verdicts: Vec<Verdict>,
    /// Waters, those with most of it first within each criterion.
    pub standings: Vec<WaterResult>,
    /// Tasters who stand apart.
    pub panel: Vec<String>,
    /// Cups or trays that were missing when the reveal was forced, by taster.
    pub missing: Vec<Missing>,
    /// All numbers of scores, by attribute.
    pub scores: Vec<ScoreNumbers>,
    /// All numbers of a ranking.
    pub ranking: Option<RankingNumbers>,
    /// All numbers of tests of two waters.
    pub pairs: Vec<PairNumbers>,
    /// Orders of the waters that were expected before the tasting.
    #[serde(rename = "expected_order")]
    pub expected_orders: Vec<OrderTest>,
    /// Bradley–Terry strengths, where several pairs were compared by one criterion.
    pub bradley_terry: Option<StrengthTable>,
    /// Rankings as they were given.
    pub rankings: Vec<GivenRanking>,
    /// What the tasters said.
    pub remarks: Vec<TasterNote>,
    /// What was in the cups, where the session's waters are at hand.
    pub in_the_cups: Option<InTheCups>,
}

/// What a taster has not answered.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Missing {
    /// The taster.
    pub taster: String,
    /// Cups not fully scored, or trays not answered.
    pub count: usize,
    /// The waters of these cups; empty for trays.
    pub waters: Vec<String>,
}

/// Our choice: with more attributes the table of tasters stands in the JSON only.
const MOST_TASTER_TABLES: usize = 2;

impl SessionResults {
    /// Puts results into words and numbers.
    #[must_use]
    pub fn new(revealed: &Revealed, results: &Results) -> Self {
        let mut page = Self {
            session: revealed.session.clone(),
            method: revealed.method.name(),
            forced: revealed.forced.clone(),
            drawn_again: revealed.verified == Verified::DrawnAgain,
            late: revealed.left_out.late,
            missing_answers: revealed.left_out.missing_answers,
            opened_early: revealed.opened_early.clone(),
            after_turning: revealed.after_turning.clone(),
            wanted: revealed.wanted.clone(),
            missing: missing(revealed),
            expected_orders: order_tests(revealed, results),
            bradley_terry: paired_strengths(revealed)
                .map(|fit| StrengthTable::new(&fit, &revealed.waters)),
            rankings: rankings(revealed),
            remarks: remarks(revealed),
            ..Self::default()
        };
        match results {
            Results::Scores(attributes) => {
                for one in attributes {
                    page.take_scores(one);
                }
            }
            Results::Ranking(ranking) => {
                page.verdicts.push(ranking.verdict.clone());
                let numbers = RankingNumbers::new(ranking, &revealed.waters, &revealed.tasters);
                page.take_ranking(numbers);
            }
            Results::Choices(pairs) => {
                for (pair, verdict) in pairs {
                    let (waters, tasters) = (&revealed.waters, &revealed.tasters);
                    page.verdicts.push(verdict.clone());
                    page.take_pair(PairNumbers::new(&revealed.method, waters, tasters, pair));
                }
            }
        }
        let recipe_scores = recipe_scores(revealed, results);
        let numbers = (page.scores.as_slice(), page.ranking.as_ref());
        let leading = |aim| Leading::of(aim, &page.standings, numbers, &recipe_scores);
        page.leading = page.wanted.as_ref().and_then(leading);
        page.shared_first = sharing_first_place(page.wanted.as_ref(), &recipe_scores);
        page
    }

    /// The results, with what was in the cups.
    #[must_use]
    pub fn with(self, serving: &Serving, waters: Vec<PlannedWaterRecipe>) -> Self {
        let in_the_cups = Some(InTheCups { serving: serving.clone(), waters });
        Self { in_the_cups, ..self }
    }

    fn take_scores(&mut self, one: &AttributeResults) {
        let of = one.table.attribute.clone();
        self.verdicts.push(one.verdict.clone());
        let numbers = ScoreNumbers::new(one);
        let standing = |water: &str, value: f64, interval| WaterResult {
            of: of.clone(),
            water: water.to_owned(),
            value,
            interval,
            kind: "mean",
        };
        let means = numbers.means.iter().map(|m| standing(&m.water, m.mean, Some(m.interval)));
        // Without a model there is the raw mean, and no error to it.
        let plain = numbers.given.raw_means.iter().filter(|_| numbers.means.is_empty());
        self.standings.extend(means.chain(plain.map(|m| standing(&m.water, m.mean, None))));
        for taster in &numbers.tasters {
            let marks = taster.check.marks.iter();
            self.panel.extend(marks.map(|mark| format!("{of}: {} {mark}", taster.taster)));
        }
        self.scores.push(numbers);
    }

    fn take_ranking(&mut self, numbers: RankingNumbers) {
        self.standings.extend(numbers.mean_ranks.iter().map(|(water, value)| WaterResult {
            of: numbers.criterion.clone(),
            water: water.clone(),
            value: *value,
            interval: None,
            kind: "mean_rank",
        }));
        for taster in &numbers.tasters {
            let marks = taster.check.marks.iter();
            self.panel.extend(marks.map(|mark| format!("{} {mark}", taster.taster)));
        }
        self.ranking = Some(numbers);
    }

    fn take_pair(&mut self, numbers: PairNumbers) {
        self.standings.push(WaterResult {
            of: numbers.method.to_owned(),
            water: numbers.name(),
            value: numbers.result.share,
            interval: Some(numbers.result.share_interval),
            kind: if numbers.criterion.is_some() { "first_named" } else { "right" },
        });
        self.pairs.push(numbers);
    }

    /// The results to be read: for each thing asked the answer, then effects with intervals, then
    /// tests; what must be borne in mind once, at the end.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = Page::default();
        self.begin(&mut page);
        if self.pairs.len() > 1 {
            page.say("");
            pairs::draw(&self.pairs, &mut page);
        }
        let tasters_too = self.scores.len() <= MOST_TASTER_TABLES;
        let drawn = self.drawn_first();
        for (at, verdict) in self.verdicts.iter().enumerate() {
            if at == 0 || at == drawn || at == drawn + 1 {
                page.say("");
            } else {
                page.rest(|page| page.say(""));
            }
            page.say(verdict.headline.clone());
            if let Some(scores) = self.scores.get(at) {
                let expected_order = self.expected_words(Some(&scores.attribute));
                if at == drawn {
                    scores.show(&mut page, &expected_order, tasters_too);
                } else {
                    page.rest(|page| scores.show(page, &expected_order, tasters_too));
                }
            } else if let Some(ranking) = &self.ranking {
                ranking.show(&mut page, &self.expected_words(None));
                page.rest(|page| show_rankings(&self.rankings, page));
            } else if let Some(pair) = self.pairs.get(at) {
                if self.pairs.len() == 1 {
                    pairs::draw(&self.pairs, &mut page);
                }
                pair.show(&mut page, self.pairs.len() == 1);
            }
        }
        if let Some(strengths) = &self.bradley_terry {
            page.say("");
            let criterion = self.pairs.iter().find_map(|pair| pair.criterion.as_deref());
            let most = match (criterion, &self.wanted) {
                (Some(of), None) => format!("have the most {of}"),
                _ => "come first".to_owned(),
            };
            page.say(format!(
                "All pairs together: how often each would {most} (Bradley–Terry model)"
            ));
            strengths.draw(&mut page, "first", &|_| String::new());
        }
        self.show_orders_of_nothing_judged(&mut page);
        page.rest(|page| show_remarks(&self.remarks, page));
        if let Some(cups) = &self.in_the_cups {
            page.rest(|page| cups.show(page));
        }
        page.say("");
        for caution in each_once(self.verdicts.iter().flat_map(|verdict| &verdict.cautions)) {
            page.say(format!("* {caution}"));
        }
        page
    }

    /// The place of the verdict that is drawn on the first screen: what is wanted, else the first.
    fn drawn_first(&self) -> usize {
        let wanted = self.wanted.as_ref().map(|aim| aim.of.as_str());
        self.scores.iter().position(|s| Some(s.attribute.as_str()) == wanted).unwrap_or(0)
    }

    /// The orders expected of one attribute, or of all there is.
    fn expected_words(&self, of: Option<&str>) -> Vec<String> {
        let asked = |test: &&OrderTest| of.is_none_or(|of| of == test.of);
        self.expected_orders.iter().filter(asked).map(|t| format!("  {}", t.words())).collect()
    }

    /// Orders expected of nothing that stands above: a mistyped name is not passed over.
    fn show_orders_of_nothing_judged(&self, page: &mut Page) {
        if self.ranking.is_some() {
            return;
        }
        let judged = |of: &str| self.scores.iter().any(|scores| scores.attribute == of);
        let others: Vec<_> = self.expected_orders.iter().filter(|test| !judged(&test.of)).collect();
        if !others.is_empty() {
            page.say("");
        }
        for test in others {
            page.say(test.words());
        }
    }

    fn begin(&self, page: &mut Page) {
        page.say(format!("Results of {}, by {}", self.session, self.method));
        if let Some(aim) = &self.wanted {
            page.say(format!("Wanted: {aim}"));
        }
        if let Some(why) = &self.forced {
            page.say(format!(
                "The reveal was forced with {} missing: {why}",
                counted(self.missing_answers, "answer")
            ));
        }
        for missing in &self.missing {
            let what = if missing.waters.is_empty() { "tray" } else { "cup" };
            let waters = if missing.waters.is_empty() {
                String::new()
            } else {
                format!(" ({})", missing.waters.join(", "))
            };
            page.say(format!(
                "Missing: {}, {}{waters}",
                missing.taster,
                counted(missing.count, what)
            ));
        }
        for why in &self.opened_early {
            page.say(format!("Not blind: the key was opened before the reveal: {why}"));
        }
        for after in &self.after_turning {
            page.say(format!(
                "Not blind, after cups had been turned over (line {}): {}",
                after.line, after.what
            ));
        }
        match self.late {
            0 => {}
            1 => page.say("One late answer is kept and left out"),
            n => page.say(format!("{n} late answers are kept and left out")),
        }
    }
}

/// Whose answers are missing when the reveal was forced.
fn missing(revealed: &Revealed) -> Vec<Missing> {
    let mut found: Vec<Missing> = Vec::new();
    let mut pending = |taster: usize, water: Option<String>| {
        let taster = revealed.tasters.get(taster).cloned().unwrap_or_default();
        let waters = Vec::from_iter(water);
        match found.iter_mut().find(|missing| missing.taster == taster) {
            Some(missing) => {
                missing.count += 1;
                missing.waters.extend(waters);
            }
            None => found.push(Missing { taster, count: 1, waters }),
        }
    };
    let mut cups: Vec<_> = revealed
        .scores
        .iter()
        .filter(|row| row.value.is_none())
        .map(|row| (row.cup.taster, row.cup.tray, row.cup.position, row.cup.water))
        .collect();
    // A cup that lacks several attributes is one cup.
    cups.dedup();
    for (taster, _, _, water) in cups {
        pending(taster, revealed.waters.get(water).cloned());
    }
    for row in revealed.rankings.iter().filter(|row| row.order.is_none()) {
        pending(row.taster, None);
    }
    for row in revealed.choices.iter().filter(|row| row.right.is_none()) {
        pending(row.taster, None);
    }
    found
}

impl SessionResults {
    /// What came first by what is wanted, in a sentence; nothing where nothing is wanted, or the waters
    /// were not compared.
    #[must_use]
    pub fn first_words(&self) -> Option<String> {
        let shared = || {
            let aim = self.wanted.as_ref().filter(|_| !self.shared_first.is_empty())?;
            Some(format!("{} share first place in {}.", and_list(&self.shared_first), aim.of))
        };
        self.leading.as_ref().map(Leading::words).or_else(shared)
    }
}
