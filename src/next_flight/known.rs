//! What the scores say of the waters tasted, and how strongly, as the next flight tells it.

use serde::Serialize;

use crate::next_flight::propose::Estimates;
use crate::next_flight::{Evidence, Hypothesis, VarianceParts, Weighed};
use crate::quantities::show::fixed;

/// One water tasted, by all sessions.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KnownLine {
    /// Its name in the newest session that tasted it.
    pub water: String,
    /// Its own score: what its scores, and those of waters near it, say together.
    pub estimate: f64,
    /// Standard deviation of that.
    pub standard_deviation: f64,
    /// 95 % interval, as between these waters.
    pub interval: (f64, f64),
    /// Probability that it is the best of them.
    pub best: f64,
}

impl KnownLine {
    /// All waters, the best first.
    pub(crate) fn best_first(
        known: &Estimates,
        desirability: &dyn Fn(f64) -> f64,
        name: impl Fn(usize) -> String,
    ) -> Vec<Self> {
        let mut lines: Vec<Self> = known
            .waters
            .iter()
            .enumerate()
            .map(|(water, found)| Self {
                water: name(water),
                estimate: found.own.score,
                standard_deviation: found.own.standard_deviation,
                interval: found.own.interval,
                best: found.best,
            })
            .collect();
        let best = known.best(desirability).and_then(|best| lines.get(best)).cloned();
        lines.sort_by(|a, b| desirability(b.estimate).total_cmp(&desirability(a.estimate)));
        // Of estimates too near to decide, the better mean comes first.
        if let Some(at) = lines.iter().position(|line| Some(line) == best.as_ref())
            && let Some(first) = lines.get_mut(..=at)
        {
            first.rotate_right(1);
        }
        lines
    }
}

/// The evidence for a slope.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EvidenceLine {
    /// How many times as probable the scores are with a slope as under its rival; below 1 the evidence
    /// is for the rival.
    pub bayes_factor: f64,
    /// What it is for.
    pub weighed: Weighed,
    /// How strong it is, in the words of Kass & Raftery 1995.
    pub grade: &'static str,
    /// What a slope is weighed against.
    pub rival: Hypothesis,
}

/// Our choice: a larger Bayes factor is said to be more than this.
const MOST_SAID: f64 = 1000.0;

/// Our choice: from here on a Bayes factor is said without decimals; it is known to a few percent.
const WHOLE_FROM: f64 = 10.0;

impl EvidenceLine {
    pub(crate) fn new(evidence: &Evidence) -> Self {
        Self {
            bayes_factor: evidence.ln_bayes_factor().exp(),
            weighed: evidence.weighed(),
            grade: evidence.grade().words(),
            rival: evidence.rival(),
        }
    }

    /// How probable the scores are with a slope over `axes`, and without.
    pub(crate) fn words(&self, axes: &str) -> String {
        let with = format!("they follow {axes}");
        let without = if self.rival == Hypothesis::Own {
            format!("each water differs in its own way, whatever its {axes}")
        } else {
            "all waters are alike and their means differ by the panel's error alone".to_owned()
        };
        let times = self.bayes_factor.max(1.0 / self.bayes_factor);
        let times = match times {
            _ if times > MOST_SAID => format!("more than {} times", fixed(MOST_SAID, 0)),
            _ if times >= WHOLE_FROM => format!("{} times", fixed(times, 0)),
            _ => format!("{} times", fixed(times, 1)),
        };
        let (likely, other) =
            if self.bayes_factor >= 1.0 { (with, without) } else { (without, with) };
        let grade = if self.weighed == Weighed::Open {
            self.grade.to_owned()
        } else {
            format!("{} evidence", self.grade)
        };
        format!("the scores are {times} as probable if {likely} as if {other}: {grade}")
    }
}

impl VarianceParts {
    pub(crate) fn words(&self, axes: &str) -> String {
        format!(
            "Standard deviations, about: {} of what follows {axes}, {} of what each water has of its \
             own, {} of the panel's error of a mean.",
            fixed(self.along_the_axes, 1),
            fixed(self.of_its_own, 1),
            fixed(self.of_the_panel, 1)
        )
    }
}
