//! Dry salts for a batch of one water.

use serde::Serialize;
use thiserror::Error;

use crate::assessment::{Clouding, Lab, Unknowns};
use crate::chemistry::{ChemistryError, Composition, KeyedAmounts};
use crate::everyday::batch_limit::{LeftOutAt, left_out_at, missed_for_the_limit};
use crate::everyday::batch_poured::{ByDispenser, ByStock, NotWeighed, not_weighed};
use crate::everyday::batch_recipe::{BatchRecipe, LeastBatch, Recipes};
use crate::everyday::concentrate::planned::counted_as_carbonated;
use crate::everyday::cost::salts_cost;
use crate::everyday::{Accuracy, EverydayCost, ReadyProduct, SaltCautions, Wanted};
use crate::flight::{BaseShare, Dispenser, Subject};
use crate::mix::spread_base::{Blend, exact};
use crate::planner::lp::solution::SolveError;
use crate::quantities::uncertain::{COVERAGE, Input, Spread, Uncertain, propagate};
use crate::quantities::{Grams, show};
use crate::stock::{DrySalt, Price, Tools};
use crate::water::Measure;

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum BatchError {
    /// The planner has none.
    #[error(transparent)]
    Plan(#[from] SolveError),
    /// The chemistry has none.
    #[error(transparent)]
    Chemistry(#[from] ChemistryError),
}

/// What to weigh of one salt, and how accurate that is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BatchSalt {
    /// Name of the bag.
    pub name: String,
    /// Formula.
    pub formula: String,
    /// Grams to weigh, a whole number of steps of the balance.
    pub g: f64,
    /// Grams that would be weighed if the balance had no steps.
    pub g_without_steps: f64,
    /// Step of the balance, g.
    pub step_g: f64,
    /// Expanded uncertainty (k = 2) of the weighing, % of it.
    pub expanded_percent: f64,
    /// The stock of the shelf that does the same, without steps.
    #[serde(flatten)]
    pub by_stock: ByStock,
}

impl BatchSalt {
    /// Its name, and the error of its weighing, %.
    fn error(&self) -> (&str, f64) {
        (&self.name, self.expanded_percent)
    }
}

/// A goal beside what the weighed salts give.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BatchGoal {
    /// What it is set on.
    pub measure: String,
    /// The goal.
    pub want: String,
    /// What the water has, in the unit of the goal.
    pub got: Option<f64>,
    /// Unit of both; of a ratio what its sides are weighed in.
    pub unit: &'static str,
    /// Expanded uncertainty (k = 2), same unit; none where there is no ratio.
    pub expanded: Option<f64>,
    /// How far it is from the goal, same unit: negative below, positive above, 0 inside.
    pub miss: f64,
    /// Whether it is within tolerance.
    pub reached: bool,
}

/// A measure of the finished water.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BatchMeasure {
    /// Its key.
    pub measure: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// How much.
    pub value: f64,
    /// Expanded uncertainty (k = 2).
    pub expanded: f64,
}

/// A base water of a batch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BatchBase {
    /// Its name.
    pub water: String,
    /// Its share of the volume, 0 to 1.
    pub share: f64,
    /// How much of it.
    pub litres: f64,
}

/// A batch of water from dry salts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BatchReport {
    /// Name of the water.
    pub name: String,
    /// What is to be said of the water itself.
    pub notes: Vec<String>,
    /// Bags that are taken to hold other than they say, and what to weigh if they do not.
    pub bags: Vec<String>,
    /// Litres made.
    pub litres: f64,
    /// The salts.
    pub salts: Vec<BatchSalt>,
    /// Salts that the water would need and of which nothing is weighed.
    pub not_weighed: Vec<NotWeighed>,
    /// The stocks in the place of all these salts, measured with a dispenser.
    pub by_dispenser: Option<ByDispenser>,
    /// Base waters with their share.
    pub base: Vec<BatchBase>,
    /// Whether no other weighing misses the goals by less beyond their tolerances.
    pub proved: bool,
    /// The goals.
    pub goals: Vec<BatchGoal>,
    /// Sums that the water is judged by, those that were measured.
    pub measures: Vec<BatchMeasure>,
    /// What the water holds, mg/L; alkalinity as HCO3.
    pub mg_per_l: KeyedAmounts,
    /// What is not known of it.
    #[serde(flatten)]
    pub unknowns: Unknowns,
    /// Expanded uncertainty (k = 2) of each, mg/L.
    pub expanded_mg_per_l: KeyedAmounts,
    /// Base waters whose analyses are taken as exact.
    pub exact_analyses: Vec<String>,
    /// Wished accuracy of each weighing, %.
    pub within_percent: f64,
    /// What is weighed worse than this is left out, %; nothing is when there is no such limit.
    pub at_worst_percent: Option<f64>,
    /// The least that this limit leaves, g.
    pub at_worst_g: Option<f64>,
    /// Goals that the weighing misses and that it would keep without that limit.
    pub missed_for_the_limit: Vec<String>,
    /// Smallest step of the balance, g.
    pub step_g: f64,
    /// The least litres for which some recipe keeps the goals with every salt weighed as
    /// accurately as that; none when there is no such batch.
    pub least_litres: Option<f64>,
    /// The salt that sets it: the one of which that recipe has least.
    pub least_by: Option<String>,
    /// The salts of that recipe.
    pub least_with: Vec<String>,
    /// Salts that are weighed worse than that in this batch.
    pub worse_than_wanted: Vec<String>,
    /// The limit on the accuracy from which on something would be left out; nothing where there is a
    /// limit already, or none leaves anything out.
    pub left_out_at: Option<LeftOutAt>,
    /// Whether the finished water stays clear.
    pub clouding: Clouding,
    /// What to mind with each salt that is weighed.
    pub cautions: Vec<SaltCautions>,
    /// What it costs.
    pub cost: Option<EverydayCost>,
}

impl BatchReport {
    /// Works out a batch.
    ///
    /// # Errors
    /// When the planner or the chemistry has no answer.
    pub fn new(
        wanted: &Wanted,
        litres: f64,
        accuracy: impl Into<Accuracy>,
        tools: &Tools,
        lab: &Lab,
        (prices, ready_product): (&[(String, Price)], &ReadyProduct),
    ) -> Result<Self, BatchError> {
        let Wanted { target, base, salts, stocks, notes } = wanted;
        let accuracy: Accuracy = accuracy.into();
        let mut recipes = Recipes::new(wanted, accuracy, tools)?;
        let BatchRecipe { ideal, weighing } = recipes.of(litres)?;
        let least = recipes.least();
        let made = &weighing.made;
        let balance = |g_per_l: f64| tools.weighs(Grams::new(g_per_l * litres));
        let shares: Vec<(&BaseShare, f64)> = base.iter().zip(made.shares.iter().copied()).collect();
        let uncertainty_sources =
            Doubts { salts, g_per_l: &made.g_per_l, shares: &shares, litres, tools };
        let lines = (0..salts.len()).filter_map(|j| {
            let (salt, step) = (salts.get(j)?, *weighing.step_g.get(j)?);
            let (g_per_l, ideal) = (*made.g_per_l.get(j)?, *ideal.g_per_l.get(j)?);
            let g = (g_per_l * litres / step).round() * step;
            let u = balance(g_per_l).standard().value();
            let by_stock = ByStock::of(salt, ideal, litres, stocks)?;
            (g > 0.0).then(|| BatchSalt {
                name: salt.name.clone(),
                formula: salt.salt.formula.to_string(),
                g,
                g_without_steps: ideal * litres,
                step_g: step,
                expanded_percent: 100.0 * COVERAGE * u / g,
                by_stock,
            })
        });
        let lines: Vec<BatchSalt> = lines.collect();
        let within_percent = 100.0 * accuracy.wanted.value();
        let left_out_at = left_out_at(&mut recipes, litres, lines.iter().map(BatchSalt::error));
        let missed_for_the_limit = missed_for_the_limit(&mut recipes, litres, made)?;
        let goals = target.goals.iter().zip(&made.goals).map(|(goal, result)| BatchGoal {
            measure: goal.subject.key(),
            want: goal.words(),
            unit: goal.unit.symbol(),
            got: result.got.map(|got| goal.in_unit(got)),
            expanded: match goal.subject {
                Subject::Measure(m) => {
                    Some(goal.in_unit(uncertainty_sources.expanded(|w| m.of(w))))
                }
                Subject::Ratio { of, to, of_factor, to_factor } => result.got.map(|_| {
                    goal.in_unit(
                        uncertainty_sources
                            .expanded(|w| of.of(w) * of_factor / (to.of(w) * to_factor)),
                    )
                }),
            },
            miss: goal.in_unit(result.miss),
            reached: result.reached,
        });
        let goals = goals.collect();
        let measures = SUMS.into_iter().filter_map(|m| {
            Some(BatchMeasure {
                measure: m.key(),
                unit: m.usual_unit().symbol(),
                value: m.measured_usual(&made.water)?,
                expanded: uncertainty_sources.expanded(|w| m.of(w)) / m.native_per_usual_unit(),
            })
        });
        let poured = shares.iter().filter(|(_, share)| *share > 0.0);
        let poured: Vec<(String, f64)> =
            poured.map(|(b, share)| (b.water.name.clone(), *share)).collect();
        let weighed: Vec<(&DrySalt, f64)> =
            salts.iter().zip(made.g_per_l.iter().copied()).collect();
        Ok(Self {
            name: target.name.clone(),
            notes: notes.iter().cloned().chain(counted_as_carbonated(used(&weighed))).collect(),
            bags: Vec::new(),
            litres,
            not_weighed: not_weighed(wanted, made, &ideal, litres),
            by_dispenser: None,
            proved: weighing.proved,
            at_worst_g: accuracy.at_worst.map(|part| tools.balance.least_for(part).value()),
            at_worst_percent: accuracy.at_worst.map(|part| 100.0 * part.value()),
            missed_for_the_limit,
            left_out_at,
            step_g: tools.balance.resolution.value(),
            goals,
            measures: measures.collect(),
            mg_per_l: KeyedAmounts::mg_per_l(&made.water),
            unknowns: Unknowns::of(&made.water),
            expanded_mg_per_l: uncertainty_sources.of_ions(&made.water),
            exact_analyses: exact(shares.iter().filter(|(_, s)| *s > 0.0).map(|(b, _)| *b)),
            within_percent,
            least_litres: least.as_ref().map(|least| least.litres),
            least_by: least.as_ref().map(|least| least.by.clone()),
            least_with: least.map_or(Vec::new(), |LeastBatch { with, .. }| with),
            worse_than_wanted: lines
                .iter()
                .filter(|line| show::is_above_as_shown(line.expanded_percent, within_percent))
                .map(|line| line.name.clone())
                .collect(),
            salts: lines,
            clouding: lab.clouding(&made.water)?,
            cautions: SaltCautions::of(used(&weighed).map(|bag| &bag.salt)),
            cost: EverydayCost::new(&salts_cost(&weighed), &poured, prices, litres, ready_product),
            base: poured
                .into_iter()
                .map(|(water, share)| BatchBase { water, share, litres: share * litres })
                .collect(),
        })
    }
}

impl BatchReport {
    /// Adds the doses of the stocks that stand beside the salts, in whole steps of a dispenser:
    /// the best there are for so many litres of the same base waters.
    ///
    /// # Errors
    /// As the planner; a batch so small that no dose fits has none.
    pub fn measure_with(
        &mut self,
        wanted: &Wanted,
        dispenser: &Dispenser,
    ) -> Result<(), SolveError> {
        let weighed = self.salts.iter().map(|salt| (&salt.by_stock, salt.g_without_steps));
        let left_out = self.not_weighed.iter().map(|salt| (&salt.by_stock, salt.g_without_steps));
        let stocks: Vec<&str> = weighed
            .chain(left_out)
            .filter(|(_, grams)| *grams > 0.0)
            .map(|(of, _)| of.stock.as_str())
            .collect();
        let share_of = |base: &BaseShare| {
            let part = self.base.iter().find(|part| part.water == base.water.name);
            part.map_or(0.0, |part| part.share)
        };
        let shares: Vec<f64> = wanted.base.iter().map(share_of).collect();
        self.by_dispenser = ByDispenser::of(wanted, &stocks, (&shares, self.litres), dispenser)?;
        Ok(())
    }
}

/// The bags of which something is weighed.
fn used<'a>(weighed: &[(&'a DrySalt, f64)]) -> impl Iterator<Item = &'a DrySalt> {
    weighed.iter().filter(|(_, g)| *g > 0.0).map(|(bag, _)| *bag)
}

/// The sums that every batch names.
const SUMS: [Measure; 3] = [Measure::Hardness, Measure::Alkalinity, Measure::DissolvedSolids];

/// What is not known exactly of a batch: each weighing, each lot, the volume, the analyses of base
/// waters, and how these are measured out where there are several.
struct Doubts<'a> {
    salts: &'a [DrySalt],
    g_per_l: &'a [f64],
    shares: &'a [(&'a BaseShare, f64)],
    litres: f64,
    tools: &'a Tools,
}

/// Inputs that each salt brings: weighing, purity, moisture.
const PER_SALT: usize = 3;

impl Doubts<'_> {
    /// Expanded uncertainty of something that follows from the water.
    fn expanded(&self, of: impl Fn(&Composition) -> f64) -> f64 {
        let fill = Spread::Rectangular(self.tools.fill.value());
        let mut inputs = vec![Input::new("volume", 1.0, fill)];
        let used: Vec<(&DrySalt, f64)> =
            self.salts.iter().zip(self.g_per_l.iter().copied()).filter(|(_, g)| *g > 0.0).collect();
        for (salt, g) in &used {
            let load = g * self.litres;
            let u = self.tools.weighs(Grams::new(load)).standard().value() / load;
            inputs.push(Input::new(format!("{}: weighing", salt.name), 1.0, Spread::Normal(u)));
            let purity = salt.lot.purity_half_width() / salt.lot.purity.value();
            inputs.push(Input::new(
                format!("{}: purity", salt.name),
                1.0,
                Spread::Rectangular(purity),
            ));
            let dry = salt.lot.moisture_half_width() / (1.0 - salt.lot.moisture.value());
            inputs.push(Input::new(
                format!("{}: moisture", salt.name),
                1.0,
                Spread::Rectangular(dry),
            ));
        }
        // One base water is filled up to the mark; of several, all but the last are measured.
        let poured: Vec<&(&BaseShare, f64)> =
            self.shares.iter().filter(|(_, share)| *share > 0.0).collect();
        let (last, measured) = poured.split_last().map_or((None, &[][..]), |(l, m)| (Some(l), m));
        for (base, _) in measured {
            inputs.push(Input::new(format!("{}: measured", base.water.name), 1.0, fill));
        }
        let blend = Blend::of(self.shares.iter().copied());
        let before = inputs.len();
        inputs.extend(blend.uncertainty_sources().map(|doubt| doubt.input));
        let results = propagate(&inputs, |x| {
            let (x, analyses) = x.split_at(before.min(x.len()));
            let volume = x.first().copied().unwrap_or(1.0);
            let rest = x.get(1..).unwrap_or_default();
            let (salts, bases) = rest.split_at(rest.len().min(PER_SALT * used.len()));
            let mut water = Composition::PURE_WATER;
            for ((salt, g), factors) in used.iter().zip(salts.chunks(PER_SALT)) {
                water += salt.per_gram() * (g * factors.iter().product::<f64>() / volume);
            }
            let mut room = 1.0;
            for ((base, share), factor) in measured.iter().zip(bases) {
                let part = share * factor / volume;
                water += base.water.composition * part;
                room -= part;
            }
            if let Some((base, _)) = last {
                water += base.water.composition * room;
            }
            water += blend.error(analyses);
            vec![of(&water)]
        });
        results.first().map_or(0.0, Uncertain::expanded)
    }

    fn of_ions(&self, water: &Composition) -> KeyedAmounts {
        let held = KeyedAmounts::mg_per_l(water);
        let of = |key: &str, water: &Composition| {
            let found = KeyedAmounts::mg_per_l(water).0.into_iter().find(|(k, _)| *k == key);
            found.map_or(0.0, |(_, mg)| mg)
        };
        held.map(|key| self.expanded(|w| of(key, w)))
    }
}
