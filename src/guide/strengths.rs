//! How strong the stocks of a new bench should be: as the planner advises for its first flight.

use std::time::Duration;

use crate::bench::Bench;
use crate::files::Diagnostic;
use crate::mix::advise::StockAdvice;
use crate::mix::round_strength::DoseRequirements;
use crate::mix::{AdviceReport, MixReport, tools_with};
use crate::planner::Plan;
use crate::planner::whole_flight::{Ordered, plan_order};
use crate::quantities::{Celsius, Fraction, Grams};
use crate::stock::{Lot, Making, Recipe, Salt, Stock, solubility};

/// Our choice: what a stock is made to before anything is known of its doses, g of salt in a kilogram.
const USUAL_G_PER_KG: f64 = 40.0;
/// Our choice: of a salt that dissolves less, this part of what stays dissolved.
const OF_SATURATED: f64 = 0.8;
/// Our choice: where a stock is kept, °C.
const ROOM_CELSIUS: f64 = 20.0;
/// Our choice: as exactly as a dose is to be poured; the first as in `advise`, the others where the
/// dispenser does not allow it.
const DOSE_ERRORS: [f64; 3] = [0.02, 0.05, 0.15];

/// Our choice: a first flight is planned well enough after this.
const PLANNED_WITHIN: Duration = Duration::from_millis(500);

/// A stock of a salt, so many grams in a kilogram.
pub(super) fn stock(name: &str, salt: &Salt, grams: f64) -> Option<Stock> {
    Stock::new(Recipe {
        name: name.to_owned(),
        salt: salt.clone(),
        lot: Lot::default(),
        making: Making::ToTotalMass { salt: Grams::new(grams), total: Grams::new(1000.0) },
        temperature: Celsius::new(ROOM_CELSIUS),
    })
    .ok()
}

/// The strength to begin with, g of salt in a kilogram of stock.
pub(super) fn usual(salt: &Salt) -> f64 {
    let most = solubility::strongest_g_per_kg(salt, Celsius::new(ROOM_CELSIUS));
    match most.map(|most| OF_SATURATED * most) {
        Some(most) if most < USUAL_G_PER_KG => one_figure_below(most),
        _ => USUAL_G_PER_KG,
    }
}

fn one_figure_below(value: f64) -> f64 {
    let decade = 10_f64.powf(value.log10().floor());
    (value / decade).floor() * decade
}

/// The strengths advised for a flight of a bench, g of salt from the bag in a kilogram, by stock;
/// nothing for a stock that the flight does not use or that no strength serves.
pub(super) fn advised(bench: &Bench, flight: &str) -> Result<Vec<(String, f64)>, Diagnostic> {
    let file = bench.flight_file(Some(flight))?;
    let (flight, stocks, order) = bench.ordered_flight(file)?;
    // In the steps of the dispenser, as the flight will be poured.
    let Ok(Ordered { plans, delivered, .. }) = plan_order(&flight, &stocks, &order, PLANNED_WITHIN)
    else {
        return Ok(Vec::new());
    };
    let in_steps: Vec<Plan> = delivered.into_iter().map(|water| water.plan).collect();
    let plans = if in_steps.is_empty() { plans } else { in_steps };
    let Ok(report) = MixReport::new(&flight, &stocks, &plans) else { return Ok(Vec::new()) };
    let tools = tools_with(&bench.tools, order.dispenser.as_ref());
    let shelf: Vec<_> =
        bench.stocks.iter().map(|s| s.value.clone()).zip(bench.bottles.iter().cloned()).collect();
    let flights = [(flight, order, report)];
    let advised = |error: &f64| {
        let requirements = DoseRequirements {
            least: tools.dispenser.least,
            most: tools.dispenser.most,
            error: Fraction::new(*error),
        };
        AdviceReport::new(&flights, &shelf, &tools, requirements).ok()
    };
    // As exactly as the dispenser allows: of each stock the first goal that some strength serves. One too
    // coarse for any of them leaves the strength that is there.
    let mut strengths: Vec<(String, Option<f64>)> = Vec::new();
    for advice in DOSE_ERRORS.iter().filter_map(advised) {
        let is_open = |line: &&StockAdvice| strengths.iter().all(|(stock, _)| *stock != line.stock);
        // A stock so thin that it has to be made of another one is none to begin with.
        let served = |line: &&StockAdvice| {
            line.now_will_do || line.make.last().is_some_and(|make| make.dilute_g.is_none())
        };
        let lines: Vec<&StockAdvice> = advice.stocks.iter().filter(is_open).collect();
        let open = lines.iter().any(|line| !served(line));
        strengths.extend(lines.into_iter().filter(served).map(|line| {
            // Of two bottles that share the doses the strong one comes last: it serves the largest, and is
            // the weakest that does.
            let make = line.make.last().filter(|_| !line.now_will_do);
            (line.stock.clone(), make.map(|make| 1000.0 * make.salt_g / make.total_g))
        }));
        if !open {
            break;
        }
    }
    Ok(strengths.into_iter().filter_map(|(stock, grams)| Some((stock, grams?))).collect())
}
