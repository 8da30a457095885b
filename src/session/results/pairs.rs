//! What a test of two waters says, in numbers and as a part of the page.

use serde::Serialize;

use crate::quantities::show::{fixed, three_figures};
use crate::session::analysis::verdict::p_words;
use crate::session::analysis::{Discrimination, PairResult};
use crate::session::plan::Method;
use crate::session::plan::common_phrases::{counted, usual_times};
use crate::session::plan::panel::is_significant;
use crate::text::Page;
use crate::text::chart::{Chart, ChartRow};

/// One taster's answers about a pair.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TasterAnswers {
    /// The taster.
    pub taster: String,
    /// Right answers; for a paired test, choices of the first water.
    pub right: usize,
    /// Answers.
    pub answers: usize,
}

/// The test of one pair.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairNumbers {
    /// The two waters, in the order in which the pair was named.
    pub pair: (String, String),
    /// The method.
    pub method: &'static str,
    /// More of what, for a paired test.
    pub criterion: Option<String>,
    /// Its result.
    #[serde(flatten)]
    pub result: Discrimination,
    /// Answers missing.
    pub pending: usize,
    /// Where each taster counts once: the probability of naming the same water again so consistently by
    /// guessing, each taster the one or the other, allowing for all pairs of the session (Holm).
    pub p_of_consistency: Option<f64>,
    /// p allowing for all pairs of the session (Holm).
    pub p: f64,
    /// By taster.
    pub by_taster: Vec<TasterAnswers>,
    /// Whether a taster answered more than once.
    pub repeated: bool,
}

/// A distance in words; an open one has no limit.
pub(crate) fn distance_words(d_prime: Option<f64>) -> String {
    d_prime.map_or_else(|| "no limit".to_owned(), |d| fixed(d, 2))
}

impl PairNumbers {
    /// The numbers of one pair.
    #[must_use]
    pub fn new(method: &Method, waters: &[String], tasters: &[String], found: &PairResult) -> Self {
        let name = |water: usize| waters.get(water).cloned().unwrap_or_default();
        let answers = found.by_taster.iter().enumerate().filter(|(_, (_, n))| *n > 0);
        Self {
            pair: (name(found.pair.0), name(found.pair.1)),
            method: method.name(),
            criterion: match method {
                Method::Paired { criterion, .. } => Some(criterion.clone()),
                _ => None,
            },
            result: found.result.clone(),
            pending: found.pending,
            p_of_consistency: found.p_of_consistency,
            p: found.p,
            by_taster: answers
                .map(|(taster, &(right, answers))| TasterAnswers {
                    taster: tasters.get(taster).cloned().unwrap_or_default(),
                    right,
                    answers,
                })
                .collect(),
            repeated: found.repeated,
        }
    }

    /// The name of the pair.
    #[must_use]
    pub fn name(&self) -> String {
        format!("{} / {}", self.pair.0, self.pair.1)
    }

    /// The distance in words, with its interval.
    #[must_use]
    pub fn d_prime(&self) -> String {
        let (low, high) = self.result.d_prime_interval;
        format!(
            "d′ = {} ({} to {})",
            distance_words(self.result.d_prime),
            distance_words(low),
            distance_words(high)
        )
    }

    fn is_preference(&self) -> bool {
        self.criterion.is_some()
    }

    /// Adds effect, test, power and tasters to a page.
    pub(crate) fn show(&self, page: &mut Page, alone: bool) {
        if self.result.answers == 0 {
            return;
        }
        let seen = if self.is_preference() {
            format!(", {} less {}", self.pair.0, self.pair.1)
        } else {
            String::new()
        };
        page.say(format!("  {}{seen}", self.d_prime()));
        let percent = |share: f64| fixed(100.0 * share, 0);
        let p = if alone {
            p_words(self.p)
        } else {
            format!("{}, {} allowing for all pairs", p_words(self.result.p), p_words(self.p))
        };
        let expected = fixed(
            f64::from(u32::try_from(self.result.answers).unwrap_or(0)) * self.result.chance_level,
            1,
        );
        if let Some(criterion) = &self.criterion {
            page.say(format!(
                "  {} named {} of {} times as having more {criterion}, {} {} of {}; {p}",
                self.pair.0,
                self.result.right,
                self.result.answers,
                self.pair.1,
                self.result.answers - self.result.right,
                self.result.answers
            ));
        } else {
            let (low, high) = self.result.discriminators_interval;
            page.say(format!(
                "  {} % of tasters can tell ({} to {} %)",
                percent(self.result.discriminators),
                percent(low),
                percent(high)
            ));
            page.say(format!(
                "  {} of {} right, {expected} by guessing; {p}",
                self.result.right, self.result.answers
            ));
        }
        self.show_tasters(page);
        if self.repeated {
            page.say(format!(
                "  the intervals count these {} answers as {}",
                self.result.answers,
                three_figures(self.result.counted)
            ));
        }
        self.show_power(page);
    }

    /// Who was right; with repeats, how often.
    fn show_tasters(&self, page: &mut Page) {
        let (yes, no) = if self.is_preference() {
            (format!("for {}", self.pair.0), format!("for {}", self.pair.1))
        } else {
            ("right".to_owned(), "wrong".to_owned())
        };
        if self.repeated {
            let of = |t: &TasterAnswers| format!("{} {} of {}", t.taster, t.right, t.answers);
            let each: Vec<String> = self.by_taster.iter().map(of).collect();
            page.say(format!("  {yes}: {}", each.join(", ")));
            return;
        }
        let names = |right: usize| {
            let own = self.by_taster.iter().filter(|t| t.right == right);
            own.map(|t| t.taster.as_str()).collect::<Vec<_>>().join(", ")
        };
        let shown = [(yes, names(1)), (no, names(0))].map(|(what, who)| {
            if who.is_empty() { String::new() } else { format!("{what}: {who}") }
        });
        let shown: Vec<String> = shown.into_iter().filter(|part| !part.is_empty()).collect();
        if !shown.is_empty() {
            page.say(format!("  {}", shown.join("; ")));
        }
    }

    fn show_power(&self, page: &mut Page) {
        let Some(share) = self.result.could_find else {
            if is_significant(self.p) {
                return;
            }
            if self.result.least_right.is_none() {
                page.say("  so few answers could not have shown any difference");
            } else {
                page.say("  so few tasters could hardly have shown any difference");
            }
            return;
        };
        let d_prime = self
            .result
            .could_find_d_prime
            .map_or(String::new(), |d| format!(", d′ = {}", fixed(d, 2)));
        let power = fixed(100.0 * self.result.power_for_half, 0);
        let often = usual_times();
        let answers = if self.result.tasters_vote {
            format!(
                "{} who always name the same water",
                counted(self.result.power_answers, "taster")
            )
        } else {
            counted(self.result.power_answers, "answer")
        };
        page.say(if self.is_preference() {
            format!(
                "  {answers} find a difference {often} when {} % name the same water{d_prime}; when 75 % do, {power} times in 100",
                fixed(50.0 + 50.0 * share, 0)
            )
        } else {
            format!(
                "  {answers} find a difference {often} when {} % can tell{d_prime}; when half can tell, {power} times in 100",
                fixed(100.0 * share, 0)
            )
        });
    }
}

/// All pairs on one axis: shares of right answers beside that of guessing.
pub(crate) fn draw(pairs: &[PairNumbers], page: &mut Page) {
    let percent = |share: f64| fixed(100.0 * share, 0);
    let rows = pairs.iter().filter(|pair| pair.result.answers > 0).map(|pair| {
        let (low, high) = pair.result.share_interval;
        ChartRow {
            label: pair.name(),
            words: format!(
                "{} % ({} to {} %)",
                percent(pair.result.share),
                percent(low),
                percent(high)
            ),
            at: (100.0 * low, 100.0 * pair.result.share, 100.0 * high),
        }
    });
    let chance_level = pairs.first().map(|pair| 100.0 * pair.result.chance_level);
    let head = match pairs.first() {
        Some(pair) if pair.is_preference() => "first water named",
        _ => "right (┊ guessing)",
    };
    page.draw(Chart::new(("pair", head.to_owned()), rows.collect(), chance_level, &[0.0, 100.0]));
}
