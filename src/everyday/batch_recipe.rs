//! The recipe of a batch: whole steps of the balance that miss the goals least, and of these the
//! ones that its error disturbs least.
//!
//! Everything that the balance can show is searched, from one step on. That no other weighing
//! misses the goals by less beyond their tolerances is proved, by the least misses of any grams
//! where a weighing reaches them, else by the search over all salts. Among weighings that miss as
//! little, those of few salts, each weighed well, are compared with the best of all by the misses to be
//! expected when the balance errs: a nearer water of which one salt is a guess is no nearer.
//!
//! Not the nearest whole steps there are, but where goals would be missed: among weighings that
//! keep them, a salt weighed to ± 100 % makes a nearer water on paper only, so misses are compared
//! as they are to be expected when the balance errs.

use std::time::Duration;

use crate::chemistry::Composition;
use crate::everyday::few_salts::{AS_WELL, FewSalts};
use crate::everyday::weigh_out::{Weighable, any_grams, whole_steps};
use crate::everyday::{Wanted, WeighedOut};
use crate::flight::BaseShare;
use crate::numerics::{normal_cdf, normal_density};
use crate::planner::lp::program;
use crate::planner::lp::program::Row;
use crate::planner::lp::solution::SolveError;
use crate::quantities::{Fraction, Grams, show};
use crate::stock::{DrySalt, Tools};
use crate::water::BaseWater;

/// Our choice: nobody waits longer for one search of whole steps.
const TIME_LIMIT: Duration = Duration::from_secs(2);

/// The coarsest accuracy of a weighing that can be asked for, %. Our choice: an error as large as what is
/// weighed.
pub const COARSEST_PERCENT: f64 = 100.0;

/// How accurately salts are weighed (k = 2).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Wished of each weighing: what the least batch follows from.
    pub wanted: Fraction,
    /// What is weighed worse than this is left out; nothing is when there is no such limit.
    pub at_worst: Option<Fraction>,
}

impl From<Fraction> for Accuracy {
    /// An accuracy without a limit.
    fn from(wanted: Fraction) -> Self {
        Self { wanted, at_worst: None }
    }
}

/// What to weigh for so many litres.
pub(crate) struct BatchRecipe {
    /// Without steps: of the same salts where they suffice.
    pub(crate) ideal: WeighedOut,
    /// In whole steps.
    pub(crate) weighing: Weighing,
}

/// Whole steps of some salts.
pub(crate) struct Weighing {
    /// Steps of the balance for each bag, g.
    pub(crate) step_g: Vec<f64>,
    /// What they give, in the order of the bags.
    pub(crate) made: WeighedOut,
    /// Whether no other weighing misses the goals by less.
    pub(crate) proved: bool,
}

/// The smallest batch of which some recipe keeps the goals with every salt weighed as wanted.
pub(crate) struct LeastBatch {
    pub(crate) litres: f64,
    /// The salts of that recipe.
    pub(crate) with: Vec<String>,
    /// The one of which it has least.
    pub(crate) by: String,
}

/// Recipes of one water for any number of litres.
pub(crate) struct Recipes<'a> {
    pub(crate) wanted: &'a Wanted,
    tools: &'a Tools,
    few: FewSalts<'a>,
    rows: Vec<Row>,
    pub(crate) accuracy: Accuracy,
    /// The least that the balance weighs as accurately as wanted, g.
    least_g: f64,
}

impl<'a> Recipes<'a> {
    pub(crate) fn new(
        wanted: &'a Wanted,
        accuracy: Accuracy,
        tools: &'a Tools,
    ) -> Result<Self, SolveError> {
        let few = FewSalts::new(&wanted.salts, &wanted.base, &wanted.target, 1.0)?;
        let step = tools.balance.resolution.value();
        let least_g = tools.balance.least_for(accuracy.wanted).value().max(step);
        let mut rows = Vec::new();
        program::push_rows(&wanted.target, &mut rows);
        Ok(Self { wanted, tools, few, rows, accuracy, least_g })
    }

    /// The same with another limit on the accuracy of weighings, or none.
    pub(crate) fn of_limited(
        &mut self,
        litres: f64,
        at_worst: Option<Fraction>,
    ) -> Result<BatchRecipe, SolveError> {
        let own = std::mem::replace(&mut self.accuracy.at_worst, at_worst);
        let found = self.of(litres);
        self.accuracy.at_worst = own;
        found
    }

    /// The best recipe of so many litres.
    pub(crate) fn of(&mut self, litres: f64) -> Result<BatchRecipe, SolveError> {
        let (beyond, inside) = self.few.least_misses();
        let mut found: Vec<Weighing> = Vec::new();
        let mut is_as_good_as_any_grams = false;
        for least_g in self.levels(litres) {
            let chosen = self.few.with_each(least_g / litres)?;
            let least_g = least_g.min(chosen.least_g_per_l * litres);
            let steps = self.steps(&chosen.members, &chosen.made.g_per_l, litres, least_g);
            let Ok(mut recipe) = steps else { continue };
            // No grams at all miss by less.
            recipe.proved = as_little(recipe.made.beyond, beyond);
            is_as_good_as_any_grams = recipe.proved && recipe.made.inside <= inside + AS_WELL;
            found.push(recipe);
            if is_as_good_as_any_grams {
                break;
            }
        }
        let Wanted { target, base, salts, .. } = self.wanted;
        if !is_as_good_as_any_grams
            && let any = any_grams(salts, base, target, 1.0)?
            && let Ok(mut recipe) = self.steps(&vec![true; salts.len()], &any.g_per_l, litres, 0.0)
        {
            recipe.proved |= as_little(recipe.made.beyond, beyond);
            found.push(recipe);
        }
        let weighing = self.best_of(found, litres)?;
        // What stocks would give exactly into the same water: the same salts where they suffice.
        let shares = weighing.made.shares.iter().copied();
        let blend = [blended(base.iter().zip(shares))];
        let used: Vec<bool> = weighing.made.g_per_l.iter().map(|g| *g > 0.0).collect();
        let same = self.exactly(&used, &blend)?;
        let ideal = if as_little(same.beyond, beyond) {
            same
        } else {
            self.exactly(&vec![true; salts.len()], &blend)?
        };
        Ok(BatchRecipe { ideal, weighing })
    }

    /// Any grams of some salts in a blend of base waters.
    fn exactly(&self, members: &[bool], blend: &[BaseShare]) -> Result<WeighedOut, SolveError> {
        let bags = self.wanted.salts.iter().zip(members);
        let some: Vec<DrySalt> =
            bags.filter(|(_, member)| **member).map(|(salt, _)| salt.clone()).collect();
        let mut made = any_grams(&some, blend, &self.wanted.target, 1.0)?;
        let mut grams = made.g_per_l.into_iter();
        made.g_per_l = members
            .iter()
            .map(|member| if *member { grams.next().unwrap_or_default() } else { 0.0 })
            .collect();
        Ok(made)
    }

    /// The smallest batch; none when the balance carries no load that large, or no salt is needed.
    pub(crate) fn least(&mut self) -> Option<LeastBatch> {
        /// Our choice: whole steps may need a little more than grams without steps.
        const TRIES: u32 = 20;
        const MORE: f64 = 1.01;
        if self.least_g > self.tools.balance.most.value() || self.few.most_of_each() <= 0.0 {
            return None;
        }
        let mut litres = up_to_three_figures(self.least_g / self.few.most_of_each());
        for _ in 0..TRIES {
            let each = self.least_g / litres;
            let best = missed(&self.few.with_each(each).ok()?.made);
            let made = self.of(litres).ok()?.weighing.made;
            let bags = self.wanted.salts.iter().zip(made.g_per_l.iter().map(|g| g * litres));
            let used: Vec<(&DrySalt, f64)> = bags.filter(|(_, g)| *g > 0.0).collect();
            let (by, least) = used.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
            // A billionth of a gram is rounding of the arithmetic.
            if *least >= self.least_g - 1e-9 && missed(&made) <= best {
                let with = used.iter().map(|(salt, _)| salt.name.clone()).collect();
                return Some(LeastBatch { litres, with, by: by.name.clone() });
            }
            litres = up_to_three_figures(MORE * litres);
        }
        None
    }

    /// Least grams of each salt that recipes are looked for with: what is weighed as wanted, or
    /// nearly as much as some recipe has, then less and less down to a step of the balance.
    fn levels(&self, litres: f64) -> Vec<f64> {
        /// Our choice: each level asks for half of the one before.
        const LESS: f64 = 0.5;
        let floor = self.floor_g();
        let mut levels = vec![self.least_g];
        let mut level = self.least_g.min(self.few.most_of_each() * litres) * LESS;
        while level > floor {
            levels.push(level);
            level *= LESS;
        }
        levels
    }

    /// The least that may be weighed, g.
    fn floor_g(&self) -> f64 {
        let balance = &self.tools.balance;
        let limit = self.accuracy.at_worst.map_or(0.0, |part| balance.least_for(part).value());
        limit.max(balance.resolution.value())
    }

    /// Of the recipes that miss as little as any the one with the least misses to be expected; an
    /// earlier one where it is as good.
    fn best_of(&self, found: Vec<Weighing>, litres: f64) -> Result<Weighing, SolveError> {
        let least = found.iter().map(|recipe| recipe.made.beyond).fold(f64::INFINITY, f64::min);
        // Whatever misses as little as a recipe of which that is proved is proved as well.
        let proved = found.iter().any(|r| r.proved && as_little(least, r.made.beyond));
        let mut kept: Vec<Weighing> =
            found.into_iter().filter(|recipe| as_little(recipe.made.beyond, least)).collect();
        let fewest = kept.iter().map(|recipe| missed(&recipe.made)).min();
        kept.retain(|recipe| Some(missed(&recipe.made)) == fewest);
        let mut rated: Vec<(f64, Weighing)> =
            kept.into_iter().map(|r| (self.expected(&r.made, litres), r)).collect();
        let best = rated.iter().map(|(expected, _)| *expected).fold(f64::INFINITY, f64::min);
        let place = rated.iter().position(|(expected, _)| *expected <= best + AS_WELL);
        let place = place.ok_or(SolveError::NothingFits)?;
        Ok(Weighing { proved, ..rated.swap_remove(place).1 })
    }

    /// Misses to be expected, beyond tolerance and inside together, in units of miss: each goal's
    /// value is normal around its plan, with the standard uncertainty that the weighings leave.
    fn expected(&self, made: &WeighedOut, litres: f64) -> f64 {
        let weighed = self.wanted.salts.iter().zip(&made.g_per_l).filter(|(_, g)| **g > 0.0);
        let errors: Vec<_> = weighed
            .map(|(salt, g)| {
                let u = self.tools.weighs(Grams::new(g * litres)).standard().value();
                salt.per_gram() * (u / litres)
            })
            .collect();
        let miss = |row: &Row| {
            let value = made.water.dot(&row.form);
            let u = errors.iter().map(|of| of.dot(&row.form).powi(2)).sum::<f64>().sqrt();
            let below = expected_above_zero(row.reference + row.slack_low - value, u);
            let above = expected_above_zero(value - row.reference - row.slack_high, u);
            row.rate * (below + above)
        };
        self.rows.iter().map(miss).sum()
    }

    /// The best whole steps of some salts.
    fn steps(
        &self,
        members: &[bool],
        ideal_g_per_l: &[f64],
        litres: f64,
        least_g: f64,
    ) -> Result<Weighing, SolveError> {
        let Wanted { target, base, salts, .. } = self.wanted;
        let weighable: Vec<Weighable> = ideal_g_per_l
            .iter()
            .map(|g| {
                let balance = self.tools.weighs(Grams::new(g * litres));
                let step = balance.resolution.value();
                let limit = self.accuracy.at_worst.map_or(0.0, |p| balance.least_for(p).value());
                let on_balance = g * litres <= self.tools.balance.most.value();
                let weighable = if on_balance { least_g } else { 0.0 };
                Weighable {
                    step_g: step,
                    least_g: step.max(limit).max(weighable),
                    most_g: balance.most.value(),
                }
            })
            .collect();
        let used = |j: usize| members.get(j).copied().unwrap_or_default();
        let kept: Vec<usize> = (0..salts.len()).filter(|j| used(*j)).collect();
        let some: Vec<DrySalt> = kept.iter().filter_map(|j| salts.get(*j).cloned()).collect();
        let each: Vec<Weighable> = kept.iter().filter_map(|j| weighable.get(*j).copied()).collect();
        let mut made = whole_steps(&some, base, target, litres, &each, TIME_LIMIT)?;
        let grams = |j: usize| {
            let place = kept.iter().position(|k| *k == j)?;
            made.g_per_l.get(place).copied()
        };
        made.g_per_l = (0..salts.len()).map(|j| grams(j).unwrap_or_default()).collect();
        Ok(Weighing {
            step_g: weighable.iter().map(|w| w.step_g).collect(),
            proved: made.proved && kept.len() == salts.len(),
            made,
        })
    }
}

/// A litre of several base waters as one.
pub(crate) fn blended<'a>(parts: impl Iterator<Item = (&'a BaseShare, f64)>) -> BaseShare {
    let mut composition = Composition::PURE_WATER;
    for (part, share) in parts {
        composition += part.water.composition * share;
    }
    let water = BaseWater { composition, ..BaseWater::distilled() };
    BaseShare { water, at_most: Fraction::new(1.0) }
}

/// What a normal value is expected to lie above zero, `E max(X, 0) = m·Φ(m/u) + u·φ(m/u)`.
fn expected_above_zero(mean: f64, u: f64) -> f64 {
    if !mean.is_finite() || u <= 0.0 {
        return if mean > 0.0 && mean.is_finite() { mean } else { 0.0 };
    }
    mean * normal_cdf(mean / u) + u * normal_density(mean / u)
}

/// Whether misses beyond tolerance are as small as others, in units of miss.
fn as_little(misses: f64, others: f64) -> bool {
    /// Our choice: what the search proves to, a ten-thousandth of a tolerance.
    const SAME: f64 = 1e-4;
    misses <= others + SAME * others.max(1.0)
}

fn missed(made: &WeighedOut) -> usize {
    made.goals.iter().filter(|goal| !goal.reached).count()
}

/// Rounded up to three figures: what is asked for at least.
fn up_to_three_figures(litres: f64) -> f64 {
    let step = 10.0_f64.powf(litres.log10().floor() - 2.0);
    show::plain((litres / step).ceil() * step).parse().unwrap_or(litres)
}
