//! What a revealed session says: verdicts first, tables behind.

use serde::Serialize;

use crate::analysis::{Results, Verdict};
use crate::quantities::show::{fixed, three_figures};
use crate::report::page::Page;
use crate::scores::Revealed;
use crate::tasting::{Method, Verified};

/// A verdict in words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Said {
    /// The answer in one sentence.
    pub headline: String,
    /// Whether this panel cannot tell.
    pub cannot_tell: bool,
    /// Effects with intervals.
    pub findings: Vec<String>,
    /// What must be borne in mind.
    pub cautions: Vec<String>,
}

/// A water under one criterion.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Standing {
    /// Attribute, criterion or test.
    pub of: String,
    /// The water.
    pub water: String,
    /// Mean score, mean rank, or share of choices.
    pub value: f64,
    /// 95 % interval of a mean score.
    pub interval: Option<(f64, f64)>,
    /// `mean`, `mean_rank` or `chosen`.
    pub kind: &'static str,
}

/// The results of a session.
#[derive(Debug, Clone, PartialEq, Serialize)]
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
    /// Answers owed.
    pub owing: usize,
    /// Openings of the key that the procedure does not foresee.
    pub opened_early: Vec<String>,
    /// What may be said.
    pub verdicts: Vec<Said>,
    /// Waters, best first within each criterion.
    pub standings: Vec<Standing>,
    /// Tasters who stand apart, and how well they repeat.
    pub panel: Vec<String>,
}

fn said(verdict: &Verdict) -> Said {
    Said {
        headline: verdict.headline.clone(),
        cannot_tell: verdict.cannot_tell,
        findings: verdict.findings.clone(),
        cautions: verdict.cautions.clone(),
    }
}

fn unsaid(of: &str, why: &str) -> Said {
    let headline = format!("{of}: nothing can be said, {why}");
    Said { headline, cannot_tell: true, findings: Vec::new(), cautions: Vec::new() }
}

impl SessionResults {
    /// Puts results into words.
    #[must_use]
    pub fn new(revealed: &Revealed, results: &Results) -> Self {
        let mut page = Self {
            session: revealed.session.clone(),
            method: revealed.method.name(),
            forced: revealed.forced.clone(),
            drawn_again: revealed.verified == Verified::DrawnAgain,
            late: revealed.left_out.late,
            owing: revealed.left_out.owing,
            opened_early: revealed.opened_early.clone(),
            verdicts: Vec::new(),
            standings: Vec::new(),
            panel: Vec::new(),
        };
        let name = |water: usize| revealed.waters.get(water).cloned().unwrap_or_default();
        match results {
            Results::Scores(attributes) => {
                for one in attributes {
                    page.scores(one, &name);
                }
            }
            Results::Ranking(ranking) => {
                let criterion = match &revealed.method {
                    Method::Ranking { criterion } => criterion.clone(),
                    other => other.name().to_owned(),
                };
                page.verdicts.push(match &ranking.verdict {
                    Some(verdict) => said(verdict),
                    None => unsaid("ranking", "nothing was ranked"),
                });
                let ranks =
                    ranking.ranks.iter().flat_map(|test| test.mean_ranks.iter().enumerate());
                let mut found: Vec<(usize, f64)> =
                    ranks.filter_map(|(water, rank)| Some((water, (*rank)?))).collect();
                found.sort_by(|a, b| a.1.total_cmp(&b.1));
                page.standings.extend(found.into_iter().map(|(water, value)| Standing {
                    of: criterion.clone(),
                    water: name(water),
                    value,
                    interval: None,
                    kind: "mean_rank",
                }));
            }
            Results::Choices(pairs) => {
                for (pair, verdict) in pairs {
                    page.verdicts.push(said(verdict));
                    let of = format!("{} / {}", name(pair.pair.0), name(pair.pair.1));
                    page.standings.push(Standing {
                        of,
                        water: name(pair.pair.0),
                        value: pair.result.share,
                        interval: Some(pair.result.share_interval),
                        kind: "chosen_or_right",
                    });
                }
            }
        }
        page
    }

    fn scores(&mut self, one: &crate::analysis::AttributeResults, name: &impl Fn(usize) -> String) {
        let of = one.table.attribute.clone();
        self.verdicts.push(match (&one.verdict, &one.model) {
            (Some(verdict), _) => said(verdict),
            (None, Err(why)) => unsaid(&of, &why.to_string()),
            (None, Ok(_)) => unsaid(&of, "there is no model"),
        });
        if let Ok(fit) = &one.model {
            let mut means: Vec<_> = fit.means.iter().collect();
            means.sort_by(|a, b| b.mean.total_cmp(&a.mean));
            self.standings.extend(means.into_iter().map(|m| Standing {
                of: of.clone(),
                water: name(m.water),
                value: m.mean,
                interval: Some(m.interval),
                kind: "mean",
            }));
        }
        let panel = &one.panel;
        if let Some((sd, df)) = panel.repeat {
            let icc = panel.repeats.map_or(String::new(), |r| {
                format!("; correlation of repeats {}", three_figures(r.one_way.value))
            });
            let text = three_figures(sd);
            self.panel
                .push(format!("{of}: repeats scatter by {text} ({df} degrees of freedom){icc}"));
        }
        if let Some(w) = panel.kendall {
            self.panel.push(format!("{of}: agreement of the tasters W = {}", three_figures(w)));
        }
        for taster in &panel.tasters {
            use crate::analysis::repeat::Mark;
            let who = one.table.tasters.get(taster.taster).map_or("?", String::as_str);
            for mark in &taster.marks {
                self.panel.push(format!(
                    "{of}: {who} {}",
                    match mark {
                        Mark::RepeatsWorse => "repeats worse than the others",
                        Mark::AgainstTheOthers => "sees the waters in another order than the rest",
                        Mark::NoSpread => "gave every cup the same score",
                    }
                ));
            }
        }
    }

    /// The results to be read.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = Page::default();
        page.say(format!("Results of {}, by {}", self.session, self.method));
        if let Some(why) = &self.forced {
            page.say(format!("The reveal was forced with {} answers owed: {why}", self.owing));
        }
        for why in &self.opened_early {
            page.say(format!("Not blind: the key was opened before the reveal: {why}"));
        }
        if self.late > 0 {
            page.say(format!("{} late answers are kept and left out", self.late));
        }
        let mut cautions: Vec<&String> = Vec::new();
        for verdict in &self.verdicts {
            page.say("");
            page.say(verdict.headline.clone());
            for finding in &verdict.findings {
                page.say(format!("  {finding}"));
            }
            for caution in &verdict.cautions {
                if !cautions.contains(&caution) {
                    cautions.push(caution);
                }
            }
        }
        let rows = self.standings.iter().filter(|s| s.kind == "mean");
        let all: Vec<f64> =
            rows.clone().flat_map(|s| s.interval.map_or([s.value; 2], |(a, b)| [a, b])).collect();
        let low = all.iter().copied().fold(f64::INFINITY, f64::min);
        let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let rows = rows.map(|s| {
            let (a, b) = s.interval.unwrap_or((s.value, s.value));
            let words = format!("{} ({} to {})", fixed(s.value, 2), fixed(a, 2), fixed(b, 2));
            vec![s.of.clone(), s.water.clone(), words, drawn((low, high), (a, s.value, b))]
        });
        page.show(&["", "water", "mean (95 %)", ""], rows.collect());
        for line in &self.panel {
            page.say(line.clone());
        }
        page.say("");
        for caution in cautions {
            page.say(format!("* {caution}"));
        }
        page
    }
}

/// Our choice: cells of a drawn interval, so that a row fits a small terminal.
const CELLS: u8 = 24;

/// An interval on a line.
fn drawn((low, high): (f64, f64), (a, mean, b): (f64, f64, f64)) -> String {
    let cell = |value: f64| ((value - low) / (high - low).max(1e-9) * f64::from(CELLS - 1)).round();
    (0..CELLS)
        .map(|n| {
            let n = f64::from(n);
            if (n - cell(mean)).abs() < 0.5 {
                '●'
            } else if n >= cell(a) && n <= cell(b) {
                '─'
            } else {
                ' '
            }
        })
        .collect()
}
