//! What a ranking says, in numbers and as a part of the page.

use serde::Serialize;

use crate::quantities::show::{fixed, three_figures};
use crate::session::analysis::verdict::p_words;
use crate::session::analysis::{RankerCheck, RankingResults, StrengthError, StrengthFit};
use crate::session::plan::common_phrases::usual_times;
use crate::session::plan::forecast::ranks_apart;
use crate::session::plan::panel::is_significant;
use crate::session::results::score_numbers::{FriedmanNumbers, NamedTaster, friedman, marks_words};
use crate::session::results::scores::not_distinguished;
use crate::text::Page;
use crate::text::chart::{Chart, ChartRow};

/// A water and how often it is put first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StrengthNumbers {
    /// The water.
    pub water: String,
    /// Logarithm of its strength; all add up to zero.
    pub log_strength: f64,
    /// Standard error.
    pub standard_error: f64,
    /// 95 % interval.
    pub interval: (f64, f64),
    /// Probability that it is put first among all waters.
    pub first: f64,
}

/// Probability that one water is put above another.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AboveNumbers {
    /// The water that is put above more often.
    pub higher: String,
    /// The other.
    pub lower: String,
    /// The probability.
    #[serde(rename = "chance")]
    pub probability: f64,
    /// 95 % interval that holds for all pairs at once.
    pub interval: (f64, f64),
    /// Difference of the mean ranks, higher less lower: negative is better. `None` for paired tests.
    pub mean_rank_difference: Option<f64>,
    /// p of the rank sums of this pair alone.
    pub p_alone: Option<f64>,
    /// p allowing for all pairs (Holm).
    pub p: Option<f64>,
    /// Whether the p of this pair alone is exact.
    pub exact: Option<bool>,
}

/// Strengths of waters, and what they rest on.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct StrengthTable {
    /// Why there are none, where so.
    pub none: Option<String>,
    /// The waters, best first.
    pub strengths: Vec<StrengthNumbers>,
    /// All pairs.
    pub pairs: Vec<AboveNumbers>,
    /// Whether a water always won, so that strengths were drawn together by a penalty.
    pub penalised: bool,
    /// Likelihood ratio against equal strengths: statistic, degrees of freedom, p.
    pub all_equal: Option<(f64, usize, f64)>,
}

/// The results of a ranking.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RankingNumbers {
    /// Most of what.
    pub criterion: String,
    /// Mean ranks, best first.
    pub mean_ranks: Vec<(String, f64)>,
    /// Friedman's test, or that of Skillings and Mack for incomplete trays.
    pub friedman: Option<FriedmanNumbers>,
    /// Plackett–Luce strengths.
    pub plackett_luce: StrengthTable,
    /// How far apart mean ranks must be to be found with the usual power among all pairs, where
    /// everyone ranked all waters; `None` also where nothing would do.
    pub minimum_detectable_difference: Option<f64>,
    /// The tasters.
    pub tasters: Vec<NamedTaster<RankerCheck>>,
    /// Trays that were not ranked.
    pub pending: usize,
    /// Whether a taster's trays were averaged.
    pub averaged: bool,
}

impl StrengthTable {
    /// The strengths of a fit.
    #[must_use]
    pub fn new(fit: &Result<StrengthFit, StrengthError>, waters: &[String]) -> Self {
        let name = |water: usize| waters.get(water).cloned().unwrap_or_default();
        let mut table =
            Self { none: fit.as_ref().err().map(ToString::to_string), ..Self::default() };
        let Ok(fit) = fit else { return table };
        table.penalised = fit.penalised;
        table.all_equal = fit.all_equal;
        table.strengths = fit
            .strengths
            .iter()
            .map(|w| StrengthNumbers {
                water: name(w.water),
                log_strength: w.log_strength,
                standard_error: w.standard_error,
                interval: w.interval,
                first: w.first,
            })
            .collect();
        table.strengths.sort_by(|a, b| b.log_strength.total_cmp(&a.log_strength));
        table.pairs = fit
            .pairs()
            .iter()
            .map(|pair| {
                let first_is_higher = pair.probability >= 0.5;
                let turned = |p: f64| if first_is_higher { p } else { 1.0 - p };
                let (low, high) = (turned(pair.interval.0), turned(pair.interval.1));
                let (higher, lower) = if first_is_higher {
                    (pair.first, pair.second)
                } else {
                    (pair.second, pair.first)
                };
                AboveNumbers {
                    higher: name(higher),
                    lower: name(lower),
                    probability: turned(pair.probability),
                    interval: (low.min(high), low.max(high)),
                    mean_rank_difference: None,
                    p_alone: None,
                    p: None,
                    exact: None,
                }
            })
            .collect();
        table.pairs.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        table
    }

    /// Draws the strengths; `means` is what else is said of each water.
    pub(crate) fn draw(&self, page: &mut Page, head: &str, means: &dyn Fn(&str) -> String) {
        if let Some(why) = &self.none {
            page.say(format!("  no strengths: {why}"));
            return;
        }
        let rows = self.strengths.iter().map(|w| ChartRow {
            label: w.water.clone(),
            words: format!("{}{:>3} %", means(&w.water), fixed(100.0 * w.first, 0)),
            at: (w.interval.0, w.log_strength, w.interval.1),
        });
        page.draw(Chart::new(("water", head.to_owned()), rows.collect(), Some(0.0), &[]));
        page.say(
            "  drawn: logarithm of the strength with its 95 % interval, 0 the average water; 1 more is put first 2.7 times as often",
        );
    }
}

impl RankingNumbers {
    /// The numbers of a ranking.
    #[must_use]
    pub fn new(found: &RankingResults, waters: &[String], tasters: &[String]) -> Self {
        let name = |water: usize| waters.get(water).cloned().unwrap_or_default();
        let mut table = StrengthTable::new(&found.strengths, waters);
        let mut mean_ranks: Vec<(String, f64)> = Vec::new();
        if let Some(test) = &found.ranks {
            let ranks = test.mean_ranks.iter().enumerate();
            mean_ranks = ranks.filter_map(|(water, rank)| Some((name(water), (*rank)?))).collect();
            mean_ranks.sort_by(|a, b| a.1.total_cmp(&b.1));
            for pair in &mut table.pairs {
                let tested = test.pairs.iter().find(|p| {
                    let both = (name(p.first), name(p.second));
                    both == (pair.higher.clone(), pair.lower.clone())
                        || both == (pair.lower.clone(), pair.higher.clone())
                });
                let Some(tested) = tested else { continue };
                let mean = |water: &str| mean_ranks.iter().find(|m| m.0 == water).map(|m| m.1);
                pair.mean_rank_difference =
                    mean(&pair.higher).zip(mean(&pair.lower)).map(|(a, b)| a - b);
                (pair.p_alone, pair.p) = (Some(tested.p_alone), Some(tested.p));
                pair.exact = Some(tested.exact);
            }
        }
        Self {
            criterion: found.criterion.clone(),
            mean_ranks,
            averaged: found.ranks.as_ref().is_some_and(|test| {
                test.blocks < found.panel.iter().map(|taster| taster.trays).sum()
            }),
            minimum_detectable_difference: found
                .ranks
                .as_ref()
                .filter(|test| test.complete)
                .and_then(|test| ranks_apart(test.blocks, waters.len())),
            friedman: found.ranks.as_ref().map(friedman),
            plackett_luce: table,
            tasters: found
                .panel
                .iter()
                .map(|check| NamedTaster {
                    taster: tasters.get(check.taster).cloned().unwrap_or_default(),
                    check: check.clone(),
                })
                .collect(),
            pending: found.pending,
        }
    }

    /// Adds the strengths, pairs, tests and tasters to a page.
    pub(crate) fn show(&self, page: &mut Page, expected_order: &[String]) {
        // Of one taster's rankings the order is all there is.
        if self.friedman.as_ref().is_some_and(|test| test.blocks < 2) {
            for (water, mean) in &self.mean_ranks {
                page.say(format!("  {water}: mean rank {}", fixed(*mean, 2)));
            }
            for line in expected_order {
                page.say(line.clone());
            }
            self.show_missing(page);
            return;
        }
        let rank = |water: &str| {
            let found = self.mean_ranks.iter().find(|(name, _)| name == water);
            found.map_or(String::new(), |(_, rank)| format!("{:<9}  ", fixed(*rank, 2)))
        };
        self.plackett_luce.draw(page, "mean rank  first", &rank);
        if self.plackett_luce.none.is_some() {
            for (water, mean) in &self.mean_ranks {
                page.say(format!("  {water}: mean rank {}", fixed(*mean, 2)));
            }
        }
        self.show_pairs(page);
        if let Some(test) = &self.friedman {
            let (how, p) =
                test.p_exact.map_or(("from χ²", test.p_chi_square), |exact| ("exact", exact));
            let agree = test.kendall_w.map_or(String::new(), |w| {
                format!("; the tasters agree by W = {} (0 not at all, 1 fully)", fixed(w, 2))
            });
            page.say(format!(
                "  all waters together: {} {} on {}, {} ({how}){agree}",
                test.test,
                three_figures(test.statistic),
                test.df,
                p_words(p)
            ));
        }
        for line in expected_order {
            page.say(line.clone());
        }
        self.show_missing(page);
        if self.averaged {
            page.say("  a taster's rankings are averaged and count as one: repeats are no further tasters");
        }
        page.rest(|page| self.show_tasters(page));
    }

    fn show_missing(&self, page: &mut Page) {
        match self.pending {
            0 => {}
            1 => page.say("  1 tray was not ranked and is left out"),
            n => page.say(format!("  {n} trays were not ranked and are left out")),
        }
    }

    fn show_pairs(&self, page: &mut Page) {
        let pairs = &self.plackett_luce.pairs;
        let percent = |share: f64| fixed(100.0 * share, 0);
        let clear = |pair: &&AboveNumbers| pair.p.is_some_and(is_significant);
        for pair in pairs.iter().filter(clear) {
            page.say(format!(
                "  {} above {} in an estimated {} % of rankings ({} to {} %), {}",
                pair.higher,
                pair.lower,
                percent(pair.probability),
                percent(pair.interval.0),
                percent(pair.interval.1),
                p_words(pair.p.unwrap_or(1.0))
            ));
        }
        let clear_pairs = pairs.iter().filter(clear).count();
        if let Some(words) = not_distinguished(pairs.len() - clear_pairs, clear_pairs) {
            let found = self.minimum_detectable_difference.map_or(String::new(), |apart| {
                format!("; mean ranks {} apart would be found {}", fixed(apart, 2), usual_times())
            });
            page.say(format!("  {words}{found}"));
        }
    }

    fn show_tasters(&self, page: &mut Page) {
        let shown = |r: Option<f64>| r.map_or_else(|| "–".to_owned(), |r| fixed(r, 2));
        let rows = self.tasters.iter().map(|NamedTaster { taster, check: t }| {
            vec![
                taster.clone(),
                if self.averaged { t.trays.to_string() } else { String::new() },
                shown(t.with_others),
                shown(t.with_self),
                t.duplicates_apart.map_or_else(|| "–".to_owned(), |gap| fixed(gap, 1)),
                marks_words(&t.marks, "; "),
            ]
        });
        let heads = ["taster", "rankings", "with the others", "with own", "duplicates apart", ""];
        page.show_filled(&heads, &rows.collect::<Vec<_>>());
    }
}
