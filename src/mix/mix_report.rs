//! A planned flight: doses, waters, goals, totals.
//!
//! Above 400 lines: the structs that `--json` writes for one flight.

use serde::Serialize;
use thiserror::Error;

use crate::assessment::water_report::CARBONATE;
use crate::assessment::{Glance, Lab, Unknowns, Withheld};
use crate::chemistry::{Composition, Conserved, ConservedSet, KeyedAmounts, density};
use crate::flight::{Band, Convention, Flight, Goal, Order, Pinned, Preference, Target};
use crate::mix::flight_map::FlightMap;
use crate::mix::pour_order::PourGroup;
use crate::mix::reach_report::{ReachReport, UnansweredLine};
use crate::mix::stocktake::Filled;
use crate::mix::{CostReport, OrderReport, SpreadReport};
use crate::planner::{GoalResult, Plan};
use crate::quantities::{Celsius, show};
use crate::stock::{Bottle, Note, Stock, stock_report};
use crate::water::charge_columns::ChargeColumns;
use crate::water::water_change::WaterChange;
use crate::water::{BalanceVerdict, BaseWater, Measure};

/// A planned flight.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MixReport {
    /// Title of the flight.
    pub flight: String,
    /// Its name before the number of a water, on a bench that has several flights.
    #[serde(skip)]
    pub named_before_waters: Option<String>,
    /// Whether the doses were chosen by what they cost.
    #[serde(skip)]
    pub chosen_by_cost: bool,
    /// What a litre means.
    pub convention: &'static str,
    /// Size of a bottle, mL (of finished water, or of base water when doses are added to it).
    pub bottle_ml: f64,
    /// Bottles of each water that stocks and base waters are added up for.
    pub bottles: u32,
    /// The waters, in the order of the flight.
    pub waters: Vec<WaterMix>,
    /// What these bottles take from the stocks, in the order of the shelf.
    pub stocks_used: Vec<StockUse>,
    /// What these bottles take from the base waters.
    pub base_used: Vec<BaseUse>,
    /// What the numbers rest on.
    pub notes: Vec<Note>,
    /// How far each water may be from its plan.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spread: Option<SpreadReport>,
    /// What it costs, where prices are stated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<CostReport>,
    /// Waters that are not what the last session with them was planned with.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub changed_since_session: Vec<WaterChange>,
    /// The flight on a map of two measures, where a picture of it is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub map: Option<FlightMap>,
    /// Whether the text shows every source of uncertainty.
    #[serde(skip)]
    pub show_budget: bool,
    /// Targets of the flight that have no answer; they are not among the waters.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub unanswered: Vec<UnansweredLine>,
    /// A dispenser, a set of stocks, what is left in them: when the flight asks for any.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub order: Option<OrderReport>,
}

/// One water of the flight.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WaterMix {
    /// Its number in the flight.
    pub number: usize,
    /// Name of the target.
    pub target: String,
    /// Whether every goal is met within its tolerance.
    pub reached: bool,
    /// Doses, in the order of the shelf; stocks that are not used are left out.
    pub doses: Vec<Dose>,
    /// Where its composition comes from, for a target that is pinned and not left to goals.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pinned: Option<String>,
    /// Its salts, in the order of the shelf: the same water whatever the strength of the stocks.
    pub salts: Vec<SaltPart>,
    /// Base waters with their shares.
    pub base: Vec<BasePart>,
    /// The water that results, mg/L of finished water; alkalinity as HCO3.
    pub mg_per_l: KeyedAmounts,
    /// The same by charge, meq/L.
    pub meq_per_l: ChargeColumns,
    /// What is not known of it.
    #[serde(flatten)]
    pub unknowns: Unknowns,
    /// Hardness, mg/L as CaCO3; none where calcium or magnesium of a base water was not measured.
    pub hardness_mg_per_l_caco3: Option<f64>,
    /// Carbonate alkalinity, mg/L as CaCO3; none where that of a base water was not measured.
    pub alkalinity_mg_per_l_caco3: Option<f64>,
    /// Sum of all constituents, mg/L; none where an ion of a base water was not measured.
    pub dissolved_solids_mg_per_l: Option<f64>,
    /// Each goal against what was reached.
    pub goals: Vec<GoalLine>,
    /// Sum of weighted misses beyond tolerance, in units of miss.
    pub misses_beyond_tolerance: f64,
    /// pH, conductivity and limescale at a glance; none where the chemistry has no answer, or where
    /// something that it depends on was not measured.
    pub glance: Option<Glance>,
    /// Why there is none of these.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub withheld: Option<Withheld>,
    /// The goals that cannot all be kept, for a target out of reach.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub conflict: Vec<String>,
    /// Out of reach only for what the flight asks beside its goals: steps, stocks, what is left.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub reached_without_limits: bool,
    /// What limits and base waters have to do with it, out of reach.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reach: Option<ReachReport>,
}

/// A dose of one stock.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Dose {
    /// Name of the stock.
    pub stock: String,
    /// Millilitres per litre, in the flight's convention.
    pub ml_per_l: f64,
    /// Grams of stock per litre, in the flight's convention.
    pub g_per_l: f64,
    /// Millilitres per bottle.
    pub ml_per_bottle: f64,
    /// Grams of stock per bottle.
    pub g_per_bottle: f64,
    /// Its turn when the bottle is filled, from 1.
    pub pour_order: usize,
}

/// A salt in a litre of finished water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SaltPart {
    /// Its formula, hydrate water included.
    pub formula: String,
    /// How much of it, mg/L.
    pub mg_per_l: f64,
}

/// The part that a base water takes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BasePart {
    /// Name of the water.
    pub water: String,
    /// Its share of the finished volume, or of the base when doses are added to a litre.
    pub share: f64,
    /// Millilitres per bottle.
    pub ml_per_bottle: f64,
    /// Grams per litre, in the flight's convention, of water at 20 °C.
    pub g_per_l: f64,
    /// Grams per bottle.
    pub g_per_bottle: f64,
}

impl BasePart {
    /// Whether there is anything of it to pour where whole millilitres are said.
    #[must_use]
    pub fn is_poured(&self) -> bool {
        self.ml_per_bottle >= 0.5
    }
}

/// Water is measured at the temperature of a room: our choice.
pub(crate) const MEASURED_AT: Celsius = Celsius::new(20.0);

/// A goal against what was reached, in the goal's own unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GoalLine {
    /// The measure, or `a : b`.
    pub measure: String,
    /// What is wanted, in words.
    pub in_words: String,
    /// The wanted value, or both ends of the wanted range.
    pub want: GoalValue,
    /// Forgiven misses.
    pub tolerance: f64,
    /// Unit of the goal as it was written.
    pub unit: &'static str,
    /// What the water has; nothing for a ratio to something absent.
    pub got: Option<f64>,
    /// Deviation from what is wanted: negative below, positive above.
    pub miss: f64,
    /// Whether the miss is within the tolerance.
    pub reached: bool,
}

/// A wanted value or range.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(untagged)]
pub enum GoalValue {
    /// One value.
    Value(f64),
    /// From the first to the second.
    Range([f64; 2]),
}

/// Total of one stock.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StockUse {
    /// Name of the stock.
    pub stock: String,
    /// Millilitres for one bottle of each water.
    pub ml: f64,
    /// Grams for one bottle of each water.
    pub g: f64,
    /// The batch that the doses follow from; nothing when none was recorded.
    pub batch: Option<u32>,
    /// What is in the bottle now, mL; nothing when no batch was recorded.
    pub left_ml: Option<f64>,
    /// What is in it after one bottle of each water, mL.
    pub left_after_ml: Option<f64>,
}

/// Total of one base water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BaseUse {
    /// Name of the water.
    pub water: String,
    /// Millilitres for one bottle of each water.
    pub ml: f64,
}

/// Why a plan cannot be reported in the flight's convention.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ReportError {
    /// Doses cannot be given per litre of a base water that is not there.
    #[error(
        "`{target}` is made of stocks alone, so there is no litre of base water to add them to"
    )]
    NoBase {
        /// Name of the target.
        target: String,
    },
}

/// Our choice: a dose or share below this part of a litre is rounding of the solver and is left
/// out; a billionth of a litre is far below a drop.
pub(crate) const NEGLIGIBLE: f64 = 1e-9;

impl MixReport {
    /// Reports the plans of a flight, one for each target.
    ///
    /// # Errors
    /// When doses are to be added to a litre of base water and a plan uses none.
    pub fn new(flight: &Flight, stocks: &[Stock], plans: &[Plan]) -> Result<Self, ReportError> {
        let waters = flight
            .targets
            .iter()
            .zip(plans)
            .enumerate()
            .map(|(n, (target, plan))| water_mix(flight, stocks, (n + 1, target), plan))
            .collect::<Result<Vec<_>, _>>()?;
        let stocks_used = stocks
            .iter()
            .filter_map(|stock| {
                let doses =
                    || waters.iter().flat_map(|w| &w.doses).filter(|d| d.stock == stock.name());
                let ml: f64 = doses().map(|d| d.ml_per_bottle).sum();
                let g = doses().map(|d| d.g_per_bottle).sum();
                (ml > 0.0).then(|| StockUse {
                    stock: stock.name().to_owned(),
                    ml,
                    g,
                    batch: None,
                    left_ml: None,
                    left_after_ml: None,
                })
            })
            .collect();
        let base_used = flight
            .base
            .iter()
            .map(|base| {
                let name = &base.water.name;
                let parts = waters.iter().flat_map(|w| &w.base).filter(|b| b.water == *name);
                BaseUse { water: name.clone(), ml: parts.map(|b| b.ml_per_bottle).sum() }
            })
            .filter(|base| base.ml > 0.0)
            .collect();
        Ok(Self {
            flight: flight.title.clone(),
            named_before_waters: None,
            chosen_by_cost: flight.preference == Preference::LeastCost,
            convention: flight.convention.describe(),
            bottle_ml: flight.bottle.to_millilitres().value(),
            bottles: 1,
            notes: notes(flight, stocks, plans),
            unanswered: Vec::new(),
            order: None,
            waters,
            stocks_used,
            base_used,
            spread: None,
            cost: None,
            changed_since_session: Vec::new(),
            map: None,
            show_budget: false,
        })
    }

    /// Adds to every water what it is at a glance.
    #[must_use]
    pub fn with_glances(mut self, lab: &Lab, plans: &[Plan]) -> Self {
        for (mix, plan) in self.waters.iter_mut().zip(plans) {
            mix.withheld = Withheld::unless_measured(&plan.water, &CARBONATE);
            mix.glance = match mix.withheld {
                None => Glance::new(lab, &plan.water).ok(),
                Some(_) => None,
            };
        }
        self
    }
}

impl MixReport {
    /// Adds up for so many bottles of each water.
    #[must_use]
    pub fn for_bottles(mut self, bottles: u32) -> Self {
        let times = f64::from(bottles) / f64::from(self.bottles);
        for used in &mut self.stocks_used {
            used.ml *= times;
            used.g *= times;
        }
        for used in &mut self.base_used {
            used.ml *= times;
        }
        self.bottles = bottles;
        self
    }

    /// Numbers the waters as the targets of the flight that they belong to.
    pub fn number_waters(&mut self, places: &[usize]) {
        for (water, place) in self.waters.iter_mut().zip(places) {
            water.number = place + 1;
        }
        let steps = self.order.iter_mut().filter_map(|order| order.dispenser.as_mut());
        for (water, place) in steps.flat_map(|d| d.waters.iter_mut()).zip(places) {
            water.number = place + 1;
        }
    }

    /// Says which ions a likeness to a water counts without anyone having measured them.
    pub fn note_likeness(&mut self, to: &Composition) {
        let ions = to.not_measured().iter().filter(|c| c.charge() != 0);
        let not_measured: ConservedSet = ions.collect();
        if !not_measured.is_empty() {
            self.notes.push(Note::LikenessNotMeasured { not_measured });
        }
    }

    /// Says which waters are pinned, and to what.
    pub fn name_pinned(&mut self, order: &Order) {
        for (n, water) in self.waters.iter_mut().enumerate() {
            water.pinned = order.pinned(n).map(|from| match from {
                Pinned::Tasted { session, water, day } => {
                    format!("as it was planned for the session {session} on {day} ({water})")
                }
                Pinned::Composition => "its composition as the flight's file states it".to_owned(),
                Pinned::MadeOf { salts } => {
                    format!("made of {}, as the flight's file states it", salts.join(", "))
                }
            });
        }
    }

    /// Says what is in each bottle now, and what will be once the flight is poured.
    pub fn count_bottles(&mut self, filled: &[Filled<'_>]) {
        for used in &mut self.stocks_used {
            let bottle = filled.iter().find(|f| f.stock.name() == used.stock);
            used.left_ml = bottle.and_then(Filled::left_ml);
            used.left_after_ml = used.left_ml.map(|left| (left - used.ml).max(0.0));
        }
    }

    /// Names the batch that each stock's doses follow from, so that a plan that is kept says later
    /// what was in the bottles.
    pub fn name_batches(&mut self, bottles: &[Bottle]) {
        for used in &mut self.stocks_used {
            let bottle = bottles.iter().find(|b| b.written.name() == used.stock);
            used.batch = bottle.and_then(|b| b.batch.as_ref()).map(|b| b.number);
        }
    }
}

fn water_mix(
    flight: &Flight,
    stocks: &[Stock],
    (number, target): (usize, &Target),
    plan: &Plan,
) -> Result<WaterMix, ReportError> {
    let base_share: f64 = plan.shares.iter().sum();
    // The plan is per litre of finished water; "added to a litre" is the same per litre of base.
    let per_litre = match flight.convention {
        Convention::MadeUpToALitre => 1.0,
        Convention::AddedToALitre if base_share > NEGLIGIBLE => 1.0 / base_share,
        Convention::AddedToALitre => {
            return Err(ReportError::NoBase { target: target.name.clone() });
        }
    };
    let bottle = flight.bottle.value();
    let used = || stocks.iter().zip(&plan.ml_per_l).filter(|(_, ml)| **ml > 1000.0 * NEGLIGIBLE);
    let mut turns: Vec<&str> = Vec::new();
    for group in PourGroup::IN_ORDER {
        let own = used().filter(|(stock, _)| PourGroup::of(stock) == group);
        turns.extend(own.map(|(stock, _)| stock.name()));
    }
    let doses = used()
        .map(|(stock, ml)| {
            let ml_per_l = ml * per_litre;
            let g_per_l = ml_per_l * stock.density().value.value();
            Dose {
                stock: stock.name().to_owned(),
                ml_per_l,
                g_per_l,
                ml_per_bottle: ml_per_l * bottle,
                g_per_bottle: g_per_l * bottle,
                pour_order: 1 + turns.iter().take_while(|name| **name != stock.name()).count(),
            }
        })
        .collect();
    let g_per_ml = density::water(MEASURED_AT).value();
    let base = flight
        .base
        .iter()
        .zip(&plan.shares)
        .filter(|(_, share)| **share > NEGLIGIBLE)
        .map(|(base, share)| BasePart {
            water: base.water.name.clone(),
            share: share * per_litre,
            ml_per_bottle: share * per_litre * bottle * 1000.0,
            g_per_l: share * per_litre * 1000.0 * g_per_ml,
            g_per_bottle: share * per_litre * bottle * 1000.0 * g_per_ml,
        })
        .collect();
    let mut salts: Vec<SaltPart> = Vec::new();
    for (stock, ml) in used() {
        let formula = stock.recipe().salt.formula.to_string();
        // g/kg · g/mL are mg/mL of the salt.
        let mg_per_l = ml * stock.g_per_kg() * stock.density().value.value();
        match salts.iter_mut().find(|salt| salt.formula == formula) {
            Some(salt) => salt.mg_per_l += mg_per_l,
            None => salts.push(SaltPart { formula, mg_per_l }),
        }
    }
    let usual = |m: Measure| m.measured_usual(&plan.water);
    Ok(WaterMix {
        number,
        target: target.name.clone(),
        reached: plan.reached(),
        doses,
        pinned: None,
        salts,
        base,
        mg_per_l: KeyedAmounts::mg_per_l(&plan.water),
        meq_per_l: ChargeColumns::of(&plan.water),
        unknowns: Unknowns::of(&plan.water),
        hardness_mg_per_l_caco3: usual(Measure::Hardness),
        alkalinity_mg_per_l_caco3: usual(Measure::Alkalinity),
        dissolved_solids_mg_per_l: usual(Measure::DissolvedSolids),
        goals: target.goals.iter().zip(&plan.goals).map(|(g, r)| goal_line(g, r)).collect(),
        misses_beyond_tolerance: plan.stages.beyond,
        glance: None,
        withheld: None,
        conflict: Vec::new(),
        reached_without_limits: false,
        reach: None,
    })
}

fn goal_line(goal: &Goal, result: &GoalResult) -> GoalLine {
    let want = match goal.band {
        Band::Near(v) | Band::AtMost(v) | Band::AtLeast(v) => GoalValue::Value(goal.in_unit(v)),
        Band::Between(a, b) => GoalValue::Range([goal.in_unit(a), goal.in_unit(b)]),
    };
    GoalLine {
        measure: goal.subject.key(),
        in_words: goal.words(),
        want,
        tolerance: goal.in_unit(goal.tolerance),
        unit: goal.unit.symbol(),
        got: result.got.map(|v| goal.in_unit(v)),
        miss: goal.in_unit(result.miss),
        reached: result.reached,
    }
}

/// What there is to say of the analysis of a base water.
fn of_analysis(water: &BaseWater) -> Vec<Note> {
    let name = || water.name.clone();
    let composition = &water.composition;
    let balance = water.charge_balance();
    let mut notes = Vec::new();
    let not_measured = composition.not_measured();
    // Few analyses give silica; the lines of each water say so, and nothing else depends on it.
    if composition.lacks_ions() {
        let balance = balance.verdict();
        notes.push(Note::NotMeasured { water: name(), not_measured, balance });
    } else if balance.verdict() == BalanceVerdict::Fails {
        notes.push(Note::Unbalanced {
            water: name(),
            cations: balance.cations_meq_per_l,
            anions: balance.anions_meq_per_l,
            limit: balance.limit_meq_per_l,
        });
    }
    let assumed = composition.assumed().iter().filter(|c| *c != Conserved::Dic);
    let assumed: Vec<String> = assumed
        .map(|c| format!("{} {} mg/L", c.label(), show::three_figures(composition.mg_per_l(c))))
        .collect();
    if !assumed.is_empty() {
        notes.push(Note::Assumed { water: name(), assumed: assumed.join(", ") });
    }
    let doubtful = water.doubtful.iter();
    notes.extend(doubtful.map(|doubt| Note::Doubtful { water: name(), doubt: *doubt }));
    notes
}

fn notes(flight: &Flight, stocks: &[Stock], plans: &[Plan]) -> Vec<Note> {
    let mut notes: Vec<Note> = Vec::new();
    if stocks.is_empty() {
        notes.push(Note::EmptyShelf);
    }
    notes.extend(stocks.iter().flat_map(stock_report::notes));
    for base in &flight.base {
        notes.extend(of_analysis(&base.water));
    }
    let organic = |w: &Composition| {
        w.mmol_per_l(Conserved::Lactate) > 0.0 || w.mmol_per_l(Conserved::Citrate) > 0.0
    };
    notes.extend(
        flight
            .targets
            .iter()
            .zip(plans)
            .filter(|(_, plan)| organic(&plan.water))
            .map(|(target, _)| Note::OrganicAlkalinity { target: target.name.clone() }),
    );
    notes
}
