//! A batch poured from the stocks of the shelf with a dispenser, in the place of weighed salts.

use std::time::Duration;

use serde::Serialize;

use crate::planner::deliver_target;
use crate::planner::stages::SolveError;
use crate::quantities::Litres;
use crate::report::batch::BatchReport;
use crate::report::batch_recipe::blended;
use crate::report::wanted::Wanted;
use crate::shelf::Stock;
use crate::waters::{Convention, Dispenser, Flight, MissRule, Preference, StockRule};

/// Our choice: nobody waits longer for the search of whole steps.
const PATIENCE: Duration = Duration::from_secs(2);

/// Doses of stocks that make the same batch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ByDispenser {
    /// Name of the dispenser.
    pub dispenser: String,
    /// Syringe, pipette, scale or dropper.
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
        let names: Vec<&str> = weighed
            .chain(left_out)
            .filter(|(_, grams)| *grams > 0.0)
            .map(|(of, _)| of.stock.as_str())
            .collect();
        let of_recipe = |stock: &&Stock| names.contains(&stock.name());
        let stocks: Vec<Stock> = wanted.stocks.iter().filter(of_recipe).cloned().collect();
        let share_of = |name: &str| {
            let part = self.base.iter().find(|part| part.water == name);
            part.map_or(0.0, |part| part.share)
        };
        let parts = wanted.base.iter().map(|base| (base, share_of(&base.water.name)));
        let flight = Flight {
            title: self.name.clone(),
            base: vec![blended(parts)],
            bottle: Litres::new(self.litres),
            convention: Convention::MadeUpToALitre,
            misses: MissRule::Sum,
            preference: Preference::LeastVolume,
            targets: vec![wanted.target.clone()],
        };
        let rule = StockRule::default();
        let found = deliver_target(&flight, &stocks, &wanted.target, dispenser, &rule, PATIENCE);
        let found = match found {
            Err(SolveError::NothingFits) => return Ok(()),
            found => found?,
        };
        let used = stocks.iter().zip(&found.steps).filter(|(_, steps)| **steps > 0);
        let missed = wanted.target.goals.iter().zip(&found.plan.goals);
        self.by_dispenser = Some(ByDispenser {
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
        });
        Ok(())
    }
}
