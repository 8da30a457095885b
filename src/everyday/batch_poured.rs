//! A batch poured from the stocks of the shelf with a dispenser, in the place of weighed salts.

use std::time::Duration;

use serde::Serialize;

use crate::everyday::batch_recipe::blended;
use crate::everyday::{Wanted, WeighedOut};
use crate::flight::{Dispenser, DoseLimits, Flight, StockRule};
use crate::mix::shelf_reach::plain_flight;
use crate::planner::lp::solution::SolveError;
use crate::planner::steps::deliver_target;
use crate::quantities::Litres;
use crate::stock::{DrySalt, Stock};

/// Our choice: nobody waits longer for the search of whole steps.
const TIME_LIMIT: Duration = Duration::from_secs(2);

/// What a stock of the shelf gives in the place of a weighed salt, exactly.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ByStock {
    /// Name of the stock.
    pub stock: String,
    /// How much of it, mL per litre.
    pub stock_ml_per_l: f64,
    /// For all litres, mL.
    pub stock_ml: f64,
    /// For all litres, g.
    pub stock_g: f64,
}

/// A salt that the water would need and of which nothing is weighed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NotWeighed {
    /// Name of the bag.
    pub name: String,
    /// Formula.
    pub formula: String,
    /// Grams that would be weighed if the balance had no steps.
    pub g_without_steps: f64,
    /// The stock of the shelf that gives it.
    #[serde(flatten)]
    pub by_stock: ByStock,
}

/// Doses of stocks that make the same batch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ByDispenser {
    /// Name of the dispenser.
    pub dispenser: String,
    /// Syringe, pipette, balance or dropper.
    pub kind: &'static str,
    /// mL or g.
    pub unit: &'static str,
    /// What its steps are called where they are counted.
    pub counted: Option<&'static str>,
    /// The doses.
    pub doses: Vec<PouredDose>,
    /// Goals that they miss.
    pub missed: Vec<String>,
}

/// A dose for the whole batch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PouredDose {
    /// Name of the stock.
    pub stock: String,
    /// Steps of the dispenser.
    pub steps: u32,
    /// The amount, in the unit.
    pub amount: f64,
}

impl ByStock {
    /// What the stock of a bag gives in its place; `None` where the shelf has none.
    pub(crate) fn of(salt: &DrySalt, g_per_l: f64, litres: f64, stocks: &[Stock]) -> Option<Self> {
        let (stock, ml_per_l) = salt.in_stock(g_per_l, stocks)?;
        let ml = ml_per_l * litres;
        Some(Self {
            stock: salt.name.clone(),
            stock_ml_per_l: ml_per_l,
            stock_ml: ml,
            stock_g: ml * stock.density().value.value(),
        })
    }
}

/// The salts that a water would need and of which nothing is weighed.
pub(crate) fn not_weighed(
    wanted: &Wanted,
    made: &WeighedOut,
    ideal: &WeighedOut,
    litres: f64,
) -> Vec<NotWeighed> {
    let pairs = wanted.salts.iter().zip(made.g_per_l.iter().zip(&ideal.g_per_l));
    let missing = pairs.filter(|(_, (made, ideal))| **made <= 0.0 && **ideal > 0.0);
    let one = |(salt, (_, ideal)): (&DrySalt, (&f64, &f64))| {
        Some(NotWeighed {
            name: salt.name.clone(),
            formula: salt.salt.formula.to_string(),
            g_without_steps: ideal * litres,
            by_stock: ByStock::of(salt, *ideal, litres, &wanted.stocks)?,
        })
    };
    missing.filter_map(one).collect()
}

impl ByDispenser {
    /// Whole steps of a dispenser for so many litres of the base waters in these shares: the best there
    /// are of some stocks. None where the batch is so small that no dose fits.
    ///
    /// # Errors
    /// As the planner.
    pub(crate) fn of(
        wanted: &Wanted,
        stocks: &[&str],
        (shares, litres): (&[f64], f64),
        dispenser: &Dispenser,
    ) -> Result<Option<Self>, SolveError> {
        let of_recipe = |stock: &&Stock| stocks.contains(&stock.name());
        let stocks: Vec<Stock> = wanted.stocks.iter().filter(of_recipe).cloned().collect();
        let flight = Flight {
            title: wanted.target.name.clone(),
            base: vec![blended(wanted.base.iter().zip(shares.iter().copied()))],
            bottle: Litres::new(litres),
            limits: DoseLimits::NONE,
            targets: vec![wanted.target.clone()],
            ..plain_flight(&[])
        };
        let rule = StockRule::default();
        let found = deliver_target(&flight, &stocks, &wanted.target, dispenser, &rule, TIME_LIMIT);
        let found = match found {
            Err(SolveError::NothingFits) => return Ok(None),
            found => found?,
        };
        let used = stocks.iter().zip(&found.steps).filter(|(_, steps)| **steps > 0);
        let missed = wanted.target.goals.iter().zip(&found.plan.goals);
        Ok(Some(Self {
            dispenser: dispenser.name.clone(),
            kind: dispenser.kind,
            unit: dispenser.step.unit(),
            counted: dispenser.counted(),
            doses: used
                .map(|(stock, steps)| PouredDose {
                    stock: stock.name().to_owned(),
                    steps: *steps,
                    amount: f64::from(*steps) * dispenser.step.value(),
                })
                .collect(),
            missed: missed
                .filter(|(_, result)| !result.reached)
                .map(|(goal, _)| goal.subject.label())
                .collect(),
        }))
    }
}
