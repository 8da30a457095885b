//! How far scores scattered in sessions that were tasted: what the next plan may count on.

use serde::{Deserialize, Serialize};

use crate::numerics::count;
use crate::session::plan::Attribute;
use crate::session::plan::panel::{USUAL_POWER, shift_found};
use crate::session::plan::{AssumedScatter, Scatter};

use crate::session::analysis::AttributeResults;
use crate::session::analysis::MixedFit;

/// The scatter of one attribute in one session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MeasuredScatter {
    /// The attribute with its scale.
    pub attribute: Attribute,
    /// Variance of one score around its taster's level and its water's mean: that of a cup and, with
    /// repeats, that of tasters by waters.
    pub total: f64,
    /// The part of it that lies between tasters, about how waters differ; `None` without repeats.
    pub taste: Option<f64>,
    /// Degrees of freedom behind it.
    pub degrees: usize,
}

/// The smallest difference between two waters that a session like this one finds with the usual
/// power among all its pairs, from the scatter it has measured; for the least precise pair. `None` with
/// one water.
#[must_use]
pub fn minimum_detectable_difference(fit: &MixedFit) -> Option<f64> {
    let vague =
        fit.differences.iter().max_by(|a, b| a.standard_error.total_cmp(&b.standard_error))?;
    let critical = (vague.interval.1 - vague.estimate) / vague.standard_error;
    let shift = shift_found(critical, vague.df, USUAL_POWER);
    Some(shift * vague.standard_error).filter(|least| least.is_finite())
}

/// The scatter that a model has measured; `None` without a model, or where one taster or one water
/// leaves nothing to see.
#[must_use]
pub fn measured(attribute: &Attribute, found: &AttributeResults) -> Option<MeasuredScatter> {
    let model = found.model.as_ref().ok()?;
    let tasters = found.panel.tasters.len();
    let degrees = tasters.saturating_sub(1) * model.means.len().saturating_sub(1);
    (degrees > 0).then(|| MeasuredScatter {
        attribute: attribute.clone(),
        total: model.variances.cup + model.variances.taster_by_water.unwrap_or(0.0),
        taste: model.variances.taster_by_water,
        degrees,
    })
}

/// The scatter of an attribute over several sessions, pooled by degrees of freedom; `None` when no
/// session scored it on this scale.
///
/// Without any repeats all of the scatter stands as that of tasters (see [`Scatter::assumed_scatter_for`]).
#[must_use]
pub fn pooled(attribute: &Attribute, sessions: &[MeasuredScatter]) -> Option<Scatter> {
    let same = |a: &Attribute| {
        let near = |x: f64, y: f64| (x - y).abs() <= f64::EPSILON * (1.0 + x.abs());
        a.name == attribute.name && near(a.low, attribute.low) && near(a.high, attribute.high)
    };
    let own = || sessions.iter().filter(|session| same(&session.attribute));
    let weighed = |part: &dyn Fn(&MeasuredScatter) -> Option<f64>| {
        let (sum, df) = own().fold((0.0, 0), |(sum, df), session| match part(session) {
            Some(value) => (sum + value * count(session.degrees), df + session.degrees),
            None => (sum, df),
        });
        (df > 0).then(|| sum / count(df))
    };
    let total = weighed(&|session| Some(session.total)).filter(|total| *total > 0.0)?;
    let repeated =
        weighed(&|session| session.taste.map(|_| session.total)).filter(|total| *total > 0.0);
    let known = repeated.and_then(|all| Some(weighed(&|session| session.taste)? / all));
    let share = known.map_or(1.0, |share| share.clamp(0.0, 1.0));
    Some(Scatter {
        assumed_scatter: AssumedScatter {
            cup: (total * (1.0 - share)).sqrt(),
            taste: (total * share).sqrt(),
        },
        split: known.is_some(),
        sessions: own().count(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::plan::ScoreDesign;

    fn body() -> Attribute {
        Attribute {
            name: "body".to_owned(),
            low: 0.0,
            high: 10.0,
            step: 0.5,
            low_word: String::new(),
            high_word: String::new(),
        }
    }

    fn once(taste: Option<f64>) -> [MeasuredScatter; 1] {
        [MeasuredScatter { attribute: body(), total: 4.0, taste, degrees: 12 }]
    }

    #[test]
    fn what_nobody_split_is_all_the_cup_s_for_one_taster() {
        let is = |assumed_scatter: AssumedScatter, cup: f64, taste: f64| {
            (assumed_scatter.cup - cup).abs() < 1e-12
                && (assumed_scatter.taste - taste).abs() < 1e-12
        };
        let whole = pooled(&body(), &once(None));
        assert!(whole.is_some_and(|found| is(found.assumed_scatter_for(1), 2.0, 0.0)));
        assert!(whole.is_some_and(|found| is(found.assumed_scatter_for(5), 0.0, 2.0)));
        let split = pooled(&body(), &once(Some(3.0)));
        assert!(split.is_some_and(|found| is(found.assumed_scatter_for(1), 1.0, 3.0_f64.sqrt())));
        // Alone, two waters are then never found to differ at no distance.
        let alone = ScoreDesign { waters: 4, tasters: 1, rounds: 3, per_tray: 4 };
        let least = whole
            .and_then(|found| alone.smallest_difference(found.assumed_scatter_for(1), 0.05, 0.8));
        assert!(least.is_some_and(
            |least| least > alone.standard_error(AssumedScatter { cup: 2.0, taste: 0.0 })
        ));
    }
}
