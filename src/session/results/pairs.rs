//! What a test of two waters says, in numbers and as a part of the page.

use serde::Serialize;

use crate::quantities::show::{fixed, three_figures};
use crate::session::analysis::PairResult;
use crate::session::analysis::verdict::p_words;
use crate::session::plan::Method;
use crate::session::plan::common_phrases::usual_times;
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
    /// Right answers; for a paired test, choices of the first water.
    pub right: usize,
    /// Answers.
    pub answers: usize,
    /// Answers that the intervals count.
    pub counted: f64,
    /// Whole answers of these, for which power is said.
    pub power_of: usize,
    /// Answers missing.
    pub pending: usize,
    /// Right answers needed at the usual risk; where each taster counts once, tasters who always name the
    /// same water.
    pub least_right: Option<usize>,
    /// Whether each taster counts once: a paired test of which some taster answered more than once.
    pub each_taster_counts_once: bool,
    /// There: the probability of naming the same water again so consistently by guessing, each taster the
    /// one or the other.
    pub p_of_consistency: Option<f64>,
    /// Share of right answers by guessing.
    pub chance_level: f64,
    /// Share of right answers.
    pub share_right: f64,
    /// Its 95 % interval.
    pub share_right_interval: (f64, f64),
    /// Share of tasters who can tell (pd).
    pub share_who_can_tell: f64,
    /// Its 95 % interval.
    pub share_who_can_tell_interval: (f64, f64),
    /// Distance d′; `None` where no distance is too far.
    pub d_prime: Option<f64>,
    /// Its standard error.
    pub d_prime_standard_error: Option<f64>,
    /// Its 95 % interval; an open end is `None`.
    pub d_prime_interval: (Option<f64>, Option<f64>),
    /// Exact p of this pair alone.
    pub p_alone: f64,
    /// p allowing for all pairs of the session (Holm).
    pub p: f64,
    /// Probability of this test to find it if half of the tasters could tell.
    pub power_if_half_can_tell: f64,
    /// Smallest share who can tell that would be found with the usual power.
    pub could_find_share_who_can_tell: Option<f64>,
    /// The same as d′.
    pub could_find_d_prime: Option<f64>,
    /// By taster.
    pub by_taster: Vec<TasterAnswers>,
    /// Whether a taster answered more than once.
    pub repeated: bool,
}

/// A distance in words; an open one has no limit.
fn distance_words(d_prime: Option<f64>) -> String {
    d_prime.map_or_else(|| "no limit".to_owned(), |d| fixed(d, 2))
}

impl PairNumbers {
    /// The numbers of one pair.
    #[must_use]
    pub fn new(method: &Method, waters: &[String], tasters: &[String], found: &PairResult) -> Self {
        let name = |water: usize| waters.get(water).cloned().unwrap_or_default();
        let result = &found.result;
        let answers = found.by_taster.iter().enumerate().filter(|(_, (_, n))| *n > 0);
        Self {
            pair: (name(found.pair.0), name(found.pair.1)),
            method: method.name(),
            criterion: match method {
                Method::Paired { criterion, .. } => Some(criterion.clone()),
                _ => None,
            },
            right: result.right,
            answers: result.answers,
            counted: result.counted,
            power_of: result.power_answers,
            pending: found.pending,
            least_right: result.least_right,
            each_taster_counts_once: result.tasters_vote,
            p_of_consistency: found.p_of_consistency,
            chance_level: result.test.test.chance_level(),
            share_right: result.share,
            share_right_interval: result.share_interval,
            share_who_can_tell: result.discriminators.0,
            share_who_can_tell_interval: result.discriminators.1,
            d_prime: result.d_prime,
            d_prime_standard_error: result.standard_error,
            d_prime_interval: result.d_prime_interval,
            p_alone: result.p,
            p: found.p,
            power_if_half_can_tell: result.power_for_half,
            could_find_share_who_can_tell: result.could_find.map(|(share, _)| share),
            could_find_d_prime: result.could_find.map(|(_, d_prime)| d_prime),
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
        let (low, high) = self.d_prime_interval;
        format!(
            "d′ = {} ({} to {})",
            distance_words(self.d_prime),
            distance_words(low),
            distance_words(high)
        )
    }

    fn is_preference(&self) -> bool {
        self.criterion.is_some()
    }

    /// Adds effect, test, power and tasters to a page.
    pub(crate) fn show(&self, page: &mut Page, alone: bool) {
        if self.answers == 0 {
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
            format!("{}, {} allowing for all pairs", p_words(self.p_alone), p_words(self.p))
        };
        let expected =
            fixed(f64::from(u32::try_from(self.answers).unwrap_or(0)) * self.chance_level, 1);
        if let Some(criterion) = &self.criterion {
            page.say(format!(
                "  {} named {} of {} times as having more {criterion}, {} {} of {}; {p}",
                self.pair.0,
                self.right,
                self.answers,
                self.pair.1,
                self.answers - self.right,
                self.answers
            ));
        } else {
            let (low, high) = self.share_who_can_tell_interval;
            page.say(format!(
                "  {} % of tasters can tell ({} to {} %)",
                percent(self.share_who_can_tell),
                percent(low),
                percent(high)
            ));
            page.say(format!(
                "  {} of {} right, {expected} by guessing; {p}",
                self.right, self.answers
            ));
        }
        self.show_tasters(page);
        if self.repeated {
            page.say(format!(
                "  the intervals count these {} answers as {}",
                self.answers,
                three_figures(self.counted)
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
        let Some(share) = self.could_find_share_who_can_tell else {
            if self.least_right.is_none() {
                page.say("  so few answers could not have shown any difference");
            } else {
                page.say("  so few tasters could hardly have shown any difference");
            }
            return;
        };
        let d_prime =
            self.could_find_d_prime.map_or(String::new(), |d| format!(", d′ = {}", fixed(d, 2)));
        let power = fixed(100.0 * self.power_if_half_can_tell, 0);
        let (answers, often) = (self.power_of, usual_times());
        page.say(if self.is_preference() {
            format!(
                "  {answers} answers find a difference {often} when {} % name the same water{d_prime}; when 75 % do, {power} times in 100",
                fixed(50.0 + 50.0 * share, 0)
            )
        } else {
            format!(
                "  {answers} answers find a difference {often} when {} % can tell{d_prime}; when half can tell, {power} times in 100",
                fixed(100.0 * share, 0)
            )
        });
    }
}

/// All pairs on one axis: shares of right answers beside that of guessing.
pub(crate) fn draw(pairs: &[PairNumbers], page: &mut Page) {
    let percent = |share: f64| fixed(100.0 * share, 0);
    let rows = pairs.iter().filter(|pair| pair.answers > 0).map(|pair| {
        let (low, high) = pair.share_right_interval;
        ChartRow {
            label: pair.name(),
            words: format!(
                "{} % ({} to {} %)",
                percent(pair.share_right),
                percent(low),
                percent(high)
            ),
            at: (100.0 * low, 100.0 * pair.share_right, 100.0 * high),
        }
    });
    let chance_level = pairs.first().map(|pair| 100.0 * pair.chance_level);
    let head = match pairs.first() {
        Some(pair) if pair.is_preference() => "first water named",
        _ => "right (┊ guessing)",
    };
    page.draw(Chart::new(("pair", head.to_owned()), rows.collect(), chance_level, &[0.0, 100.0]));
}
