//! How good each water was in one session, with the error that matters between waters.

use super::mixed::MixedFit;
use super::results::Results;

/// One water in one session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterEffect {
    /// Place of the water.
    pub water: usize,
    /// Its mean score, or the logarithm of its worth.
    pub score: f64,
    /// Standard error of its difference to the others, as that of one water.
    pub standard_error: f64,
}

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
                let fit = ranking.worths.as_ref().ok()?;
                let effect = |w: &super::worth::Worth| WaterEffect {
                    water: w.water,
                    score: w.log_worth,
                    standard_error: w.standard_error,
                };
                Some(fit.worths.iter().map(effect).collect())
            }
            Results::Choices(_) => None,
        }
    }
}

/// What a taster adds to all waters alike does not make them differ: half the variance of the
/// differences to the other waters, on average, is a water's own.
fn of_scores(fit: &MixedFit) -> Vec<WaterEffect> {
    let own = |water: usize| {
        let differences = fit.differences.iter().filter(|d| d.first == water || d.second == water);
        let (sum, count) =
            differences.fold((0.0, 0.0), |(sum, n), d| (sum + d.standard_error.powi(2), n + 1.0));
        if count > 0.0 { (sum / count / 2.0_f64).sqrt() } else { 0.0 }
    };
    fit.means
        .iter()
        .map(|mean| WaterEffect {
            water: mean.water,
            score: mean.mean,
            standard_error: own(mean.water),
        })
        .collect()
}
