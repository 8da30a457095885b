//! One water of a planned flight: its doses, salts and base waters, and its goals.

use serde::Serialize;
use thiserror::Error;

use crate::assessment::{Glance, Unknowns, Withheld};
use crate::chemistry::{KeyedAmounts, density};
use crate::flight::{Band, Convention, Flight, Goal, Target};
use crate::mix::pour_order::PourGroup;
use crate::mix::reach_report::ReachReport;
use crate::planner::{GoalResult, Plan};
use crate::quantities::Celsius;
use crate::stock::Stock;
use crate::water::Measure;
use crate::water::charge_columns::ChargeColumns;

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

/// What a plan gives of one target of a flight.
///
/// # Errors
/// When doses are to be added to a litre of base water and the plan uses none.
pub(crate) fn water_mix(
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
