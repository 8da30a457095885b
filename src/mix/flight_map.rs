//! A flight on a map of two measures: what its shelf can make, the base waters, what is published, and
//! how much limescale the brew boiler would get.

use serde::Serialize;

use crate::assessment::corrosion_levels::{CORROSION_LEVELS, CorrosionLevel, CorrosionMeasure};
use crate::assessment::guidelines::{PublishedRange, published_ranges};
use crate::assessment::{Lab, State};
use crate::chemistry::Composition;
use crate::flight::{Flight, Goal, Target};
use crate::planner::explain::reach_region;
use crate::planner::{Plan, plan_flight};
use crate::stock::Stock;
use crate::water::Measure;

/// The map.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FlightMap {
    /// Keys of the measures: to the right, upward.
    pub measures: [&'static str; 2],
    /// Their units.
    pub units: [&'static str; 2],
    /// The waters of the flight.
    pub waters: Vec<MappedWater>,
    /// The base waters.
    pub base: Vec<MappedWater>,
    /// The corners of what the shelf can make, counter-clockwise; empty where that cannot be said.
    pub region: Vec<(f64, f64)>,
    /// Published ranges.
    pub published: Vec<PublishedRange>,
    /// Limescale of waters throughout the region, as the planner would make them.
    pub limescale: Option<LimescaleGrid>,
    /// Published limits of corrosion; the grid has their values.
    pub corrosion_levels: Vec<CorrosionLevel>,
}

/// A water on the map.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MappedWater {
    /// Its number in the flight, or its place among the base waters.
    pub number: usize,
    /// Its name.
    pub name: String,
    /// Whether every goal is met.
    pub reached: bool,
    /// Where it is.
    pub at: (f64, f64),
}

/// Limescale on a grid.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimescaleGrid {
    /// Temperature of the brew boiler, °C.
    pub celsius: f64,
    /// Values of the first measure.
    pub columns: Vec<f64>,
    /// Values of the second one.
    pub rows: Vec<f64>,
    /// Row by row: grams per 1,000 L of the degassed water; nothing where the shelf makes no such water.
    pub g_per_1000_l: Vec<Vec<Option<f64>>>,
    /// Calcite index of the closed water at the same places.
    pub calcite_index: Vec<Vec<Option<f64>>>,
    /// Its Larson–Skold ratio, meq/meq.
    pub larson_skold: Vec<Vec<Option<f64>>>,
    /// Its chloride, mg/L.
    pub chloride_mg_per_l: Vec<Vec<Option<f64>>>,
}

/// Steps of the grid either way. Our choice: 225 waters take well under a second.
const GRID: u32 = 14;

/// How far the map reaches beyond its waters. Our choice.
const MARGIN: f64 = 1.15;

impl FlightMap {
    /// The map of a planned flight, its waters with their numbers; nothing where a measure is not known of its waters.
    #[must_use]
    pub fn new(
        flight: &Flight,
        stocks: &[Stock],
        (plans, numbers): (&[Plan], &[usize]),
        lab: &Lab,
        measures: [Measure; 2],
    ) -> Option<Self> {
        let [x, y] = measures;
        let place =
            |water: &Composition| Some((x.measured_usual(water)?, y.measured_usual(water)?));
        let waters: Vec<MappedWater> = numbers
            .iter()
            .zip(flight.targets.iter().zip(plans))
            .filter_map(|(number, (target, plan))| {
                let at = place(&plan.water)?;
                Some(MappedWater {
                    number: *number,
                    name: target.name.clone(),
                    reached: plan.reached(),
                    at,
                })
            })
            .collect();
        let base = (1..)
            .zip(&flight.base)
            .filter_map(|(number, base)| {
                let at = place(&base.water.composition)?;
                Some(MappedWater { number, name: base.water.name.clone(), reached: true, at })
            })
            .collect();
        let most = |of: fn(&MappedWater) -> f64| waters.iter().map(of).fold(0.0, f64::max) * MARGIN;
        let ends = (most(|w| w.at.0), most(|w| w.at.1));
        if waters.is_empty() {
            return None;
        }
        Some(Self {
            measures: [x.key(), y.key()],
            units: [x.usual_unit().symbol(), y.usual_unit().symbol()],
            region: reach_region(flight, stocks, measures).unwrap_or_default(),
            published: measures.into_iter().flat_map(published_ranges).collect(),
            limescale: limescale(flight, stocks, lab, measures, ends),
            corrosion_levels: CORROSION_LEVELS.to_vec(),
            waters,
            base,
        })
    }
}

/// A water of the grid.
struct Looked {
    g_per_1000_l: f64,
    calcite_index: Option<f64>,
    larson_skold: Option<f64>,
    chloride_mg_per_l: Option<f64>,
}

/// Plans a water at every point of a grid and looks at it in the brew boiler.
fn limescale(
    flight: &Flight,
    stocks: &[Stock],
    lab: &Lab,
    [x, y]: [Measure; 2],
    ends: (f64, f64),
) -> Option<LimescaleGrid> {
    if ends.0 <= 0.0 || ends.1 <= 0.0 {
        return None;
    }
    let step = |end: f64, n: u32| end * f64::from(n) / f64::from(GRID);
    let columns: Vec<f64> = (0..=GRID).map(|n| step(ends.0, n)).collect();
    let rows: Vec<f64> = (0..=GRID).map(|n| step(ends.1, n)).collect();
    let goal = |measure: Measure, value: f64| {
        // A hundredth of a step either way is the same place of a picture.
        let end = if measure == x { ends.0 } else { ends.1 };
        let near = end / f64::from(GRID) / 100.0;
        Goal::parse(measure, &format!("{value} ± {near} {}", measure.usual_unit().symbol())).ok()
    };
    let mut targets = Vec::new();
    for row in &rows {
        for column in &columns {
            let goals = vec![goal(x, *column)?, goal(y, *row)?];
            targets.push(Target { name: format!("{column}, {row}"), goals });
        }
    }
    let plans = plan_flight(&Flight { targets, ..flight.clone() }, stocks).ok()?;
    let looked = |plan: &Plan| -> Option<Looked> {
        let measured = !plan.water.lacks_ions();
        let of = |state| lab.state_report(&lab.brew, state, &plan.water).ok();
        let scale = of(State::Degassed).filter(|_| plan.reached() && measured)?.scale_g_per_1000_l;
        Some(Looked {
            g_per_1000_l: scale,
            calcite_index: of(State::Closed).and_then(|r| r.si.calcite),
            larson_skold: CorrosionMeasure::LarsonSkold.of(&plan.water),
            chloride_mg_per_l: CorrosionMeasure::Chloride.of(&plan.water),
        })
    };
    let found: Vec<Option<Looked>> = plans.iter().map(looked).collect();
    let by_row = |pick: fn(&Looked) -> Option<f64>| -> Vec<Vec<Option<f64>>> {
        let row = |row: &[Option<Looked>]| row.iter().map(|one| pick(one.as_ref()?)).collect();
        found.chunks(columns.len()).map(row).collect()
    };
    Some(LimescaleGrid {
        celsius: lab.settings().brew.value(),
        g_per_1000_l: by_row(|water| Some(water.g_per_1000_l)),
        calcite_index: by_row(|water| water.calcite_index),
        larson_skold: by_row(|water| water.larson_skold),
        chloride_mg_per_l: by_row(|water| water.chloride_mg_per_l),
        columns,
        rows,
    })
}
