//! All results of a revealed session, ready to be shown.

use std::collections::BTreeSet;

use crate::numerics::{StudentizedRanges, count};
use crate::session::plan::ChoiceTest;
use crate::session::plan::Method;
use crate::session::plan::panel::USUAL_ALPHA;
use crate::session::plan::ranking_blocks::ranking_blocks;
use crate::session::score::Revealed;

use crate::session::analysis::PairResult;
use crate::session::analysis::RankTest;
use crate::session::analysis::RankerCheck;
use crate::session::analysis::ScoreTable;
use crate::session::analysis::Tested;
use crate::session::analysis::anova::classical_test;
use crate::session::analysis::design::{ExtraTerm, TermStatus, Wanted};
use crate::session::analysis::discrimination::pair_results;
use crate::session::analysis::divided;
use crate::session::analysis::mixed::{TermTest, fit};
use crate::session::analysis::ranked::{ranked_scores, ranked_trays};
use crate::session::analysis::ranking_agreement::ranker_checks;
use crate::session::analysis::ranks::rank_test;
use crate::session::analysis::repeatability::panel_check;
use crate::session::analysis::strength_parameters::strengths;
use crate::session::analysis::test_family::adjust_family;
use crate::session::analysis::{AttributeResults, TermCheck};
use crate::session::analysis::{Choice, StrengthError, StrengthFit};
use crate::session::analysis::{MixedFit, ModelChoice};
use crate::session::analysis::{Verdict, verdict};

/// The results of a ranking.
#[derive(Debug, Clone, PartialEq)]
pub struct RankingResults {
    /// Most of what.
    pub criterion: String,
    /// Friedman's test, or its generalisation; `None` when nothing was ranked.
    pub ranks: Option<RankTest>,
    /// Strengths, or why there are none. A taster's trays that share waters share one vote, since a
    /// taster's repeats are no further tasters.
    pub strengths: Result<StrengthFit, StrengthError>,
    /// The tasters.
    pub panel: Vec<RankerCheck>,
    /// Trays that were not ranked.
    pub pending: usize,
    /// What may be said.
    pub verdict: Verdict,
}

/// The results of a session.
#[derive(Debug, Clone, PartialEq)]
pub enum Results {
    /// By attribute.
    Scores(Vec<AttributeResults>),
    /// Of the ranking.
    Ranking(Box<RankingResults>),
    /// By pair, each with what may be said.
    Choices(Vec<(PairResult, Verdict)>),
}

/// Analyses a revealed session as its plan has it; `choice` is what holds where a plan says nothing.
#[must_use]
pub fn analyse(revealed: &Revealed, choice: ModelChoice) -> Results {
    if let Some(test) = ChoiceTest::of(&revealed.method, USUAL_ALPHA) {
        let tasters = revealed.tasters.len();
        let pairs = pair_results(&revealed.choices, test, tasters);
        let judged = pairs.into_iter().map(|pair| {
            let verdict = verdict::on_choice(&revealed.method, &revealed.waters, &pair, tasters);
            (pair, verdict)
        });
        return Results::Choices(judged.collect());
    }
    if let Method::Ranking { criterion } = &revealed.method {
        return Results::Ranking(Box::new(ranking_results(revealed, criterion)));
    }
    let choice = ModelChoice::planned(&revealed.analysis, choice);
    let primary = revealed.analysis.primary.as_deref();
    Results::Scores(family_results(ScoreTable::of(revealed), choice, primary))
}

/// Analyses the scores of several attributes as one family; `primary` is the one named beforehand.
#[must_use]
pub fn family_results(
    tables: Vec<ScoreTable>,
    choice: ModelChoice,
    primary: Option<&str>,
) -> Vec<AttributeResults> {
    let mut ranges = StudentizedRanges::default();
    let mut found: Vec<AttributeResults> =
        tables.into_iter().map(|table| one_attribute(table, choice, &mut ranges)).collect();
    adjust_family(&mut found, primary, &mut ranges);
    for one in &mut found {
        let attribute = &one.table.attribute;
        one.verdict = match &one.model {
            Ok(model) => {
                let waters = &one.table.waters;
                verdict::on_scores(attribute, waters, model, one.tested, primary)
                    .with_first(divided::on_scores(&one.table, model))
            }
            Err(why) => Verdict::untested(attribute, &why.to_string()),
        };
    }
    found
}

fn one_attribute(
    table: ScoreTable,
    choice: ModelChoice,
    ranges: &mut StudentizedRanges,
) -> AttributeResults {
    let model = fit(&table, choice, ranges);
    AttributeResults {
        ranks: rank_test(&ranked_scores(&table), table.waters.len()),
        panel: panel_check(&table),
        terms: model.as_ref().map(|model| terms(&table, model, choice, ranges)).unwrap_or_default(),
        tested: Tested::Alone,
        classical: classical_test(&table),
        verdict: Verdict::default(),
        model,
        table,
    }
}

/// Places and waters before, as the model has them; what it leaves out is looked at beside it.
fn terms(
    table: &ScoreTable,
    model: &MixedFit,
    choice: ModelChoice,
    ranges: &mut StudentizedRanges,
) -> Vec<TermCheck> {
    let too = |wanted| if wanted == Wanted::No { Wanted::IfCarried } else { wanted };
    let with =
        ModelChoice { order: too(choice.order), carry_over: too(choice.carry_over), ..choice };
    let beside = if with == choice { None } else { fit(table, with, ranges).ok() };
    let wanted = |term| match term {
        ExtraTerm::Order => choice.order,
        ExtraTerm::CarryOver => choice.carry_over,
    };
    let corrected = |term: &TermTest| matches!(term.status, TermStatus::In(_));
    let looked_at = beside.iter().flat_map(|fit| &fit.terms);
    let looked_at = looked_at.filter(|term| wanted(term.term) == Wanted::No);
    let own = model.terms.iter().filter(|term| wanted(term.term) != Wanted::No);
    own.chain(looked_at)
        .map(|term| TermCheck {
            corrected: wanted(term.term) != Wanted::No && corrected(term),
            p: term.test.map(|test| test.p),
            test: term.clone(),
        })
        .collect()
}

fn ranking_results(revealed: &Revealed, criterion: &str) -> RankingResults {
    let waters = revealed.waters.len();
    let ranks = rank_test(&ranked_trays(&revealed.rankings), waters);
    // A hidden duplicate would beat or lose to itself: the first cup of each water stands for it.
    let given: Vec<(usize, Vec<usize>)> = revealed
        .rankings
        .iter()
        .filter_map(|row| Some((row.taster, row.order.as_ref()?)))
        .map(|(taster, order)| {
            (taster, order.iter().filter(|cup| cup.copy == 1).map(|cup| cup.water).collect())
        })
        .collect();
    let choices: Vec<Choice> = ranking_blocks(&given)
        .iter()
        .flat_map(|block| {
            let times = 1.0 / count(block.trays.len());
            let orders = block.trays.iter().filter_map(|tray| given.get(*tray));
            orders.map(move |(_, order)| Choice { order: order.clone(), times })
        })
        .collect();
    let strengths = strengths(&choices);
    let tasters: BTreeSet<usize> = given.iter().map(|(taster, _)| *taster).collect();
    let verdict = match &ranks {
        Some(test) => {
            let strengths = strengths.as_ref().ok();
            let waters = &revealed.waters;
            verdict::on_ranks(criterion, waters, test, strengths, tasters.len())
                .with_first(divided::on_ranks(waters, test, &given, revealed.tasters.len()))
        }
        None => Verdict::untested(criterion, "nothing was ranked"),
    };
    RankingResults {
        criterion: criterion.to_owned(),
        panel: ranker_checks(&revealed.rankings, waters, revealed.tasters.len()),
        pending: revealed.rankings.len() - given.len(),
        ranks,
        strengths,
        verdict,
    }
}

/// Strengths of the waters of a paired session (Bradley & Terry), where more than one pair was compared;
/// a taster's answers about a pair share one vote.
#[must_use]
pub fn paired_strengths(revealed: &Revealed) -> Option<Result<StrengthFit, StrengthError>> {
    let Method::Paired { .. } = revealed.method else { return None };
    let given: Vec<(usize, (usize, usize), bool)> = revealed
        .choices
        .iter()
        .filter_map(|row| Some((row.taster, row.pair, row.right?)))
        .collect();
    let choices: Vec<Choice> = given
        .iter()
        .map(|&(taster, pair, first)| {
            let own = given.iter().filter(|(t, p, _)| *t == taster && *p == pair).count();
            let order = if first { vec![pair.0, pair.1] } else { vec![pair.1, pair.0] };
            Choice { order, times: 1.0 / count(own) }
        })
        .collect();
    let several = given.iter().any(|(_, pair, _)| given.first().is_some_and(|f| f.1 != *pair));
    several.then(|| strengths(&choices))
}
