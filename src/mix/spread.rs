//! How far each finished water may be from its plan: the uncertainty of stocks, doses and filling,
//! carried to every dose and every measure. Whatever two measures share (a stock, the scale of the
//! dispenser, the filled volume, an analysed amount of a base water) is one input of both.
//!
//! Sensitivities are numerical: one model serves them and the draws, and shared inputs correlate by
//! themselves. A derivative by hand for each result would be a second model to keep right.

use serde::Serialize;

use crate::chemistry::Composition;
use crate::chemistry::KeyedAmounts;
use crate::flight::{Convention, Flight, Goal, Subject, Target};
use crate::mix::spread_base::{Blend, exact_analyses};
use crate::planner::Plan;
use crate::quantities::uncertain::{COVERAGE, Drawn, Input, Spread, Uncertain};
use crate::quantities::uncertain::{monte_carlo, propagate};
use crate::stock::budget::{BudgetLine, budget};
use crate::stock::{Cause, DosedBy, Stock, StrengthModel, Tools, UncertaintySource};
use crate::water::Measure;

/// The uncertainty of a flight.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpreadReport {
    /// Coverage factor of every `expanded` value.
    pub coverage_factor: f64,
    /// Base waters whose analyses are taken as exact.
    pub exact_analyses: Vec<String>,
    /// The waters, in the order of the flight.
    pub waters: Vec<WaterSpread>,
}

/// The uncertainty of one water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WaterSpread {
    /// Name of the target.
    pub target: String,
    /// Each dose, in the order of the report.
    pub doses: Vec<Expanded>,
    /// Each goal, in the order of the target, in the goal's unit.
    pub goals: Vec<Expanded>,
    /// Expanded uncertainty of each constituent, mg/L.
    pub mg_per_l_expanded: KeyedAmounts,
    /// Expanded uncertainty of the hardness; none where it was not measured.
    pub hardness_mg_per_l_caco3_expanded: Option<f64>,
    /// Expanded uncertainty of the alkalinity; none where it was not measured.
    pub alkalinity_mg_per_l_caco3_expanded: Option<f64>,
    /// Expanded uncertainty of the dissolved solids; none where an ion was not measured.
    pub dissolved_solids_mg_per_l_expanded: Option<f64>,
}

/// An expanded uncertainty with its budget.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Expanded {
    /// What it belongs to: a stock (mL per bottle) or a measure.
    pub of: String,
    /// The value.
    pub value: f64,
    /// Its expanded uncertainty.
    pub expanded: f64,
    /// The sources that matter, largest first.
    pub budget: Vec<BudgetLine>,
    /// The same from draws, when asked for.
    pub drawn: Option<DrawnLine>,
}

/// What a Monte Carlo run gave.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DrawnLine {
    /// Mean.
    pub mean: f64,
    /// Twice the standard deviation.
    pub expanded: f64,
    /// 2.5 % lie below.
    pub low: f64,
    /// 2.5 % lie above.
    pub high: f64,
}

/// A Monte Carlo run that was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draws {
    /// How many draws.
    pub trials: usize,
    /// Seed of the generator.
    pub seed: u64,
}

impl SpreadReport {
    /// Carries the uncertainty of stocks and tools to every water of a planned flight; `models`
    /// are those of `stocks`, in their order.
    #[must_use]
    pub fn new(
        flight: &Flight,
        stocks: &[Stock],
        models: &[StrengthModel],
        tools: &Tools,
        plans: &[Plan],
        draws: Option<Draws>,
    ) -> Self {
        let waters = flight
            .targets
            .iter()
            .zip(plans)
            .map(|(target, plan)| {
                WaterModel::new(flight, stocks, models, tools, target, plan).spread(draws)
            })
            .collect();
        Self { coverage_factor: COVERAGE, exact_analyses: exact_analyses(flight, plans), waters }
    }
}

/// One stock in one water.
struct Part<'a> {
    name: &'a str,
    model: &'a StrengthModel,
    uncertainty_sources: usize,
    per_meq: Composition,
    /// Nominal dose, mL per bottle.
    ml: f64,
    /// Nominal density, g/mL.
    g_per_ml: f64,
}

/// Everything that decides one finished bottle.
struct WaterModel<'a> {
    flight: &'a Flight,
    target: &'a Target,
    parts: Vec<Part<'a>>,
    /// The planned blend of base waters.
    base: Blend,
    by: DosedBy,
    bottle_ml: f64,
    uncertainty_sources: Vec<UncertaintySource>,
}

impl<'a> WaterModel<'a> {
    fn new(
        flight: &'a Flight,
        stocks: &'a [Stock],
        models: &'a [StrengthModel],
        tools: &Tools,
        target: &'a Target,
        plan: &Plan,
    ) -> Self {
        let share: f64 = plan.shares.iter().sum();
        let base = Blend::new(flight, plan);
        let per_litre = match flight.convention {
            Convention::AddedToALitre if share > 0.0 => 1.0 / share,
            _ => 1.0,
        };
        let bottle_ml = flight.bottle.to_millilitres().value();
        let mut uncertainty_sources = Vec::new();
        let mut parts = Vec::new();
        for ((stock, model), ml_per_l) in stocks.iter().zip(models).zip(&plan.ml_per_l) {
            if *ml_per_l <= crate::mix::mix_report::NEGLIGIBLE * 1000.0 {
                continue;
            }
            let ml = ml_per_l * per_litre * bottle_ml / 1000.0;
            let g_per_ml = stock.density().value.value();
            let of_stock = model.uncertainty_sources(tools);
            parts.push(Part {
                name: stock.name(),
                model,
                uncertainty_sources: of_stock.len(),
                per_meq: stock.recipe().salt.composition_per_meq(),
                ml,
                g_per_ml,
            });
            uncertainty_sources.extend(of_stock);
            uncertainty_sources.push(dose(stock.name(), tools, ml, g_per_ml));
        }
        uncertainty_sources.extend(base.uncertainty_sources());
        let shared = |cause: Cause, spread: Spread| UncertaintySource {
            input: Input::new(cause.to_string(), 0.0, spread),
            cause,
        };
        let scale = match tools.dispenser.by {
            DosedBy::Drops => Cause::DropSize,
            DosedBy::Volume | DosedBy::Mass => Cause::Dispenser,
        };
        uncertainty_sources.push(shared(scale, tools.shared_dose_error()));
        uncertainty_sources.push(shared(Cause::Fill, Spread::Rectangular(tools.fill.value())));
        Self { flight, target, parts, base, by: tools.dispenser.by, bottle_ml, uncertainty_sources }
    }

    /// The bottle for one number per doubt: the volume of each dose, and the water.
    fn bottle(&self, x: &[f64]) -> (Vec<f64>, Composition) {
        let (off, fill) = match x {
            [.., off, fill] => (*off, *fill),
            _ => (0.0, 0.0),
        };
        let mut rest = x;
        let (mut doses, mut salts) = (Vec::new(), Composition::PURE_WATER);
        for part in &self.parts {
            let (of_stock, more) =
                rest.split_at_checked(part.uncertainty_sources).unwrap_or((&[], &[]));
            let (error, more) = more.split_first().map_or((0.0, more), |(e, m)| (*e, m));
            rest = more;
            let strength = part.model.strength(of_stock);
            let ml = match self.by {
                DosedBy::Volume | DosedBy::Drops => part.ml * (1.0 + off) + error,
                DosedBy::Mass => (part.ml * part.g_per_ml + error) / strength.g_per_ml,
            };
            salts += part.per_meq * (ml * strength.meq_per_ml());
            doses.push(ml);
        }
        let blend = self.base.composition(rest);
        let filled = self.bottle_ml * (1.0 + fill);
        let dosed: f64 = doses.iter().sum();
        let (base, whole) = match self.flight.convention {
            Convention::MadeUpToALitre => (filled - dosed, filled),
            Convention::AddedToALitre => (filled, filled + dosed),
        };
        // meq per mL are eq per L
        let water = salts * (1000.0 / whole) + blend * (base / whole);
        (doses, water)
    }

    /// Every result for one number per doubt.
    fn results(&self, x: &[f64]) -> Vec<f64> {
        let (mut results, water) = self.bottle(x);
        results.extend(self.target.goals.iter().map(|goal| in_goal(goal, &water)));
        results.extend(KeyedAmounts::mg_per_l(&water).0.iter().map(|(_, mg)| *mg));
        results.extend(USUAL.into_iter().filter_map(|m| m.measured_usual(&water)));
        results
    }

    fn spread(&self, draws: Option<Draws>) -> WaterSpread {
        let inputs: Vec<Input> = self.uncertainty_sources.iter().map(|d| d.input.clone()).collect();
        let results = propagate(&inputs, |x| self.results(x));
        let drawn: Vec<Drawn> = draws
            .map_or(Vec::new(), |d| monte_carlo(&inputs, d.trials, d.seed, |x| self.results(x)));
        let goals = self.target.goals.iter().map(|g| g.subject.key());
        let names = self.parts.iter().map(|p| p.name.to_owned()).chain(goals);
        let mut lines: Vec<Expanded> = names
            .zip(&results)
            .enumerate()
            .map(|(n, (of, result))| self.expanded(of, result, drawn.get(n)))
            .collect();
        let goals = lines.split_off(self.parts.len());
        let nominal: Vec<f64> = inputs.iter().map(|i| i.estimate).collect();
        let water = self.bottle(&nominal).1;
        let mut mg_per_l = KeyedAmounts::mg_per_l(&water);
        let mut rest = results.iter().skip(self.parts.len() + goals.len()).map(Uncertain::expanded);
        for (_, amount) in &mut mg_per_l.0 {
            *amount = rest.next().unwrap_or_default();
        }
        let [hardness, alkalinity, solids] =
            USUAL.map(|m| m.measured_usual(&water).and_then(|_| rest.next()));
        WaterSpread {
            target: self.target.name.clone(),
            doses: lines,
            goals,
            mg_per_l_expanded: mg_per_l,
            hardness_mg_per_l_caco3_expanded: hardness,
            alkalinity_mg_per_l_caco3_expanded: alkalinity,
            dissolved_solids_mg_per_l_expanded: solids,
        }
    }

    fn expanded(&self, of: String, result: &Uncertain, drawn: Option<&Drawn>) -> Expanded {
        Expanded {
            of,
            value: result.value,
            expanded: result.expanded(),
            budget: budget(result, &self.uncertainty_sources),
            drawn: drawn.map(|d| DrawnLine {
                mean: d.mean,
                expanded: COVERAGE * d.standard,
                low: d.low,
                high: d.high,
            }),
        }
    }
}

/// The measures that every report of a water names.
const USUAL: [Measure; 3] = [Measure::Hardness, Measure::Alkalinity, Measure::DissolvedSolids];

/// Error of a single dose: of the dispenser in mL, or of the balance in g.
fn dose(stock: &str, tools: &Tools, ml: f64, g_per_ml: f64) -> UncertaintySource {
    let cause = match tools.dispenser.by {
        DosedBy::Volume if tools.dispenser.deliveries(ml) > 1.0 => Cause::Strokes,
        DosedBy::Volume | DosedBy::Mass => Cause::Dose,
        DosedBy::Drops => Cause::Drops,
    };
    let spread = tools.dose_error(ml, g_per_ml);
    UncertaintySource { input: Input::new(format!("{stock}: {cause}"), 0.0, spread), cause }
}

/// What a water has of a goal's subject, in the goal's unit; 0 for a ratio to something absent.
fn in_goal(goal: &Goal, water: &Composition) -> f64 {
    let native = match goal.subject {
        Subject::Measure(measure) => measure.of(water),
        Subject::Ratio { of, to, of_factor, to_factor } => {
            let denominator = to.of(water) * to_factor;
            if denominator > 0.0 { of.of(water) * of_factor / denominator } else { 0.0 }
        }
    };
    goal.in_unit(native)
}
