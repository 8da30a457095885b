//! What a panel can find, before the tasting: power, smallest difference, tasters needed.

use crate::numerics::find_root::find_root;
use crate::numerics::{
    StudentizedRange, binomial_at_least, binomial_term, count, t_power_two_sided, t_quantile,
};

use serde::Serialize;

use crate::session::plan::Test;
use crate::session::plan::{Method, Sides};

/// The usual risk of seeing a difference that is not there (common practice).
pub const USUAL_ALPHA: f64 = 0.05;

/// Whether a p-value is small enough to say that something is seen: at most the usual risk, as the
/// tables of least right answers have it. The one rule for every test; an exact p that meets the risk
/// up to rounding counts.
///
/// ```
/// use waterflight::session::plan::panel::is_significant;
/// // Five orders of the 120 that five waters have: p = 6/120 is the risk itself.
/// assert!(is_significant(6.0 / 120.0) && is_significant(0.1 + 0.2 - 0.25) && !is_significant(0.050_001));
/// assert!(!is_significant(f64::NAN));
/// ```
#[must_use]
pub fn is_significant(p: f64) -> bool {
    p <= USUAL_ALPHA * (1.0 + TIE)
}

/// The usual probability wanted of finding a difference that is there (common practice).
pub const USUAL_POWER: f64 = 0.8;

/// Spread of one score around its taster's mean for that water, as a share of the scale.
///
/// From memory: Lawless H. T., Heymann H., Sensory Evaluation of Food (2010), give a fifth to a
/// quarter of the scale for untrained panels and less for trained ones.
pub const USUAL_SD: f64 = 0.2;

/// Most answers looked at when asking how many are needed. Our choice: no bench pours more.
const MOST_ANSWERS: usize = 2000;

/// Relative rounding below which a tail counts as equal to the risk. Our choice: a hundred times
/// the rounding of a sum of a thousand terms; it decides only risks that a tail meets exactly.
const TIE: f64 = 1e-11;

/// A binomial test of right answers or of choices.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ChoiceTest {
    /// The test.
    pub test: Test,
    /// Whether too few right answers count as well; only a paired test can be so.
    pub two_sided: bool,
    /// Risk of seeing a difference that is not there.
    pub alpha: f64,
}

impl ChoiceTest {
    /// The same test as one of so many that are made together: at a share of the risk each (Bonferroni),
    /// which is what the smallest p of them must meet (Holm).
    #[must_use]
    pub fn one_of(self, tests: usize) -> Self {
        Self { alpha: self.alpha / count(tests.max(1)), ..self }
    }

    /// Whether a p-value of this test by itself meets its risk; an exact p that meets it up to rounding
    /// does.
    #[must_use]
    pub fn finds(&self, p: f64) -> bool {
        p <= self.alpha * (1.0 + TIE)
    }
}

/// How many answers reach the wanted power. Power goes up and down with the number like the teeth
/// of a saw, so two numbers are needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Needed {
    /// The first number that reaches it.
    pub first: usize,
    /// The number from which on it is never missed again.
    pub always_from: usize,
}

impl ChoiceTest {
    /// The test that a method makes of its answers; none for scoring and ranking.
    #[must_use]
    pub fn of(method: &Method, alpha: f64) -> Option<Self> {
        let (test, two_sided) = match method {
            Method::Scoring { .. } | Method::Ranking { .. } => return None,
            Method::Triangle => (Test::Triangle, false),
            Method::DuoTrio { .. } => (Test::DuoTrio, false),
            Method::Paired { sides, .. } => (Test::TwoAfc, *sides == Sides::Two),
            Method::Tetrad => (Test::Tetrad, false),
        };
        Some(Self { test, two_sided, alpha })
    }

    /// The exact probability of at least `right` of `n` by guessing; two-sided, of a split at least as
    /// uneven.
    #[must_use]
    pub fn p_value(&self, right: usize, n: usize) -> f64 {
        if self.two_sided {
            let more = right.max(n.saturating_sub(right));
            return (2.0 * binomial_at_least(more, n, self.test.chance_level())).min(1.0);
        }
        binomial_at_least(right, n, self.test.chance_level())
    }

    /// The least number of right answers (or of equal choices) that is too many to be guessed, at `alpha`.
    ///
    /// ```
    /// use waterflight::session::plan::{ChoiceTest, Test};
    /// let triangle = ChoiceTest { test: Test::Triangle, two_sided: false, alpha: 0.05 };
    /// assert_eq!(triangle.least_right(24), Some(13));
    /// assert_eq!(triangle.least_right(2), None);
    /// ```
    #[must_use]
    pub fn least_right(&self, n: usize) -> Option<usize> {
        let sides = if self.two_sided { 2.0 } else { 1.0 };
        let mut tail = 0.0;
        let mut least = None;
        for right in (0..=n).rev() {
            tail += sides * binomial_term(right, n, self.test.chance_level());
            if !self.finds(tail) {
                break;
            }
            least = Some(right);
        }
        least
    }

    /// The probability of reaching significance with `n` answers when each is right with probability `share`.
    #[must_use]
    pub fn power(&self, n: usize, share: f64) -> f64 {
        let Some(least) = self.least_right(n) else { return 0.0 };
        let above = binomial_at_least(least, n, share);
        if self.two_sided {
            return (above + binomial_at_least(least, n, 1.0 - share)).min(1.0);
        }
        above
    }

    /// Answers needed for `power` when each is right with probability `share`.
    #[must_use]
    pub fn needed(&self, share: f64, power: f64) -> Option<Needed> {
        let reaches = |n: &usize| self.power(*n, share) >= power;
        if share <= self.test.chance_level() {
            return None;
        }
        let first = (1..=MOST_ANSWERS).find(reaches)?;
        // The teeth get shorter: past half as many again and thirty, none falls short any more.
        let horizon = first + first / 2 + 30;
        let last_miss = (first..=horizon).rev().find(|n| !reaches(n));
        Some(Needed { first, always_from: last_miss.map_or(first, |n| n + 1) })
    }

    /// The smallest share of right answers that `n` answers find with `power`; `None` when even
    /// all right would not do.
    #[must_use]
    pub fn smallest_share(&self, n: usize, power: f64) -> Option<f64> {
        self.least_right(n)?;
        Some(find_root(self.test.chance_level(), 1.0, power, |share| self.power(n, share)))
    }
}

/// What is assumed about scores before any is given.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct AssumedScatter {
    /// Spread of a taster's own scores for the same water, in points of the scale.
    pub cup: f64,
    /// Spread of tasters about how waters differ, in points of the scale.
    pub taste: f64,
}

impl AssumedScatter {
    /// Half of the usual variance for each kind.
    #[must_use]
    pub fn usual(scale_length: f64) -> Self {
        let each = USUAL_SD * scale_length / 2.0_f64.sqrt();
        Self { cup: each, taste: each }
    }

    /// Standard deviation of one score: both kinds together.
    #[must_use]
    pub fn together(self) -> f64 {
        self.cup.hypot(self.taste)
    }
}

/// What earlier sessions of the bench have measured of an attribute.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// The residual error.
    pub assumed_scatter: AssumedScatter,
    /// Whether repeats have separated the two kinds. Where not, all of the residual error stands as that of
    /// tasters, which more rounds would not make smaller: the cautious side for a panel.
    pub split: bool,
    /// Over so many sessions.
    pub sessions: usize,
}

impl Scatter {
    /// The residual error that a design of so many tasters must count on. One taster's taste is no error to that
    /// taster; where nobody knows how much of the scatter was taste, all of it may be the cup's.
    #[must_use]
    pub fn assumed_scatter_for(&self, tasters: usize) -> AssumedScatter {
        if self.split || tasters > 1 {
            return self.assumed_scatter;
        }
        AssumedScatter { cup: self.assumed_scatter.together(), taste: 0.0 }
    }
}

/// A tasting by scores, as far as its power depends on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScoreDesign {
    /// Waters compared.
    pub waters: usize,
    /// Tasters.
    pub tasters: usize,
    /// Rounds.
    pub rounds: usize,
    /// Waters on a tray; equal to `waters` when everyone tastes all.
    pub per_tray: usize,
}

impl ScoreDesign {
    /// Degrees of freedom behind the comparison of two waters: of tasters × waters when several
    /// taste, of repeats when one tastes alone. Zero when there are none.
    #[must_use]
    pub fn degrees(&self) -> usize {
        let cups = self.tasters * self.rounds * self.per_tray;
        let trays = self.tasters * self.rounds;
        if self.tasters <= 1 || self.per_tray < self.waters {
            return (cups + 1).saturating_sub(self.waters + trays);
        }
        (self.tasters - 1) * (self.waters - 1)
    }

    /// Standard error of the difference of two waters' means.
    #[must_use]
    pub fn standard_error(&self, assumed_scatter: AssumedScatter) -> f64 {
        let rounds = count(self.rounds);
        // One taster alone: the answer holds for that taster, whose taste is then no residual error.
        let taste = if self.tasters <= 1 { 0.0 } else { assumed_scatter.taste.powi(2) };
        let (v, k) = (count(self.waters), count(self.per_tray));
        // Share of the information that incomplete trays keep (Yates F., Ann. Eugenics 7 (1936) 121).
        let kept = if self.per_tray < self.waters { v * (k - 1.0) / (k * (v - 1.0)) } else { 1.0 };
        let servings = count(self.tasters) * k / v;
        (2.0 * (taste + assumed_scatter.cup.powi(2) / rounds) / (servings * kept)).sqrt()
    }

    /// The smallest difference between two waters, in points of the scale, that is found with
    /// `power` among all pairs at `alpha`; `None` when nothing is left to judge by.
    #[must_use]
    pub fn smallest_difference(
        &self,
        assumed_scatter: AssumedScatter,
        alpha: f64,
        power: f64,
    ) -> Option<f64> {
        let df = self.degrees();
        if df == 0 || self.waters < 2 {
            return None;
        }
        let df = count(df);
        let critical = critical_t(self.waters, df, alpha);
        Some(shift_found(critical, df, power) * self.standard_error(assumed_scatter))
    }

    /// Tasters needed to find `difference` with `power`, all else as it is; `None` beyond `most`.
    #[must_use]
    pub fn tasters_needed(
        &self,
        difference: f64,
        assumed_scatter: AssumedScatter,
        (alpha, power): (f64, f64),
        most: usize,
    ) -> Option<usize> {
        let finds = |tasters: usize| {
            let design = Self { tasters, ..*self };
            design
                .smallest_difference(assumed_scatter, alpha, power)
                .is_some_and(|d| d <= difference)
        };
        if most < 2 || !finds(most) {
            return None;
        }
        // More tasters never find less, so the bracket is halved.
        let (mut low, mut high) = (1, most);
        while high - low > 1 {
            let middle = usize::midpoint(low, high);
            if finds(middle) { high = middle } else { low = middle }
        }
        Some(high)
    }
}

/// The smallest difference, in its standard errors, that a two-sided t-test with this critical value
/// and degrees of freedom finds with `power`.
///
/// ```
/// use waterflight::session::plan::panel::shift_found;
/// // With very many degrees of freedom z(0.975) + z(0.8).
/// assert!((shift_found(1.959_964, 1e7, 0.8) - 2.801_585).abs() < 1e-4);
/// ```
#[must_use]
pub fn shift_found(critical: f64, df: f64, power: f64) -> f64 {
    // A shift of ten times the critical value plus ten finds everything: the answer lies below.
    find_root(0.0, critical * 10.0 + 10.0, power, |delta| t_power_two_sided(critical, df, delta))
}

/// Critical t for one of all pairs of `waters` (Tukey's studentized range; Student's t for two).
fn critical_t(waters: usize, df: f64, alpha: f64) -> f64 {
    if waters == 2 {
        t_quantile(alpha / 2.0, df)
    } else {
        StudentizedRange::new(waters).quantile(alpha, df) / 2.0_f64.sqrt()
    }
}
