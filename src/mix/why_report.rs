//! Why a water cannot be made, or which goals bind, as plain structs.

use serde::Serialize;

use crate::chemistry::KeyedAmounts;
use crate::flight::{Flight, Goal, Order, Target};
use crate::mix::kept_out::{Asked, KeptOut};
use crate::mix::reach_report::ReachReport;
use crate::planner::Plan;
use crate::planner::explain::why::{Moved, Preferred, Shift};
use crate::planner::explain::{Hints, Why};
use crate::quantities::show;
use crate::stock::trial_stock::STRONGEST_G_PER_KG;
use crate::water::Measure;

/// The answer for one target.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct WhyReport {
    /// Title of the flight.
    pub flight: String,
    /// Name of the target.
    pub target: String,
    /// Whether every goal is met within its tolerance.
    pub reached: bool,
    /// The goals that cannot all be kept, none of them needless; empty when in reach.
    pub conflict: Vec<String>,
    /// Those of them of which each, left out alone, brings all other goals into reach.
    pub enough_to_leave_out: Vec<String>,
    /// Each goal: how near it gets when all others come first.
    pub nearest: Vec<NearestLine>,
    /// The charges that all goals together ask for and leave room for.
    pub charges: ChargeLine,
    /// What it lacks, out of reach; each tried.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<ReasonLine>,
    /// Salts that would reach the target, the best first.
    pub remedies: Vec<RemedyLine>,
    /// What each goal costs, when the target is in reach.
    pub shifts: Vec<ShiftLine>,
    /// What limits and base waters have to do with it, out of reach.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reach: Option<ReachReport>,
    /// What the flight asks that keeps a water out which would be in reach.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kept_out: Option<KeptOut>,
    /// Why it has no answer at all, which no other line then says anything of.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_answer: Option<String>,
    /// What the flight asks as well, in words. Costs, conflicts and nearest values are in doses of any size;
    /// what is said to bring the water into reach was tried with all of this.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_counted: Vec<String>,
    /// Where the volume of stocks is limited, the strongest stock that a salt was tried as, g/kg, of those
    /// of which so much dissolves.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub strongest_tried_g_per_kg: Option<f64>,
    /// What the nearest (or best) water holds, mg/L; nothing where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mg_per_l: Option<KeyedAmounts>,
}

/// What of an answer in doses of any size holds with all that a flight asks.
#[derive(Debug, Clone, PartialEq)]
pub struct AsMade {
    /// Goals of which each, left out alone, brings all others into reach.
    pub enough_to_leave_out: Vec<usize>,
    /// What limits and base waters have to do with it.
    pub hints: Hints,
    /// Of each remedy whether it reaches the target.
    pub remedies: Vec<bool>,
}

/// How near one goal gets.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NearestLine {
    /// The measure, or `a : b`.
    pub measure: String,
    /// What is wanted, in words.
    pub in_words: String,
    /// The unit.
    pub unit: &'static str,
    /// What the water has when all other goals come first.
    pub got: Option<f64>,
    /// Whether that is within tolerance.
    pub reached: bool,
    /// Whether all others are then kept.
    pub others_kept: bool,
}

/// Charges in meq/L; nothing where no goal sets a limit.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct ChargeLine {
    /// Cations that the goals ask for at least.
    pub cations_least_meq_per_l: f64,
    /// Cations that they leave room for.
    pub cations_most_meq_per_l: Option<f64>,
    /// Anions that they ask for at least.
    pub anions_least_meq_per_l: f64,
    /// Anions that they leave room for.
    pub anions_most_meq_per_l: Option<f64>,
    /// Whether both can be equal, as they are in every water.
    pub can_cancel: bool,
}

/// What alone would bring a target into reach, each tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[expect(clippy::struct_excessive_bools, reason = "four independent answers")]
pub struct ReasonLine {
    /// Other limits.
    pub limits: bool,
    /// Distilled water among the base waters.
    pub base_water: bool,
    /// Other salts of the catalogue.
    pub salts: bool,
    /// Nothing: no salts of any ions, with distilled water and without limits, would.
    pub goals_exclude_each_other: bool,
}

/// Salts that reach the target together with the shelf.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RemedyLine {
    /// The salts.
    pub salts: Vec<RemedySalt>,
    /// Price of the salts in a litre, where it is known.
    pub price_per_l: Option<f64>,
    /// Whether it was tried with all that the flight asks, and not only in doses of any size.
    pub as_the_flight_is_made: bool,
}

/// One salt of a remedy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RemedySalt {
    /// Full name.
    pub name: String,
    /// Formula.
    pub formula: String,
    /// Grams of the salt in a litre of water, at least.
    pub g_per_l: f64,
    /// Strength of the stock that it was tried as, g/kg.
    pub stock_g_per_kg: f64,
    /// Whether it dissolves only under carbon dioxide.
    pub needs_carbonation: bool,
}

/// What moving a goal by one of its units does.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShiftLine {
    /// The measure, or `a : b`.
    pub measure: String,
    /// What is wanted, in words.
    pub in_words: String,
    /// The unit it is moved by.
    pub unit: &'static str,
    /// Whether moving it changes anything.
    pub binds: bool,
    /// One unit more.
    pub more: Option<MovedLine>,
    /// One unit less.
    pub less: Option<MovedLine>,
}

/// The water of a moved goal against the one at hand.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MovedLine {
    /// Whether it is still in reach.
    pub reached: bool,
    /// Change of the weighted misses, in units of tolerance.
    pub misses: f64,
    /// Change of all stocks, mL per litre in the convention of the flight.
    pub ml_per_l: f64,
    /// Change of the cost of a litre, where the flight prefers little cost: salts, base waters, and the water
    /// in the stocks as if it were the dearest of these.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost_per_l: Option<f64>,
    /// Change of sodium, where the flight prefers little of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sodium_mg_per_l: Option<f64>,
    /// Change of the number of stocks, where the flight prefers few.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stocks: Option<f64>,
}

impl From<Moved> for MovedLine {
    fn from(m: Moved) -> Self {
        let (mut cost_per_l, mut sodium_mg_per_l, mut stocks) = (None, None, None);
        match m.preferred {
            Some(Preferred::Cost(v)) => cost_per_l = Some(v),
            Some(Preferred::Sodium(v)) => {
                sodium_mg_per_l = Some(v / Measure::Sodium.native_per_usual_unit());
            }
            Some(Preferred::Stocks(v)) => stocks = Some(v),
            None => {}
        }
        let (reached, misses, ml_per_l) = (m.reached, m.misses, m.ml_per_l);
        Self { reached, misses, ml_per_l, cost_per_l, sodium_mg_per_l, stocks }
    }
}

/// Our choice: a change of stock, misses or what is preferred below this is rounding.
pub(crate) const NO_CHANGE: f64 = 1e-6;

impl WhyReport {
    /// Reports an answer.
    #[must_use]
    pub fn new(flight: &Flight, target: &Target, why: &Why) -> Self {
        let finite = |v: f64| v.is_finite().then_some(v);
        let goals = || target.goals.iter();
        Self {
            flight: flight.title.clone(),
            target: target.name.clone(),
            reached: why.plan.reached(),
            conflict: conflict_words(target, &why.conflict),
            enough_to_leave_out: conflict_words(target, &why.enough_to_leave_out),
            nearest: goals()
                .zip(&why.nearest)
                .map(|(goal, n)| NearestLine {
                    measure: goal.subject.key(),
                    in_words: goal.words(),
                    unit: goal.unit.symbol(),
                    got: n.got.map(|v| goal.in_unit(v)),
                    reached: n.reached,
                    others_kept: n.others_kept,
                })
                .collect(),
            charges: ChargeLine {
                cations_least_meq_per_l: why.charges.cations_least,
                cations_most_meq_per_l: finite(why.charges.cations_most),
                anions_least_meq_per_l: why.charges.anions_least,
                anions_most_meq_per_l: finite(why.charges.anions_most),
                can_cancel: why.charges.can_cancel(),
            },
            reason: (!why.plan.reached()).then(|| ReasonLine {
                limits: why.hints.without_limits.is_some(),
                base_water: why.hints.distilled,
                salts: why.reason.salts || !why.remedies.is_empty(),
                goals_exclude_each_other: why.reason.goals_exclude_each_other,
            }),
            remedies: why
                .remedies
                .iter()
                .map(|r| RemedyLine {
                    salts: r
                        .salts
                        .iter()
                        .zip(&r.stocks)
                        .map(|((salt, grams), stock)| RemedySalt {
                            name: salt.name.clone(),
                            formula: salt.formula.to_string(),
                            g_per_l: *grams,
                            stock_g_per_kg: stock.g_per_kg(),
                            needs_carbonation: salt.carbonation_mol_co2 > 0.0,
                        })
                        .collect(),
                    price_per_l: r.price_per_l,
                    as_the_flight_is_made: true,
                })
                .collect(),
            shifts: goals().zip(&why.shifts).map(|(g, s)| shift_line(g, *s)).collect(),
            reach: ReachReport::new(flight.limits, &why.hints),
            strongest_tried_g_per_kg: (!why.plan.reached()
                && flight.limits.stocks_ml_per_l.is_finite())
            .then_some(STRONGEST_G_PER_KG),
            mg_per_l: Some(KeyedAmounts::mg_per_l(&why.plan.water)),
            ..Self::default()
        }
    }

    /// Of a target that has no answer at all.
    #[must_use]
    pub fn without_answer(flight: &Flight, target: &Target, reason: String) -> Self {
        Self {
            flight: flight.title.clone(),
            target: target.name.clone(),
            charges: ChargeLine { can_cancel: true, ..ChargeLine::default() },
            no_answer: Some(reason),
            ..Self::default()
        }
    }

    /// Says what the flight asks of the water at this place beyond its goals.
    #[must_use]
    pub fn any_size(self, order: &Order, place: usize) -> Self {
        Self { not_counted: Asked::all_in_words(order, place), ..self }
    }

    /// Leaves of what would bring the target into reach what does with all that the flight asks.
    #[must_use]
    pub fn as_made(mut self, flight: &Flight, target: &Target, made: &AsMade) -> Self {
        self.enough_to_leave_out = conflict_words(target, &made.enough_to_leave_out);
        self.reach = ReachReport::new(flight.limits, &made.hints);
        for (line, reaches) in self.remedies.iter_mut().zip(&made.remedies) {
            line.as_the_flight_is_made = *reaches;
        }
        self
    }

    /// The same of a water that its flight keeps out of reach; `plan` is that of the flight.
    #[must_use]
    pub fn kept_out(mut self, kept: KeptOut, plan: Option<&Plan>) -> Self {
        self.reached = false;
        self.shifts.clear();
        self.kept_out = Some(kept);
        if let Some(plan) = plan {
            self.mg_per_l = Some(KeyedAmounts::mg_per_l(&plan.water));
        }
        self
    }
}

fn shift_line(goal: &Goal, shift: Shift) -> ShiftLine {
    let changes = |m: Option<Moved>| {
        m.is_some_and(|m| {
            let preferred = m.preferred.map_or(0.0, Preferred::amount);
            [m.misses, m.ml_per_l, preferred].iter().any(|by| by.abs() > NO_CHANGE)
        })
    };
    ShiftLine {
        measure: goal.subject.key(),
        in_words: goal.words(),
        unit: goal.unit.symbol(),
        binds: changes(shift.more) || changes(shift.less),
        more: shift.more.map(MovedLine::from),
        less: shift.less.map(MovedLine::from),
    }
}

/// The conflicting goals in words, each with what is wanted.
#[must_use]
pub fn conflict_words(target: &Target, conflict: &[usize]) -> Vec<String> {
    conflict
        .iter()
        .filter_map(|n| target.goals.get(*n))
        .map(|goal| format!("{} {}", goal.subject.label(), goal.words()))
        .collect()
}

impl RemedySalt {
    /// The salt with its grams, as one reads it aloud.
    #[must_use]
    pub fn words(&self) -> String {
        let gas = if self.needs_carbonation { " under carbon dioxide" } else { "" };
        format!(
            "{} ({}), {} mg/L, stock {} g/kg{gas}",
            self.name,
            self.formula,
            show::three_figures(1000.0 * self.g_per_l),
            show::three_figures(self.stock_g_per_kg)
        )
    }
}
