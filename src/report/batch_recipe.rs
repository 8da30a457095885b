//! The recipe of a batch: few salts, each weighed well, in whole steps of the balance.

use std::time::Duration;

use crate::planner::few_salts::FewSalts;
use crate::planner::stages::SolveError;
use crate::planner::weigh_out::{Weighable, WeighedOut, any_grams, whole_steps};
use crate::quantities::{Fraction, Grams, show};
use crate::report::wanted::Wanted;
use crate::shelf::{DrySalt, Tools};

/// Our choice: nobody waits longer for the search of whole steps.
const PATIENCE: Duration = Duration::from_secs(2);

/// Our choice: a salt that the balance weighs worse than this (k = 2) is left out, since another
/// salt or the rest of the water serves the goals better than a guess.
pub(in crate::report) const WORST: Fraction = Fraction::new(0.2);

/// What to weigh for so many litres.
pub(super) struct BatchRecipe {
    /// Grams per litre without steps, in the order of the bags.
    pub(super) ideal_g_per_l: Vec<f64>,
    /// Steps of the balance for each, g.
    pub(super) step_g: Vec<f64>,
    /// In whole steps.
    pub(super) made: WeighedOut,
}

/// The smallest batch of which some recipe keeps the goals with every salt weighed as wished.
pub(super) struct LeastBatch {
    pub(super) litres: f64,
    /// The salts of that recipe.
    pub(super) with: Vec<String>,
    /// The one of which it has least.
    pub(super) by: String,
}

/// Recipes of one water for any number of litres.
pub(super) struct Recipes<'a> {
    wanted: &'a Wanted,
    tools: &'a Tools,
    few: FewSalts<'a>,
    /// The least that the balance weighs as accurately as wished, g.
    least_g: f64,
}

impl<'a> Recipes<'a> {
    pub(super) fn new(
        wanted: &'a Wanted,
        within: Fraction,
        tools: &'a Tools,
    ) -> Result<Self, SolveError> {
        let few = FewSalts::new(&wanted.salts, &wanted.base, &wanted.target, 1.0)?;
        let least_g = tools.balance.least_for(within).value().max(tools.balance.resolution.value());
        Ok(Self { wanted, tools, few, least_g })
    }

    /// The best recipe of so many litres.
    pub(super) fn of(&mut self, litres: f64) -> Result<BatchRecipe, SolveError> {
        let chosen = self.few.with_each(self.least_g / litres)?;
        let least_g = chosen.least_g_per_l * litres;
        if least_g >= self.tools.balance.least_for(WORST).value() {
            let found = self.steps(&chosen.members, &chosen.made.g_per_l, litres, least_g);
            if let Ok(found) = found
                && missed(&found.made) <= missed(&chosen.made)
            {
                return Ok(found);
            }
        }
        // No recipe keeps the goals with salts that are weighed well: the best of what can be.
        let ideal = any_grams(&self.wanted.salts, &self.wanted.base, &self.wanted.target, 1.0)?;
        self.steps(&vec![true; self.wanted.salts.len()], &ideal.g_per_l, litres, 0.0)
    }

    /// The smallest batch; none when the balance carries no load that large, or no salt is needed.
    pub(super) fn least(&mut self) -> Option<LeastBatch> {
        /// Our choice: whole steps may need a little more than grams without steps.
        const TRIES: u32 = 20;
        const MORE: f64 = 1.01;
        if self.least_g > self.tools.balance.most.value() || self.few.most_of_each() <= 0.0 {
            return None;
        }
        let mut litres = up_to_three_figures(self.least_g / self.few.most_of_each());
        for _ in 0..TRIES {
            let each = self.least_g / litres;
            let wish = missed(&self.few.with_each(each).ok()?.made);
            let made = self.of(litres).ok()?.made;
            let bags = self.wanted.salts.iter().zip(made.g_per_l.iter().map(|g| g * litres));
            let used: Vec<(&DrySalt, f64)> = bags.filter(|(_, g)| *g > 0.0).collect();
            let (by, least) = used.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
            // A billionth of a gram is rounding of the arithmetic.
            if *least >= self.least_g - 1e-9 && missed(&made) <= wish {
                let with = used.iter().map(|(salt, _)| salt.name.clone()).collect();
                return Some(LeastBatch { litres, with, by: by.name.clone() });
            }
            litres = up_to_three_figures(MORE * litres);
        }
        None
    }

    /// The best whole steps of some salts.
    fn steps(
        &self,
        members: &[bool],
        ideal_g_per_l: &[f64],
        litres: f64,
        least_g: f64,
    ) -> Result<BatchRecipe, SolveError> {
        let Wanted { target, base, salts, .. } = self.wanted;
        let weighable: Vec<Weighable> = ideal_g_per_l
            .iter()
            .map(|g| {
                let balance = self.tools.weighs(Grams::new(g * litres));
                let worst = balance.least_for(WORST).value();
                let on_scale = g * litres > self.tools.balance.most.value();
                Weighable {
                    step_g: balance.resolution.value(),
                    least_g: if on_scale { worst } else { worst.max(least_g) },
                }
            })
            .collect();
        let used = |j: usize| members.get(j).copied().unwrap_or_default();
        let kept: Vec<usize> = (0..salts.len()).filter(|j| used(*j)).collect();
        let some: Vec<DrySalt> = kept.iter().filter_map(|j| salts.get(*j).cloned()).collect();
        let each: Vec<Weighable> = kept.iter().filter_map(|j| weighable.get(*j).copied()).collect();
        let mut made = whole_steps(&some, base, target, litres, &each, PATIENCE)?;
        let grams = |j: usize| {
            let place = kept.iter().position(|k| *k == j)?;
            made.g_per_l.get(place).copied()
        };
        made.g_per_l = (0..salts.len()).map(|j| grams(j).unwrap_or_default()).collect();
        Ok(BatchRecipe {
            ideal_g_per_l: ideal_g_per_l.to_vec(),
            step_g: weighable.iter().map(|w| w.step_g).collect(),
            made,
        })
    }
}

fn missed(made: &WeighedOut) -> usize {
    made.goals.iter().filter(|goal| !goal.reached).count()
}

/// Rounded up to three figures: what is asked for at least.
fn up_to_three_figures(litres: f64) -> f64 {
    let step = 10.0_f64.powf(litres.log10().floor() - 2.0);
    show::plain((litres / step).ceil() * step).parse().unwrap_or(litres)
}
