//! What a limit or a base water has to do with a target that is out of reach, and targets that have
//! no answer at all.

use serde::Serialize;

use crate::flight::{DoseLimits, Flight};
use crate::planner::explain::Hints;
use crate::planner::lp::program::LimitKind;
use crate::quantities::show;

/// Beside a water out of reach: limits that hold it, and what would reach it; each tried.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReachReport {
    /// The limits of the flight that the nearest water stands at; that alone blames none of them.
    pub at_limit: Vec<LimitLine>,
    /// All stocks of the water without any limit, mL per litre, when that reaches the target.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub without_limits_stocks_ml_per_l: Option<f64>,
    /// Its dissolved solids, mg/L.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub without_limits_dissolved_solids_mg_per_l: Option<f64>,
    /// Whether distilled water among the base waters would reach it, within the limits.
    pub distilled_reaches: bool,
    /// Whether it was tried in doses of any size, though the flight asks for others.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub in_doses_of_any_size: bool,
}

/// A limit that holds a water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitLine {
    /// Its key in the flight's file.
    pub limit: &'static str,
    /// What it allows.
    pub most: String,
    /// Whether the target is in reach with this limit lifted and every other kept.
    pub lifted_reaches: bool,
}

/// A target without an answer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct UnansweredLine {
    /// Its number in the flight.
    pub number: usize,
    /// Name of the target.
    pub target: String,
    /// Why there is none.
    pub reason: String,
}

impl ReachReport {
    /// Reports what was tried; `None` when neither limits nor base waters are to blame.
    #[must_use]
    pub fn new(limits: DoseLimits, hints: &Hints) -> Option<Self> {
        let line = |kept: &LimitKind| {
            let (limit, most) = match kept {
                LimitKind::Stocks => ("stocks", limits.stocks()),
                LimitKind::DissolvedSolids => ("dissolved_solids", limits.dissolved_solids()),
                LimitKind::Share => return None,
            };
            Some(LimitLine { limit, most, lifted_reaches: hints.lifted.contains(kept) })
        };
        let at_limit: Vec<LimitLine> = hints.at_limit.iter().filter_map(line).collect();
        if at_limit.is_empty() && !hints.distilled {
            return None;
        }
        let free = hints.without_limits;
        Some(Self {
            at_limit,
            without_limits_stocks_ml_per_l: free.map(|f| f.stocks_ml_per_l),
            without_limits_dissolved_solids_mg_per_l: free.map(|f| f.dissolved_solids_mg_per_l),
            distilled_reaches: hints.distilled,
            in_doses_of_any_size: false,
        })
    }

    /// Says that it was tried in doses of any size, where `asked` tells that the flight asks for others.
    #[must_use]
    pub fn any_size(self, asked: bool) -> Self {
        Self { in_doses_of_any_size: asked, ..self }
    }

    /// What a person should know and can do, a sentence each.
    #[must_use]
    pub fn sentences(&self) -> Vec<String> {
        let mut sentences = Vec::new();
        let free = self.without_limits_stocks_ml_per_l;
        let words = |line: &LimitLine| match line.limit {
            "stocks" => ("on all stocks together", "--most-stocks"),
            _ => ("on dissolved solids", "--most-solids"),
        };
        for line in self.at_limit.iter().filter(|line| line.lifted_reaches) {
            let (what, option) = words(line);
            sentences.push(format!(
                "the limit {what} keeps it out of reach ({most}); `limits: ({key}: \"…\")` in the \
                 flight or `{option}` sets another",
                most = line.most,
                key = line.limit,
            ));
        }
        // No limit alone, but both of them: reached only without any.
        if free.is_some() && sentences.is_empty() {
            sentences.push(
                "the limits on all stocks together and on dissolved solids keep it out of reach; \
                 `limits` in the flight or `--most-stocks` and `--most-solids` set others"
                    .to_owned(),
            );
        }
        if let (Some(ml), Some(mg)) = (free, self.without_limits_dissolved_solids_mg_per_l) {
            sentences.push(format!(
                "without limits it would take {} mL/L of stocks and hold {} mg/L of dissolved solids",
                show::three_figures(ml),
                show::three_figures(mg)
            ));
        }
        if self.distilled_reaches {
            sentences.push(
                "add distilled water to the base: with \"distilled\" in `base` it is in reach, \
                 which was tried"
                    .to_owned(),
            );
        }
        if self.in_doses_of_any_size {
            for sentence in &mut sentences {
                sentence.insert_str(0, "in doses of any size: ");
            }
        }
        sentences
    }
}

/// The targets without an answer, in the words of the planner.
#[must_use]
pub fn unanswered(
    flight: &Flight,
    of: &[crate::planner::whole_flight::Unanswered],
) -> Vec<UnansweredLine> {
    of.iter()
        .map(|one| UnansweredLine {
            number: one.target + 1,
            target: flight.targets.get(one.target).map(|t| t.name.clone()).unwrap_or_default(),
            reason: one.source.to_string(),
        })
        .collect()
}
