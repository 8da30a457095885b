//! Dry salts for a batch of one water.

use std::time::Duration;

use serde::Serialize;
use thiserror::Error;

use crate::chemistry::{ChemistryError, Composition};
use crate::planner::stages::SolveError;
use crate::planner::weigh_out::{any_grams, whole_steps};
use crate::quantities::uncertain::{Input, Spread, propagate};
use crate::quantities::{Fraction, Grams};
use crate::report::clouding::Clouding;
use crate::report::everyday_cost::{EverydayCost, Instead, salts_cost};
use crate::report::keyed::Keyed;
use crate::report::lab::Lab;
use crate::shelf::{DrySalt, Price, Stock, Tools};
use crate::waters::{BaseShare, Measure, Subject, Target};

/// What is wanted every day.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// Its goals, with its name.
    pub target: Target,
    /// What the salts go into.
    pub base: Vec<BaseShare>,
    /// The bags of the shelf.
    pub salts: Vec<DrySalt>,
    /// The stocks of the shelf.
    pub stocks: Vec<Stock>,
}

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

/// One salt of a batch.
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
    /// The stock of the shelf that does the same.
    pub stock: String,
    /// How much of it, mL per litre.
    pub stock_ml_per_l: f64,
}

/// One goal of a batch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BatchGoal {
    /// What it is set on.
    pub measure: String,
    /// The wish.
    pub want: String,
    /// What the water has, in the unit of the wish.
    pub got: Option<f64>,
    /// Expanded uncertainty (k = 2), same unit; none for ratios.
    pub expanded: Option<f64>,
    /// Whether it is within tolerance.
    pub reached: bool,
}

/// A batch of water from dry salts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BatchReport {
    /// Name of the water.
    pub name: String,
    /// Litres made.
    pub litres: f64,
    /// The salts.
    pub salts: Vec<BatchSalt>,
    /// Base waters with their share.
    pub base: Vec<(String, f64)>,
    /// Whether no other whole steps are better.
    pub proved: bool,
    /// The goals.
    pub goals: Vec<BatchGoal>,
    /// What the water holds, mg/L; alkalinity as HCO3.
    pub mg_per_l: Keyed,
    /// Expanded uncertainty (k = 2) of each, mg/L.
    pub expanded_mg_per_l: Keyed,
    /// Wished accuracy of each weighing, %.
    pub within_percent: f64,
    /// The least litres of which this balance weighs every salt as accurately as that.
    pub least_litres: Option<f64>,
    /// The salt that decides it.
    pub least_by: Option<String>,
    /// Whether the finished water stays clear.
    pub clouding: Clouding,
    /// What it costs.
    pub cost: Option<EverydayCost>,
}

/// Our choice: nobody waits longer for the search of whole steps.
const PATIENCE: Duration = Duration::from_secs(2);

impl BatchReport {
    /// Works out a batch.
    ///
    /// # Errors
    /// When the planner or the chemistry has no answer.
    pub fn new(
        wanted: &Wanted,
        litres: f64,
        within: Fraction,
        tools: &Tools,
        lab: &Lab,
        (prices, instead): (&[(String, Price)], &Instead),
    ) -> Result<Self, BatchError> {
        let Wanted { target, base, salts, stocks } = wanted;
        let ideal = any_grams(salts, base, target, 1.0)?;
        let balance = |g_per_l: f64| tools.weighs(Grams::new(g_per_l * litres));
        let steps: Vec<f64> =
            ideal.g_per_l.iter().map(|g| balance(*g).resolution.value()).collect();
        let made = whole_steps(salts, base, target, litres, &steps, PATIENCE)?;
        let doubts = Doubts { salts, g_per_l: &made.g_per_l, litres, tools, water: made.water };
        let lines = (0..salts.len()).filter_map(|j| {
            let (salt, step) = (salts.get(j)?, steps.get(j)?);
            let (g_per_l, ideal) = (*made.g_per_l.get(j)?, *ideal.g_per_l.get(j)?);
            let g = (g_per_l * litres / step).round() * step;
            let u = balance(g_per_l).standard().value();
            let stock = stocks.iter().find(|s| s.name() == salt.name)?;
            (g > 0.0 || ideal > 0.0).then(|| BatchSalt {
                name: salt.name.clone(),
                formula: salt.salt.formula.to_string(),
                g,
                g_without_steps: ideal * litres,
                step_g: *step,
                expanded_percent: if g > 0.0 { 200.0 * u / g } else { 0.0 },
                stock: salt.name.clone(),
                stock_ml_per_l: g_per_l / salt.g_per_meq() / stock.meq_per_ml().value(),
            })
        });
        let least = salts
            .iter()
            .zip(&ideal.g_per_l)
            .filter(|(_, g)| **g > 0.0)
            .map(|(s, g)| (tools.balance.least_for(within).value() / g, s.name.clone()))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let goals = target
            .goals
            .iter()
            .zip(&made.goals)
            .map(|(goal, result)| BatchGoal {
                measure: goal.subject.key(),
                want: goal.wish(),
                got: result.got.map(|got| goal.in_unit(got)),
                expanded: match goal.subject {
                    Subject::Measure(m) => Some(goal.in_unit(doubts.expanded(|w| m.of(w)))),
                    Subject::Ratio { .. } => None,
                },
                reached: result.reached,
            })
            .collect();
        let shares = base.iter().zip(&made.shares).filter(|(_, share)| **share > 0.0);
        let shares: Vec<(String, f64)> =
            shares.map(|(b, share)| (b.water.name.clone(), *share)).collect();
        let weighed: Vec<(&DrySalt, f64)> =
            salts.iter().zip(made.g_per_l.iter().copied()).collect();
        Ok(Self {
            name: target.name.clone(),
            litres,
            salts: lines.collect(),
            proved: made.proved,
            goals,
            mg_per_l: Keyed::mg_per_l(&made.water),
            expanded_mg_per_l: doubts.of_ions(),
            within_percent: 100.0 * within.value(),
            least_litres: least.as_ref().map(|(litres, _)| *litres),
            least_by: least.map(|(_, name)| name),
            clouding: lab.clouding(&made.water)?,
            cost: EverydayCost::new(&salts_cost(&weighed), &shares, prices, litres, instead),
            base: shares,
        })
    }
}

/// What is not known exactly of a batch: each weighing, each lot, the volume.
struct Doubts<'a> {
    salts: &'a [DrySalt],
    g_per_l: &'a [f64],
    litres: f64,
    tools: &'a Tools,
    water: Composition,
}

impl Doubts<'_> {
    /// Expanded uncertainty of something linear in the water.
    fn expanded(&self, of: impl Fn(&Composition) -> f64) -> f64 {
        let mut inputs =
            vec![Input::new("volume", 1.0, Spread::Rectangular(self.tools.fill.value()))];
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
        let base =
            of(&self.water) - used.iter().map(|(salt, g)| of(&(salt.per_gram() * *g))).sum::<f64>();
        let results = propagate(&inputs, |x| {
            let volume = x.first().copied().unwrap_or(1.0);
            let salts: f64 = used
                .iter()
                .zip(x.get(1..).unwrap_or_default().chunks(3))
                .map(|((salt, g), factors)| {
                    of(&(salt.per_gram() * *g)) * factors.iter().product::<f64>()
                })
                .sum();
            vec![base + salts / volume]
        });
        results.first().map_or(0.0, crate::quantities::uncertain::Uncertain::expanded)
    }

    fn of_ions(&self) -> Keyed {
        let held = Keyed::mg_per_l(&self.water);
        let of = |key: &str, water: &Composition| {
            let found = Keyed::mg_per_l(water).0.into_iter().find(|(k, _)| *k == key);
            found.map_or(0.0, |(_, mg)| mg)
        };
        Keyed(held.0.iter().map(|(key, _)| (*key, self.expanded(|w| of(key, w)))).collect())
    }
}

/// A target that is another water again: near every ion of it.
#[must_use]
pub fn like(name: &str, water: &Composition) -> Target {
    /// Our choice: less than this is no wish, mg/L.
    const NOTHING_MG_PER_L: f64 = 0.001;
    let measures = [
        Measure::Calcium,
        Measure::Magnesium,
        Measure::Sodium,
        Measure::Potassium,
        Measure::Chloride,
        Measure::Sulfate,
        Measure::Bicarbonate,
    ];
    let goals = measures
        .into_iter()
        .filter_map(|m| {
            let mg =
                m.of(water) / m.native_per(crate::quantities::Unit::parse("mg/L").ok()?).ok()?;
            let wish = (mg > NOTHING_MG_PER_L).then(|| format!("{mg:.6} mg/L"))?;
            crate::waters::Goal::parse(m, &wish).ok()
        })
        .collect();
    Target { name: name.to_owned(), goals }
}
