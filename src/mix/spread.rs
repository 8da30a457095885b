//! How far each finished water may be from its plan: the uncertainty of stocks, doses and filling,
//! carried to every dose and every measure. Whatever two measures share (a stock, the scale of the
//! dispenser, the filled volume, an analysed amount of a base water) is one input of both.
//!
//! Sensitivities are numerical: one model serves them and the draws, and shared inputs correlate by
//! themselves. A derivative by hand for each result would be a second model to keep right.

use std::borrow::Cow;

use serde::Serialize;

use crate::chemistry::{Composition, Conserved, KeyedAmounts};
use crate::flight::{Convention, Flight, Target};
use crate::mix::spread_base::{Blend, exact_analyses};
use crate::mix::spread_readout::{Readout, Totals, USUAL};
use crate::mix::water_mix::NEGLIGIBLE;
use crate::planner::Plan;
use crate::quantities::Unit;
use crate::quantities::uncertain::{
    COVERAGE, Drawn, Input, Spread, Uncertain, monte_carlo, propagate_into,
};
use crate::stock::budget::{BudgetLine, budget};
use crate::stock::{Cause, DosedBy, Stock, StrengthModel, Tools, UncertaintySource};

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
    /// What it belongs to: a stock, dosed into a bottle, or a measure.
    pub of: String,
    /// The value, in its unit as all numbers here.
    pub value: f64,
    /// mL of a dose, that of the goal of a measure.
    pub unit: &'static str,
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
        // The same in every water.
        let sources: Vec<Vec<UncertaintySource>> =
            models.iter().map(|model| model.uncertainty_sources(tools)).collect();
        let of_stocks: Vec<OfStock<'_>> = stocks
            .iter()
            .zip(models)
            .zip(&sources)
            .map(|((stock, model), sources)| OfStock {
                stock,
                model,
                sources,
                per_meq: stock.recipe().salt.composition_per_meq().totals(),
            })
            .collect();
        let waters = flight
            .targets
            .iter()
            .zip(plans)
            .map(|(target, plan)| {
                WaterModel::new(flight, &of_stocks, tools, target, plan).spread(draws)
            })
            .collect();
        Self { coverage_factor: COVERAGE, exact_analyses: exact_analyses(flight, plans), waters }
    }
}

/// One stock, whatever water it goes into.
struct OfStock<'a> {
    stock: &'a Stock,
    model: &'a StrengthModel,
    sources: &'a [UncertaintySource],
    /// What an equivalent of it brings, which is all known.
    per_meq: Totals,
}

/// One dose as it was made.
#[derive(Clone, Copy)]
struct DoseMade {
    ml: f64,
    brings: Totals,
}

/// One dose as it is planned, with the doubts that it follows from.
struct DoseKnown {
    x: Vec<f64>,
    dose: DoseMade,
}

/// What stays as it is planned while other doubts are moved.
struct Nominal {
    off: [f64; 1],
    doses: Vec<DoseKnown>,
    blend_x: Vec<f64>,
    blend: Composition,
}

/// Whether numbers are the same to the last bit.
fn same(some: &[f64], others: &[f64]) -> bool {
    some.len() == others.len() && some.iter().zip(others).all(|(a, b)| a.to_bits() == b.to_bits())
}

/// One stock in one water.
struct Part<'a> {
    name: &'a str,
    model: &'a StrengthModel,
    uncertainty_sources: usize,
    per_meq: Totals,
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
    uncertainty_sources: Vec<Cow<'a, UncertaintySource>>,
}

impl<'a> WaterModel<'a> {
    fn new(
        flight: &'a Flight,
        stocks: &[OfStock<'a>],
        tools: &Tools,
        target: &'a Target,
        plan: &Plan,
    ) -> Self {
        let base = Blend::new(flight, plan);
        let per_litre = 1.0 / plan.litres_counted(flight.convention);
        let bottle_ml = flight.bottle.to_millilitres().value();
        let mut uncertainty_sources: Vec<Cow<'a, UncertaintySource>> = Vec::new();
        let mut parts = Vec::new();
        for (of_stock, ml_per_l) in stocks.iter().zip(&plan.ml_per_l) {
            if *ml_per_l <= NEGLIGIBLE * 1000.0 {
                continue;
            }
            let OfStock { stock, model, sources, per_meq } = *of_stock;
            let ml = ml_per_l * per_litre * bottle_ml / 1000.0;
            let g_per_ml = stock.density().value.value();
            parts.push(Part {
                name: stock.name(),
                model,
                uncertainty_sources: sources.len(),
                per_meq,
                ml,
                g_per_ml,
            });
            uncertainty_sources.extend(sources.iter().map(Cow::Borrowed));
            uncertainty_sources.push(Cow::Owned(dose(stock.name(), tools, ml, g_per_ml)));
        }
        uncertainty_sources.extend(base.uncertainty_sources().map(Cow::Owned));
        let shared = |cause: Cause, spread: Spread| {
            Cow::Owned(UncertaintySource {
                input: Input::new(cause.to_string(), 0.0, spread),
                cause,
            })
        };
        let scale = match tools.dispenser.by {
            DosedBy::Drops => Cause::DropSize,
            DosedBy::Volume | DosedBy::Mass => Cause::Dispenser,
        };
        uncertainty_sources.push(shared(scale, tools.shared_dose_error()));
        uncertainty_sources.push(shared(Cause::Fill, Spread::Rectangular(tools.fill.value())));
        Self { flight, target, parts, base, by: tools.dispenser.by, bottle_ml, uncertainty_sources }
    }

    /// The bottle for one number per doubt: the volume of each dose into `doses`, the totals of the
    /// water, and the part of it that is base water. Doubts are moved one at a time, so that most of it
    /// is as in `nominal`.
    fn bottle(&self, x: &[f64], nominal: &Nominal, doses: &mut Vec<f64>) -> (Totals, f64) {
        let (off, fill) = match x {
            [.., off, fill] => (*off, *fill),
            _ => (0.0, 0.0),
        };
        let same_scale = same(&[off], &nominal.off);
        let mut rest = x;
        let mut salts = Totals::default();
        for (n, part) in self.parts.iter().enumerate() {
            let (own, more) =
                rest.split_at_checked(part.uncertainty_sources + 1).unwrap_or((&[], &[]));
            rest = more;
            let known = nominal.doses.get(n).filter(|known| same_scale && same(own, &known.x));
            let dose = known.map_or_else(|| self.dose(part, own, off), |known| known.dose);
            for (sum, brought) in salts.iter_mut().zip(dose.brings) {
                *sum += brought;
            }
            doses.push(dose.ml);
        }
        let open = rest.get(..self.base.analysed()).unwrap_or(rest);
        let blend = if same(open, &nominal.blend_x) {
            nominal.blend.totals()
        } else {
            self.base.composition(open).totals()
        };
        let filled = self.bottle_ml * (1.0 + fill);
        let dosed: f64 = doses.iter().sum();
        let (base, whole) = match self.flight.convention {
            Convention::MadeUpToALitre => (filled - dosed, filled),
            Convention::AddedToALitre => (filled, filled + dosed),
        };
        // meq per mL are eq per L
        let (of_salts, of_base) = (1000.0 / whole, base / whole);
        for (total, blend) in salts.iter_mut().zip(blend) {
            *total = *total * of_salts + blend * of_base;
        }
        (salts, of_base)
    }

    /// One dose for one number per doubt of its stock, its own error behind them.
    fn dose(&self, part: &Part<'_>, own: &[f64], off: f64) -> DoseMade {
        let (error, of_stock) = own.split_last().map_or((0.0, own), |(e, own)| (*e, own));
        let strength = part.model.strength(of_stock);
        let ml = match self.by {
            DosedBy::Volume | DosedBy::Drops => part.ml * (1.0 + off) + error,
            DosedBy::Mass => (part.ml * part.g_per_ml + error) / strength.g_per_ml,
        };
        let meq = ml * strength.meq_per_ml();
        DoseMade { ml, brings: part.per_meq.map(|per_meq| per_meq * meq) }
    }

    /// What stays as it is while other doubts are moved.
    fn nominal(&self, x: &[f64]) -> Nominal {
        let off = match x {
            [.., off, _] => *off,
            _ => 0.0,
        };
        let mut rest = x;
        let mut doses = Vec::with_capacity(self.parts.len());
        for part in &self.parts {
            let (own, more) =
                rest.split_at_checked(part.uncertainty_sources + 1).unwrap_or((&[], &[]));
            rest = more;
            doses.push(DoseKnown { x: own.to_vec(), dose: self.dose(part, own, off) });
        }
        let open = rest.get(..self.base.analysed()).unwrap_or(rest);
        Nominal { off: [off], doses, blend_x: open.to_vec(), blend: self.base.composition(open) }
    }

    fn spread(&self, draws: Option<Draws>) -> WaterSpread {
        let inputs = self.uncertainty_sources.iter().map(|source| &source.input);
        let nominal_x: Vec<f64> = inputs.clone().map(|i| i.estimate).collect();
        let nominal = self.nominal(&nominal_x);
        let (totals, of_base) = self.bottle(&nominal_x, &nominal, &mut Vec::new());
        // Nothing but the base water may hold what was not measured.
        let mut water = Composition::PURE_WATER + nominal.blend * of_base;
        for (of, total) in Conserved::ALL.into_iter().zip(totals) {
            water.set_mmol_per_l(of, total);
        }
        let read = Readout::new(self.target, &water);
        // Every result for one number per doubt.
        let model = |x: &[f64], results: &mut Vec<f64>| {
            let (water, _) = self.bottle(x, &nominal, results);
            read.add(&water, results);
        };
        let results = propagate_into(inputs.clone(), model);
        let drawn: Vec<Drawn> = draws.map_or(Vec::new(), |d| {
            let inputs: Vec<Input> = inputs.clone().cloned().collect();
            monte_carlo(&inputs, d.trials, d.seed, |x| {
                let mut results = Vec::new();
                model(x, &mut results);
                results
            })
        });
        let goals = self.target.goals.iter().map(|g| (g.subject.key(), g.unit.symbol()));
        let millilitre = Unit::Millilitre.symbol();
        let doses = self.parts.iter().map(|p| (p.name.to_owned(), millilitre));
        let mut lines: Vec<Expanded> = doses
            .chain(goals)
            .zip(&results)
            .enumerate()
            .map(|(n, (of, result))| self.expanded(of, result, drawn.get(n)))
            .collect();
        let goals = lines.split_off(self.parts.len());
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

    fn expanded(
        &self,
        (of, unit): (String, &'static str),
        result: &Uncertain,
        drawn: Option<&Drawn>,
    ) -> Expanded {
        Expanded {
            of,
            value: result.value,
            unit,
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
