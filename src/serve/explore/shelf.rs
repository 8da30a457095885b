//! A flight's base waters and stocks, and what they make of a goal.

use crate::app::flight_verdict::plans_of;
use crate::app::mistakes::internal;
use crate::assessment::Lab;
use crate::bench::{Bench, NewFlight};
use crate::files::{Diagnostic, Mistakes};
use crate::flight::{Flight, Order, Target};
use crate::mix::water_mix::WaterMix;
use crate::mix::{CostReport, MixReport};
use crate::planner::explain::reach_region;
use crate::planner::{Plan, plan_flight};
use crate::serve::explore::asked::{Asked, AskedError, MOVED};
use crate::stock::{Price, Stock};
use crate::svg::Drawing;
use crate::svg::map::{Map, MapPoint, PointKind};
use crate::water::Measure;

/// The measures of the map.
const AXES: [Measure; 2] = [Measure::Hardness, Measure::Alkalinity];

/// A slider goes this far beyond the largest water of the flight. Our choice.
const BEYOND: f64 = 2.0;

/// What a goal is planned with.
#[derive(Debug, Clone)]
pub struct Shelf {
    /// File name of the flight.
    pub stem: String,
    pub(super) flight: Flight,
    stocks: Vec<Stock>,
    /// The stocks that another water of the flight may have: without those that none of its waters may.
    open: Vec<Stock>,
    order: Order,
    lab: Lab,
    prices: Vec<(String, Price)>,
    /// The waters of the flight itself, as it is mixed; nothing for one without an answer.
    own: Vec<Option<Plan>>,
    /// The corners of what the shelf can make along the axes of the map.
    region: Vec<(f64, f64)>,
}

/// What becomes of a goal.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The water that is moved, then those that are pinned.
    pub waters: Vec<WaterMix>,
    /// What they cost; nothing where no price is known, or prices are of several moneys.
    pub cost: Option<CostReport>,
    /// The stocks it may have, in the order of the bench.
    pub stocks: Vec<String>,
    /// Where they lie.
    pub map: Option<Drawing>,
}

impl Shelf {
    /// Reads a flight of the bench, the only one where none is named.
    ///
    /// # Errors
    /// When there is none of that name, or it cannot be planned.
    pub fn of(bench: &Bench, flight: Option<&str>) -> Result<Self, Mistakes> {
        let file = bench.flight_file(flight)?;
        let (flight, stocks, order) = bench.ordered_flight(file)?;
        let own = plans_of(&flight, &stocks, &order).unwrap_or_default();
        let others = order.for_others(1);
        let is_open = |stock: &&Stock| others.allows(0, stock.name());
        let open: Vec<Stock> = stocks.iter().filter(is_open).cloned().collect();
        let region = reach_region(&flight, &open, AXES).unwrap_or_default();
        let lab = Lab::new(bench.boilers).map_err(|error| internal(&error))?;
        let prices = bench.water_prices.clone();
        let stem = file.stem.clone();
        Ok(Self { stem, flight, stocks, open, order, lab, prices, own, region })
    }

    /// Plans what is wanted, beside what is pinned.
    ///
    /// # Errors
    /// When a goal cannot be read or nothing can be planned.
    pub fn answer(&self, asked: &Asked) -> Result<Answer, AskedError> {
        let mut targets = vec![asked.target(MOVED)?.target];
        targets.extend(asked.pinned_targets()?.into_iter().map(|written| written.target));
        let flight = Flight { targets, ..self.flight.clone() };
        let bad = |reason: String| AskedError { of: "no plan".to_owned(), reason };
        let plans = plan_flight(&flight, &self.open).map_err(|error| bad(error.to_string()))?;
        let report = MixReport::new(&flight, &self.open, &plans)
            .map_err(|error| bad(error.to_string()))?
            .with_glances(&self.lab, &plans);
        let cost = report.priced(&self.open, &self.prices);
        let cost = cost.filter(|cost| !cost.mixed_money);
        let map = self.map(&flight, &plans);
        let stocks = self.open.iter().map(|stock| stock.name().to_owned()).collect();
        Ok(Answer { waters: report.waters, cost, stocks, map })
    }

    fn map(&self, flight: &Flight, plans: &[Plan]) -> Option<Drawing> {
        let [x, y] = AXES;
        let at =
            |plan: &Plan| Some((x.measured_usual(&plan.water)?, y.measured_usual(&plan.water)?));
        let of = |targets: &[Target], plans: Vec<Option<&Plan>>, is_own: bool| -> Vec<MapPoint> {
            let point = |(n, (target, plan)): (usize, (&Target, Option<&Plan>))| {
                let plan = plan?;
                let kind = match (is_own, plan.reached(), n) {
                    (_, false, _) => PointKind::OutOfReach,
                    (false, true, 0) => PointKind::Proposed,
                    _ => PointKind::Reached,
                };
                let label = match (is_own, n) {
                    (true, n) => (n + 1).to_string(),
                    (false, 0) => "●".to_owned(),
                    (false, _) => target.name.clone(),
                };
                Some(MapPoint { label, name: target.name.clone(), at: at(plan)?, kind })
            };
            targets.iter().zip(plans).enumerate().filter_map(point).collect()
        };
        let own = self.own.iter().map(Option::as_ref).collect();
        let mut points = of(&self.flight.targets, own, true);
        points.extend(of(&flight.targets, plans.iter().map(Some).collect(), false));
        let name = |measure: Measure| {
            format!("{}, {}", measure.key().replace('_', " "), measure.usual_unit().symbol())
        };
        let map = Map {
            x: name(x),
            y: name(y),
            points,
            region: self.region.clone(),
            from_zero: true,
            ..Map::default()
        };
        map.draw("explore", "What the shelf can make, and where this water lies")
    }

    /// How far the slider of a measure goes, in its usual unit.
    pub(super) fn most(&self, measure: Measure) -> f64 {
        let waters =
            self.own.iter().flatten().filter_map(|plan| measure.measured_usual(&plan.water));
        let most = waters.fold(0.0, f64::max) * BEYOND;
        // Whole tens, so that a step of the slider is a plain number.
        (most / 10.0).ceil().max(1.0) * 10.0
    }

    /// Writes the water that is moved as the only target of a new flight; gives the file's place in the
    /// bench.
    ///
    /// # Errors
    /// When a goal cannot be read, the name is none for a file, or there is one of that name.
    pub(super) fn write(
        &self,
        bench: &Bench,
        asked: &Asked,
        name: &str,
    ) -> Result<String, Diagnostic> {
        let target = asked.target(name).map_err(|error| Diagnostic::choice(error.to_string()))?;
        let text = NewFlight {
            remark: format!(
                "Found by hand on the page of `waterflight serve`, beside `{}`.\nAn ordinary flight: \
                 change what you like.",
                self.flight.title
            ),
            title: name.to_owned(),
            like: &self.flight,
            stocks: &self.stocks,
            order: &self.order.for_others(1),
            targets: vec![(target, None)],
        }
        .text();
        bench.write_new("flights", name, &text)?;
        Ok(format!("flights/{name}.ron"))
    }
}
