//! Three hypotheses of the scores, weighed against each other.

use serde::Serialize;

use crate::numerics::count;

use crate::next_flight::Hypothesis;

/// From which value of 2 ln B evidence is called what, B being how many times as probable one hypothesis
/// makes the scores (Kass R. E., Raftery A. E., J. Amer. Statist. Assoc. 90 (1995) 773–795, as the
/// manual of the R package pcal gives their table; the first words from memory).
const GRADES_FROM_2_LN_B: [(f64, Grade, &str); 4] = [
    (0.0, Grade::Bare, "not worth more than a bare mention"),
    (2.0, Grade::Positive, "positive"),
    (6.0, Grade::Strong, "strong"),
    (10.0, Grade::VeryStrong, "very strong"),
];

/// How strong evidence is, by the table of Kass & Raftery 1995.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// Not worth more than a bare mention.
    Bare,
    /// Positive.
    Positive,
    /// Strong.
    Strong,
    /// Very strong.
    VeryStrong,
}

impl Grade {
    /// The grade of an ln B that is not negative.
    #[must_use]
    pub fn of(ln_b: f64) -> Self {
        let reached = GRADES_FROM_2_LN_B.iter().rev().find(|(least, ..)| 2.0 * ln_b >= *least);
        reached.map_or(Self::Bare, |(_, grade, _)| *grade)
    }

    /// Its name in the table.
    #[must_use]
    pub fn words(self) -> &'static str {
        let own = GRADES_FROM_2_LN_B.iter().find(|(_, grade, _)| *grade == self);
        own.map_or("", |(_, _, words)| words)
    }
}

/// How probable the scores are under each hypothesis, its scales averaged over what is expected of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// ln of the probability, in the order of [`Hypothesis::ALL`].
    ln: [f64; 3],
}

/// What the evidence is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Weighed {
    /// The scores follow the composition.
    Slope,
    /// They do not.
    Flat,
    /// Neither is worth more than a bare mention.
    Open,
}

impl Evidence {
    /// The evidence from the log evidences of every set of scales, by hypothesis.
    #[must_use]
    pub fn new(of_sets: &[Vec<f64>; 3]) -> Self {
        Self {
            ln: [0, 1, 2].map(|n| of_sets.get(n).map_or(f64::NEG_INFINITY, |sets| ln_mean(sets))),
        }
    }

    fn ln_of(&self, hypothesis: Hypothesis) -> f64 {
        let [alike, own, surface] = self.ln;
        match hypothesis {
            Hypothesis::Alike => alike,
            Hypothesis::Own => own,
            Hypothesis::Surface => surface,
        }
    }

    /// Of the two hypotheses without a surface, the one under which the scores are more probable: what a
    /// slope is compared with.
    #[must_use]
    pub fn rival(&self) -> Hypothesis {
        let own = self.ln_of(Hypothesis::Own) > self.ln_of(Hypothesis::Alike);
        if own { Hypothesis::Own } else { Hypothesis::Alike }
    }

    /// ln of the Bayes factor: how many times as probable the scores are with a surface as under its
    /// rival.
    #[must_use]
    pub fn ln_bayes_factor(&self) -> f64 {
        self.ln_of(Hypothesis::Surface) - self.ln_of(self.rival())
    }

    /// How strong it is, for whichever side.
    #[must_use]
    pub fn grade(&self) -> Grade {
        Grade::of(self.ln_bayes_factor().abs())
    }

    /// What it is for.
    #[must_use]
    pub fn weighed(&self) -> Weighed {
        match (self.grade(), self.ln_bayes_factor() > 0.0) {
            (Grade::Bare, _) => Weighed::Open,
            (_, true) => Weighed::Slope,
            (_, false) => Weighed::Flat,
        }
    }

    /// Probability of each hypothesis, in the order of [`Hypothesis::ALL`], when a surface was as probable as
    /// none beforehand, and so were the two hypotheses without one (our choice). What is expected of a
    /// water is averaged over the hypotheses by these (Hoeting J. A., Madigan D., Raftery A. E.,
    /// Volinsky C. T., Statistical Science 14 (1999) 382–417; from memory).
    #[must_use]
    pub fn probabilities(&self) -> [f64; 3] {
        const BEFORE: [f64; 3] = [0.25, 0.25, 0.5];
        let [a, b, c] = self.ln;
        let most = a.max(b).max(c);
        let mut weights = [a, b, c].map(|ln| (ln - most).exp());
        weights.iter_mut().zip(BEFORE).for_each(|(weight, before)| *weight *= before);
        let sum: f64 = weights.iter().sum();
        weights.map(|weight| weight / sum)
    }
}

/// ln of the mean of numbers whose logarithms are given.
fn ln_mean(logs: &[f64]) -> f64 {
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if !most.is_finite() {
        return f64::NEG_INFINITY;
    }
    let sum: f64 = logs.iter().map(|ln| (ln - most).exp()).sum();
    most + (sum / count(logs.len())).ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grades_are_those_of_the_table() {
        for (twice, grade) in [
            (0.0, Grade::Bare),
            (1.99, Grade::Bare),
            (2.0, Grade::Positive),
            (6.0, Grade::Strong),
            (9.9, Grade::Strong),
            (10.0, Grade::VeryStrong),
        ] {
            assert_eq!(Grade::of(twice / 2.0), grade);
        }
    }

    #[test]
    fn the_rival_is_the_better_account_without_a_surface() {
        let evidence = Evidence { ln: [-10.0, -8.0, -6.5] };
        assert_eq!(evidence.rival(), Hypothesis::Own);
        assert!((evidence.ln_bayes_factor() - 1.5).abs() < 1e-12);
        assert_eq!(evidence.weighed(), Weighed::Slope);
        assert_eq!(Evidence { ln: [-6.0, -8.0, -7.5] }.weighed(), Weighed::Flat);
        assert_eq!(Evidence { ln: [-7.0, -8.0, -6.5] }.weighed(), Weighed::Open);
        let sum: f64 = evidence.probabilities().iter().sum();
        assert!((sum - 1.0).abs() < 1e-12);
    }
}
