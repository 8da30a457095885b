//! How good each water was in one session, with the error that matters between waters.

use serde::{Deserialize, Serialize};

use crate::session::analysis::MixedFit;
use crate::session::analysis::Results;
use crate::session::analysis::strength_parameters::StrengthParameter;

/// One water in one session.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WaterEffect {
    /// Place of the water.
    pub water: usize,
    /// Its mean score, or the logarithm of its worth.
    pub score: f64,
    /// Standard error of its difference to the others, as that of one water.
    pub standard_error: f64,
    /// Standard deviation of a single score around its taster's level and its water's mean; of a
    /// ranking, that of the Gumbel law which the strengths rest on.
    pub one_score: f64,
    /// Degrees of freedom behind the standard error; nothing where it follows from the law of ranks.
    pub degrees: Option<f64>,
}

/// Standard deviation of the standard Gumbel law, π/√6: waters ranked by their worth plus such an error
/// are ranked as Plackett and Luce say (Yellott J. I., J. Math. Psychol. 15 (1977) 109–144; from memory).
const ONE_RANKING: f64 = 1.282_549_830_161_864;

impl Results {
    /// The effects of all waters on one attribute; `None` where it was not judged so that waters can be
    /// placed on one line, as in tests of two, or where there is no model.
    #[must_use]
    pub fn effects(&self, of: &str) -> Option<Vec<WaterEffect>> {
        match self {
            Results::Scores(attributes) => {
                let results = attributes.iter().find(|a| a.table.attribute == of)?;
                results.model.as_ref().ok().map(of_scores)
            }
            Results::Ranking(ranking) => {
                let fit = ranking.strengths.as_ref().ok()?;
                let variance = |a: usize, b: usize| fit.covariance.get(a)?.get(b).copied();
                let difference = |a: usize, b: usize| {
                    Some((variance(a, a)? + variance(b, b)? - 2.0 * variance(a, b)?).max(0.0))
                };
                let effect = |(at, strength): (usize, &StrengthParameter)| {
                    let others = (0..fit.strengths.len()).filter(|other| *other != at);
                    let own = of_differences(others.filter_map(|other| difference(at, other)));
                    WaterEffect {
                        water: strength.water,
                        score: strength.log_strength,
                        standard_error: own,
                        one_score: ONE_RANKING,
                        degrees: None,
                    }
                };
                Some(fit.strengths.iter().enumerate().map(effect).collect())
            }
            Results::Choices(_) => None,
        }
    }
}

/// What a taster adds to all waters alike does not make them differ: half the variance of the
/// differences to the other waters, on average, is a water's own. Its root.
fn of_differences(variances: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = variances.fold((0.0, 0.0), |(sum, n), variance| (sum + variance, n + 1.0));
    if count > 0.0 { (sum / count / 2.0_f64).sqrt() } else { 0.0 }
}

fn of_scores(fit: &MixedFit) -> Vec<WaterEffect> {
    let own = |water: usize| {
        let differences = fit.differences.iter().filter(|d| d.first == water || d.second == water);
        of_differences(differences.map(|d| d.standard_error.powi(2)))
    };
    // The least precise pair decides how well the error is known.
    let degrees = fit.differences.iter().map(|d| d.df).fold(f64::INFINITY, f64::min);
    let one = fit.variances.cup + fit.variances.taster_by_water.unwrap_or(0.0);
    fit.means
        .iter()
        .map(|mean| WaterEffect {
            water: mean.water,
            score: mean.mean,
            standard_error: own(mean.water),
            one_score: one.max(0.0).sqrt(),
            degrees: Some(degrees).filter(|df| df.is_finite()),
        })
        .collect()
}
