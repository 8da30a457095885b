//! What may be said, in plain words: effects with intervals first, and what the panel cannot tell.

use serde::Serialize;

use crate::quantities::show::{decimals_for, fixed, plain, three_figures};
use crate::session::plan::common_phrases::and_list;
use crate::session::plan::panel::{USUAL_ALPHA, is_significant};
use crate::session::plan::{Method, Sides};

use crate::session::analysis::MixedFit;
use crate::session::analysis::Multiplicity;
use crate::session::analysis::RankTest;
use crate::session::analysis::StrengthFit;
use crate::session::analysis::Tested;
use crate::session::analysis::design::{ExtraTerm, LeftOutBecause, TermStatus};
use crate::session::analysis::ranked::ROUNDING;
use crate::session::analysis::ranks::RankPair;
use crate::session::analysis::{Discrimination, PairResult};

/// Tasters below which nothing is said about people in general (common practice).
const FEW_TASTERS: usize = 9;

/// What may be said.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Verdict {
    /// The answer in one sentence.
    pub headline: String,
    /// Whether no difference is claimed: this panel cannot tell, or it was not asked.
    pub cannot_tell: bool,
    /// Effects with their intervals.
    pub findings: Vec<String>,
    /// What must be borne in mind.
    pub cautions: Vec<String>,
}

/// A number as it is shown: three digits are more than a panel can support.
fn shown(value: f64) -> String {
    three_figures(value)
}

/// Our choice: smaller p-values are not distinguished in words.
const LEAST_SHOWN: f64 = 0.0001;

/// A p-value in words.
#[must_use]
pub fn p_words(p: f64) -> String {
    if p < LEAST_SHOWN {
        format!("p < {LEAST_SHOWN}")
    } else {
        format!("p = {}", fixed(p, decimals_for(p, 2, 4)))
    }
}

impl Verdict {
    /// The same with more to bear in mind before the rest.
    pub(crate) fn with_first(mut self, cautions: Vec<String>) -> Self {
        self.cautions.splice(0..0, cautions);
        self
    }

    /// Where nothing can be tested, and why.
    #[must_use]
    pub fn untested(of: &str, why: &str) -> Self {
        let headline = format!("{of}: nothing can be tested, {why}");
        Self { headline, cannot_tell: true, ..Self::default() }
    }
}

fn name(waters: &[String], water: usize) -> &str {
    waters.get(water).map_or("?", String::as_str)
}

/// Verdict on the scores of one attribute. Only the pairs of waters decide, so that one attribute is
/// one test; `primary` is the attribute that was named beforehand.
#[must_use]
pub fn on_scores(
    attribute: &str,
    waters: &[String],
    fit: &MixedFit,
    tested: Tested,
    primary: Option<&str>,
) -> Verdict {
    let mut means: Vec<_> = fit.means.iter().collect();
    means.sort_by(|a, b| b.mean.total_cmp(&a.mean));
    let mut findings: Vec<String> = means
        .iter()
        .map(|m| {
            let (low, high) = (shown(m.interval.0), shown(m.interval.1));
            format!("{}: {} ({low} to {high})", name(waters, m.water), shown(m.mean))
        })
        .collect();
    let clear: Vec<_> = fit.differences.iter().filter(|d| is_significant(d.p)).collect();
    for d in &clear {
        let (first, second) = (name(waters, d.first), name(waters, d.second));
        let (low, high) = (shown(d.interval.0), shown(d.interval.1));
        findings.push(format!(
            "{first} less {second}: {} ({low} to {high}), {}",
            shown(d.estimate),
            p_words(d.p)
        ));
    }
    // The far end of an interval, and not its half width: what was found is no more than its middle.
    let ends = fit.differences.iter().flat_map(|d| [d.interval.0.abs(), d.interval.1.abs()]);
    let farthest = ends.fold(0.0_f64, f64::max);
    let headline = if tested == Tested::Described {
        format!(
            "{attribute}: described, not tested, since {} was named beforehand",
            primary.unwrap_or("another")
        )
    } else if !clear.is_empty() && fit.differences.len() == 1 {
        format!("{attribute}: the two waters differ")
    } else if !clear.is_empty() {
        format!("{attribute}: {} of {} pairs of waters differ", clear.len(), fit.differences.len())
    } else {
        format!(
            "{attribute}: this panel cannot tell the waters apart; differences up to about {} may be there unseen",
            shown(farthest)
        )
    };
    Verdict {
        headline,
        cannot_tell: clear.is_empty(),
        findings,
        cautions: score_cautions(attribute, fit, tested),
    }
}

fn score_cautions(attribute: &str, fit: &MixedFit, tested: Tested) -> Vec<String> {
    let mut cautions = Vec::new();
    if let Tested::Together { attributes, .. } = tested {
        cautions.push(format!(
            "{attributes} attributes are tested together: p-values and intervals of pairs allow for it, so \
             that of the attributes said to differ at most {} % are false on average (Benjamini & \
             Hochberg)",
            plain(100.0 * USUAL_ALPHA)
        ));
    }
    if fit.one_taster {
        cautions
            .push("all scores are one taster's: the result holds for that taster only".to_owned());
    } else if fit.variances.taster_by_water.is_none() {
        cautions.push(
            "no cup was repeated, so taster × water and the error of a cup are confounded"
                .to_owned(),
        );
    }
    if fit.exact_repeats {
        cautions.push(
            "repeated cups got the same scores throughout: all residual error lies between tasters"
                .to_owned(),
        );
    }
    if fit.missing > 0 {
        cautions.push(format!(
            "{attribute}: scores missing: {}; they are allowed for, not filled in",
            fit.missing
        ));
    }
    if fit.multiplicity == Multiplicity::Holm {
        cautions.push(
            "pairs are not equally precise: p-values are Holm's, intervals Bonferroni's".to_owned(),
        );
    }
    for term in &fit.terms {
        if term.status == TermStatus::Out(LeftOutBecause::NotSeparable) {
            let what = match term.term {
                ExtraTerm::Order => "the place on the tray",
                ExtraTerm::CarryOver => "the water tasted before",
            };
            cautions.push(format!(
                "{what} is confounded with the waters in these orders: the means are not corrected \
                 for it"
            ));
        }
    }
    cautions.push(brew_caution());
    cautions
}

fn brew_caution() -> String {
    "one bottle or one brew of each water was tasted: repeats are of the cup, not of the making"
        .to_owned()
}

/// Verdict on rankings by so many tasters. Trays that share no water are blocks each, so that one taster
/// may have given several.
#[must_use]
pub fn on_ranks(
    criterion: &str,
    waters: &[String],
    test: &RankTest,
    strengths: Option<&StrengthFit>,
    tasters: usize,
) -> Verdict {
    let mut order: Vec<(usize, f64)> =
        test.mean_ranks.iter().enumerate().filter_map(|(w, r)| Some((w, (*r)?))).collect();
    order.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mut findings: Vec<String> = order
        .iter()
        .map(|(water, rank)| format!("{}: mean rank {}", name(waters, *water), shown(*rank)))
        .collect();
    let clear: Vec<_> = test.pairs.iter().filter(|pair| is_significant(pair.p)).collect();
    for pair in &clear {
        let (better, worse) = if pair.difference < 0.0 {
            (pair.first, pair.second)
        } else {
            (pair.second, pair.first)
        };
        findings.push(format!(
            "{} ranks above {}, {}",
            name(waters, better),
            name(waters, worse),
            p_words(pair.p)
        ));
    }
    if let Some(w) = test.agreement {
        findings.push(format!("agreement of the tasters W = {} (0 none, 1 perfect)", shown(w)));
    }
    let p = test.p();
    let headline = if test.blocks < 2 {
        format!("{criterion}: one taster ranked the waters, so that nothing can be tested")
    } else if !is_significant(p) {
        format!("{criterion}: this panel cannot tell the waters apart ({})", p_words(p))
    } else if clear.is_empty() {
        format!(
            "{criterion}: the waters rank differently ({}), but this panel cannot tell which pairs",
            p_words(p)
        )
    } else {
        format!("{criterion}: the waters rank differently; {}", first_words(waters, &order, &clear))
    };
    let mut cautions = Vec::new();
    if test.p_exact.is_none() {
        cautions.push(
            "p of all waters together is from χ², which is rough for small panels".to_owned(),
        );
    }
    if test.blocks < 2 {
        cautions.push("one taster's ranking shows no more than that taster's taste".to_owned());
    } else if tasters < 2 {
        cautions
            .push("all trays are one taster's: the result holds for that taster only".to_owned());
    }
    if let Some(strengths) = strengths.filter(|w| w.penalised && test.blocks > 1) {
        let top: Vec<&str> = strengths.never_beaten.iter().map(|w| name(waters, *w)).collect();
        cautions.push(format!(
            "{} always won against the rest: such a strength has no upper limit; the strengths shown \
             are drawn together by half a win and half a loss for each water",
            top.join(" and ")
        ));
    }
    cautions.push(brew_caution());
    Verdict { headline, cannot_tell: !is_significant(p), findings, cautions }
}

/// What the water with the best mean rank differs from.
fn first_words(waters: &[String], order: &[(usize, f64)], clear: &[&RankPair]) -> String {
    let Some((best, rank)) = order.first() else { return String::new() };
    let tied = order.iter().filter(|(_, other)| (other - rank).abs() <= ROUNDING);
    let highest: Vec<String> = tied.map(|(w, _)| name(waters, *w).to_owned()).collect();
    let differs = |water: usize| {
        clear.iter().any(|pair| {
            (pair.first, pair.second) == (*best, water)
                || (pair.second, pair.first) == (*best, water)
        })
    };
    let others = order.iter().skip(1).map(|(water, _)| *water);
    let below: Vec<&str> = others.filter(|w| differs(*w)).map(|w| name(waters, w)).collect();
    let best = name(waters, *best);
    match below.as_slice() {
        [] if highest.len() > 1 => format!("{} share the highest mean rank", and_list(&highest)),
        [] => format!("{best} ranks highest, and is not shown to differ from any other"),
        all if all.len() > 1 && all.len() + 1 == order.len() => {
            format!("{best} ranks above every other")
        }
        some => format!("{best} ranks above {}", some.join(", ")),
    }
}

/// Whether a one-sided test found the other water so often that a two-sided one would have found it.
fn is_against(method: &Method, result: &Discrimination) -> bool {
    let one_sided = matches!(method, Method::Paired { sides: Sides::One, .. });
    one_sided && result.test.finds(result.p_against)
}

/// Verdict on a test of two waters.
#[must_use]
pub fn on_choice(
    method: &Method,
    waters: &[String],
    found: &PairResult,
    tasters: usize,
) -> Verdict {
    let result = &found.result;
    let (first, second) = (name(waters, found.pair.0), name(waters, found.pair.1));
    let mut findings = Vec::new();
    let open = |end: Option<f64>| end.map_or_else(|| "no limit".to_owned(), shown);
    let (low, high) = result.d_prime_interval;
    findings.push(format!(
        "distance d′ = {} ({} to {})",
        open(result.d_prime),
        open(low),
        open(high)
    ));
    if let Method::Paired { criterion, .. } = method {
        findings.push(format!(
            "{first} was chosen {} of {} times as having more {criterion}",
            result.right, result.answers
        ));
    } else {
        let (low, high) = result.discriminators_interval;
        findings.push(format!(
            "{} of {} right; share of tasters who can tell {} ({} to {})",
            result.right,
            result.answers,
            shown(result.discriminators),
            shown(low),
            shown(high)
        ));
    }
    let clear = is_significant(found.p) && result.answers > 0;
    let headline = if result.answers == 0 {
        format!("{first} / {second}: nothing can be tested, nobody answered")
    } else if clear {
        match method {
            Method::Paired { criterion, sides } => {
                let more = if *sides == Sides::Two && 2 * result.right < result.answers {
                    second
                } else {
                    first
                };
                format!("{first} / {second}: {more} has more {criterion} ({})", p_words(found.p))
            }
            _ => format!("{first} and {second} differ ({})", p_words(found.p)),
        }
    } else if is_against(method, result) {
        format!(
            "{second} was chosen more often, which a one-sided test does not test: it asked whether {first} has more ({})",
            p_words(found.p)
        )
    } else if let Some(p) = found.p_of_consistency.filter(|p| is_significant(*p)) {
        format!(
            "some tasters tell {first} and {second} apart: they name the same one again and again ({}); \
             the panel does not agree which has more ({})",
            p_words(p),
            p_words(found.p)
        )
    } else {
        format!(
            "this panel cannot tell {first} and {second} apart ({}); that does not show them to be alike",
            p_words(found.p)
        )
    };
    let mut cautions = Vec::new();
    if result.least_right.is_none() && result.answers > 0 && !clear {
        cautions.push("so few answers could not have shown any difference".to_owned());
    }
    if result.tasters_vote {
        cautions.push(
            "some tasters answered more than once: each counts once, by how much more often one water was named, for p as for the intervals"
                .to_owned(),
        );
    } else if found.repeated {
        cautions.push(
            "some tasters answered more than once: p counts every answer, since a guess is a guess each time; the intervals count tasters, whose repeats are no further tasters"
                .to_owned(),
        );
    }
    if found.pending > 0 {
        cautions
            .push(format!("{first} / {second}: answers missing and left out: {}", found.pending));
    }
    if tasters < FEW_TASTERS {
        cautions.push(
            "so small a panel says nothing about what people in general can taste".to_owned(),
        );
    }
    cautions.push(brew_caution());
    Verdict { headline, cannot_tell: !clear, findings, cautions }
}
