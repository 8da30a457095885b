//! What a dispenser, a set of stocks and what is left in them make of a flight.

use serde::Serialize;

use crate::flight::{Dispenser, Flight, Measured, Order, StockSet, Target};
use crate::mix::one_style::StyleReport;
use crate::mix::tools_with;
use crate::planner::Plan;
use crate::planner::steps::Delivered;
use crate::planner::steps::portions::Stage;
use crate::planner::whole_flight::Ordered;
use crate::quantities::show;
use crate::stock::{Stock, Tools};

/// Beside a planned flight: what was asked of the bench and what it costs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderReport {
    /// The dispenser with the doses counted in its steps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dispenser: Option<DispenserReport>,
    /// The stocks opened, when their number was limited.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stock_set: Option<StockSetReport>,
    /// What the limits on the stocks left did.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub left: Option<LeftReport>,
    /// The style that all waters are made in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub style: Option<StyleReport>,
}

/// A dispenser and what each water takes of its steps.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DispenserReport {
    /// Name of the dispenser in `bench.ron`.
    pub name: String,
    /// Syringe, pipette, balance or dropper.
    pub kind: &'static str,
    /// One step, in the unit.
    pub step: f64,
    /// The least amount, in the unit.
    pub least: f64,
    /// Limit of error of one delivery, in the unit: of a stroke, a weighing, or the size of a drop.
    pub error: f64,
    /// How far single drops differ from each other, in the unit.
    pub scatter: f64,
    /// Error that all doses share, %.
    pub off_percent: f64,
    /// What one delivery holds, in the unit; nothing where it holds any dose.
    pub holds: Option<f64>,
    /// mL or g.
    pub unit: &'static str,
    /// What its steps are called where they are counted: drops.
    pub counted: Option<&'static str>,
    /// The waters, in the order of the flight.
    pub waters: Vec<SteppedWater>,
}

impl DispenserReport {
    /// Names of the stocks that any water takes, in the order in which they come.
    #[must_use]
    pub fn stocks(&self) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        for dose in self.waters.iter().flat_map(|water| &water.doses) {
            if !names.contains(&dose.stock.as_str()) {
                names.push(&dose.stock);
            }
        }
        names
    }
}

/// One water in steps.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SteppedWater {
    /// Its number in the flight.
    pub number: usize,
    /// Name of the target.
    pub target: String,
    /// Doses per bottle; stocks that are not used are left out.
    pub doses: Vec<SteppedDose>,
    /// Whether no other whole number of steps is better, stage by stage.
    pub proved: bool,
    /// Whether time ended the search before all was proved.
    pub out_of_time: bool,
    /// How much better others could at most be: the stages with their values and gaps.
    pub stages: Vec<SteppedStage>,
    /// Weighted misses beyond and inside tolerance, in units of tolerance.
    pub misses: [f64; 2],
    /// The same without steps: what the dispenser costs is the difference.
    pub misses_without_steps: [f64; 2],
    /// Stocks of which the water would take less than can be delivered.
    pub dilutions: Vec<DilutionReport>,
}

/// A dose in steps.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SteppedDose {
    /// Name of the stock.
    pub stock: String,
    /// Steps per bottle.
    pub steps: u32,
    /// The amount per bottle, in the unit of the dispenser.
    pub amount: f64,
    /// Deliveries that it takes: strokes, drops, weighings.
    pub deliveries: f64,
    /// Expanded uncertainty (k = 2) of measuring the dose out, % of it.
    pub error_percent: f64,
}

/// The proof of one stage.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SteppedStage {
    /// What is made least: largest_miss, misses_beyond, misses_inside, stocks, preference.
    pub stage: &'static str,
    /// What was reached.
    pub value: f64,
    /// What no doses in steps can better.
    pub bound: f64,
    /// Whether the two are as good as the same.
    pub proved: bool,
}

/// An intermediate dilution that makes a small dose deliverable.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DilutionReport {
    /// Name of the stock.
    pub stock: String,
    /// What the water would take without steps, mL per bottle.
    pub ml_per_bottle: f64,
    /// The least that can be delivered, mL.
    pub least_ml: f64,
    /// How many times weaker.
    pub fold: u32,
    /// Stock to measure for 100 mL of the weaker one, mL.
    pub stock_ml_per_100_ml: f64,
    /// The dose of the weaker stock, mL per bottle.
    pub diluted_ml_per_bottle: f64,
}

/// The stocks that a flight opens.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StockSetReport {
    /// What was asked.
    pub asked: String,
    /// Their names.
    pub stocks: Vec<String>,
    /// Whether it is proved that nothing smaller (or better) serves.
    pub proved: bool,
    /// No fewer stocks than this serve, where the search for fewer was ended by time.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_least: Option<usize>,
}

/// What the limits on the stocks left did.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeftReport {
    /// Whether doses had to change for them.
    pub binding: bool,
    /// Whether the doses are proved to be the best within them.
    pub proved: bool,
    /// Where doses changed: the misses beyond tolerance of the whole flight, and what no doses within what
    /// is left can better.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub misses_beyond: Option<[f64; 2]>,
    /// What is left of each stock after the flight, mL.
    pub stocks: Vec<LeftStock>,
}

impl LeftReport {
    /// What is not proved of the flight, with its gap; nothing where all is.
    #[must_use]
    pub fn not_proved(&self) -> Option<String> {
        if self.proved {
            return None;
        }
        let figures = show::four_figures;
        let gap = match self.misses_beyond {
            Some([value, bound]) if figures(value) != figures(bound) => format!(
                ": the misses of all waters beyond tolerance are {} together, and no sharing has less \
                 than {}",
                figures(value),
                figures(bound)
            ),
            _ => String::new(),
        };
        Some(format!("NOT PROVED to be the best way to share what is left{gap}"))
    }
}

/// A stock with its rest.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeftStock {
    /// Name of the stock.
    pub stock: String,
    /// In the bottle before, mL.
    pub ml_before: f64,
    /// In the bottle after all bottles that are added up for, mL.
    pub ml_after: f64,
}

impl OrderReport {
    /// Reports what an order did; `None` when nothing was asked.
    #[must_use]
    pub fn new(
        flight: &Flight,
        stocks: &[Stock],
        order: &Order,
        ordered: &Ordered,
        tools: &Tools,
    ) -> Option<Self> {
        let tools = tools_with(tools, order.dispenser.as_ref());
        let shared = ordered.left.as_ref().is_none_or(|left| left.proved);
        let dispenser = order.dispenser.as_ref().map(|d| {
            let waters = flight.targets.iter().zip(&ordered.delivered);
            DispenserReport {
                name: d.name.clone(),
                kind: d.kind,
                step: d.step.value(),
                least: d.least,
                error: d.error,
                scatter: d.scatter,
                off_percent: 100.0 * d.off.value(),
                holds: d.holds,
                unit: d.step.unit(),
                counted: d.counted(),
                waters: waters
                    .enumerate()
                    .map(|(n, (t, w))| stepped((n + 1, t), stocks, d, &tools, w))
                    // Of one share of what is left nothing is proved where the sharing is not.
                    .map(|water| SteppedWater { proved: water.proved && shared, ..water })
                    .collect(),
            }
        });
        let stock_set = ordered.chosen.as_ref().map(|chosen| StockSetReport {
            asked: match order.stock_set {
                StockSet::AtMost(most) => format!("the best {most} stocks"),
                StockSet::Same => "the same in every water, as few as serve".to_owned(),
                StockSet::Any | StockSet::Fewest => "the fewest stocks".to_owned(),
            },
            stocks: stocks
                .iter()
                .zip(&chosen.members)
                .filter(|(_, member)| **member)
                .map(|(stock, _)| stock.name().to_owned())
                .collect(),
            proved: chosen.proved,
            at_least: (order.stock_set == StockSet::Fewest && !chosen.proved)
                .then_some(chosen.at_least),
        });
        let left = ordered.left.as_ref().map(|left| LeftReport {
            binding: left.binding,
            proved: left.proved,
            misses_beyond: left.beyond,
            stocks: order
                .left
                .iter()
                .map(|(name, ml)| LeftStock {
                    stock: name.clone(),
                    ml_before: ml.value(),
                    ml_after: rest(
                        ml.value(),
                        order.bottles_of_each() * taken(flight, stocks, &ordered.plans, name),
                    ),
                })
                .collect(),
        });
        let style = order.style.as_ref().map(|style| {
            let missing = missing(flight, stocks, order, &ordered.plans);
            StyleReport { missing, ..StyleReport::new(style) }
        });
        let asked = dispenser.is_some() || stock_set.is_some() || left.is_some() || style.is_some();
        asked.then_some(Self { dispenser, stock_set, left, style })
    }
}

/// Where a stock of the style is not, or in less than its least dose.
fn missing(flight: &Flight, stocks: &[Stock], order: &Order, plans: &[Plan]) -> Vec<String> {
    /// Our choice: less than the least by so small a part of it is rounding.
    const ROUNDING: f64 = 1e-6;
    let Some(least) = order.least_of_each() else { return Vec::new() };
    let mut missing = Vec::new();
    for (n, (target, plan)) in flight.targets.iter().zip(plans).enumerate() {
        for stock in stocks.iter().filter(|stock| order.allows(n, stock.name())) {
            let ml = taken(flight, stocks, std::slice::from_ref(plan), stock.name());
            if ml < (1.0 - ROUNDING) * least.value() {
                missing.push(format!("{} in {}", stock.name(), target.name));
            }
        }
    }
    missing
}

/// What is left of so much; rounding is nothing.
fn rest(ml: f64, taken: f64) -> f64 {
    /// Our choice: a millionth of a millilitre is rounding.
    const ROUNDING_ML: f64 = 1e-6;
    let rest = ml - taken;
    if rest.abs() <= ROUNDING_ML { 0.0 } else { rest }
}

/// mL of a stock in one bottle of each water.
fn taken(flight: &Flight, stocks: &[Stock], plans: &[Plan], name: &str) -> f64 {
    let place = stocks.iter().position(|s| s.name() == name);
    plans
        .iter()
        .map(|plan| {
            let dose = place.and_then(|j| plan.ml_per_l.get(j)).copied().unwrap_or_default();
            dose / plan.litres_counted(flight.convention) * flight.bottle.value()
        })
        .sum()
}

fn stepped(
    (number, target): (usize, &Target),
    stocks: &[Stock],
    dispenser: &Dispenser,
    tools: &Tools,
    water: &Delivered,
) -> SteppedWater {
    let doses = stocks
        .iter()
        .zip(&water.steps)
        .filter(|(_, steps)| **steps > 0)
        .map(|(stock, steps)| {
            let amount = f64::from(*steps) * dispenser.step.value();
            let g_per_ml = stock.density().value.value();
            let ml = f64::from(*steps) * dispenser.ml_per_step(g_per_ml);
            SteppedDose {
                stock: stock.name().to_owned(),
                steps: *steps,
                amount,
                deliveries: match dispenser.step {
                    Measured::Volume(_) => tools.dispenser.deliveries(ml),
                    Measured::Mass(_) => 1.0,
                },
                error_percent: 100.0 * tools.dose_expanded(ml, g_per_ml),
            }
        })
        .collect();
    let all = |plan: &Plan| [plan.stages.beyond, plan.misses_inside(target)];
    SteppedWater {
        number,
        target: target.name.clone(),
        doses,
        proved: water.proved(),
        out_of_time: water.out_of_time && !water.proved(),
        stages: water
            .proofs
            .iter()
            .map(|p| SteppedStage {
                stage: match p.stage {
                    Stage::Largest => "largest_miss",
                    Stage::Beyond => "misses_beyond",
                    Stage::Inside => "misses_inside",
                    Stage::Count => "stocks",
                    Stage::Linear(_) => "preference",
                },
                value: p.value,
                bound: p.bound,
                proved: p.proved(),
            })
            .collect(),
        misses: all(&water.plan),
        misses_without_steps: all(&water.continuous),
        dilutions: water
            .too_small
            .iter()
            .filter_map(|d| {
                let stock = stocks.get(d.stock)?;
                Some(DilutionReport {
                    stock: stock.name().to_owned(),
                    ml_per_bottle: d.ml_per_bottle,
                    least_ml: d.least_ml,
                    fold: d.fold,
                    stock_ml_per_100_ml: 100.0 / f64::from(d.fold),
                    diluted_ml_per_bottle: d.diluted_ml_per_bottle,
                })
            })
            .collect(),
    }
}
