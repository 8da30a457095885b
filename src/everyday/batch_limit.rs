//! What a limit on the accuracy of weighings does to a batch: the goals that it costs, and the limit from
//! which on it leaves something out at all.

use serde::Serialize;

use crate::everyday::batch_recipe::{BatchRecipe, COARSEST_PERCENT, Recipes};
use crate::everyday::{Accuracy, WeighedOut};
use crate::planner::lp::solution::SolveError;
use crate::quantities::{Fraction, show};

/// A limit on the accuracy of weighings that leaves salts out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeftOutAt {
    /// The limit, %.
    pub percent: f64,
    /// The salts that are then not weighed.
    pub salts: Vec<String>,
}

/// Goals that a limit on the accuracy of weighings costs.
pub(crate) fn missed_for_the_limit(
    recipes: &mut Recipes<'_>,
    litres: f64,
    made: &WeighedOut,
) -> Result<Vec<String>, SolveError> {
    if recipes.accuracy.at_worst.is_none() || made.goals.iter().all(|goal| goal.reached) {
        return Ok(Vec::new());
    }
    let free = recipes.of_limited(litres, None)?;
    let results = made.goals.iter().zip(&free.weighing.made.goals);
    let both = recipes.wanted.target.goals.iter().zip(results);
    let cost = both.filter(|(_, (limited, free))| !limited.reached && free.reached);
    Ok(cost.map(|(goal, _)| goal.subject.label()).collect())
}

/// The mildest limit on the accuracy at which a salt that is weighed worse than wanted is really left
/// out: below the error of the worst weighing it may be weighed better instead, of another recipe.
/// `weighed` are the salts of the batch, each with the error of its weighing, %.
pub(crate) fn left_out_at<'a>(
    recipes: &mut Recipes<'_>,
    litres: f64,
    weighed: impl Iterator<Item = (&'a str, f64)>,
) -> Option<LeftOutAt> {
    let Accuracy { wanted, at_worst } = recipes.accuracy;
    let percent = 100.0 * wanted.value();
    let weighed: Vec<(&str, f64)> = weighed.collect();
    let errors = weighed.iter().map(|(_, error)| *error);
    let mut worse: Vec<f64> =
        errors.filter(|error| show::is_above_as_shown(*error, percent)).collect();
    if at_worst.is_some() || worse.is_empty() {
        return None;
    }
    worse.sort_by(|a, b| b.total_cmp(a));
    worse.into_iter().find_map(|error| {
        let limit = just_below(error).min(COARSEST_PERCENT);
        let limited = recipes.of_limited(litres, Some(Fraction::new(limit / 100.0)));
        let BatchRecipe { weighing, .. } = limited.ok()?;
        let is_weighed = |name: &str| {
            let bags = recipes.wanted.salts.iter().zip(&weighing.made.g_per_l);
            bags.into_iter().any(|(bag, g)| bag.name == name && *g > 0.0)
        };
        let names = weighed.iter().map(|(name, _)| *name);
        let salts: Vec<String> =
            names.filter(|name| !is_weighed(name)).map(str::to_owned).collect();
        (!salts.is_empty()).then_some(LeftOutAt { percent: limit, salts })
    })
}

/// The largest number of two figures below another, as a person would type it.
fn just_below(value: f64) -> f64 {
    let step = 10.0_f64.powf(value.log10().floor() - 1.0);
    let below = ((value / step).ceil() - 1.0) * step;
    show::plain(below).parse().unwrap_or(below)
}
