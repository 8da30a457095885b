//! The salts that a litre of a wanted water needs, with room for the doses.

use serde::Serialize;

use crate::chemistry::Composition;
use crate::everyday::concentrate::bottle::Bottle;
use crate::everyday::concentrate::{ConcentrateError, DoseBy, Filled};
use crate::everyday::few_salts::{FewSaltRecipe, FewSalts};
use crate::everyday::{Wanted, WeighedOut};
use crate::flight::{Goal, Target};
use crate::planner::GoalResult;
use crate::planner::plan::assess_goal;
use crate::quantities::{Fraction, show};
use crate::stock::{DrySalt, Tools};

/// A water that a concentrate is dosed into.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DosedInto {
    /// Its name.
    pub water: String,
    /// How much of it a litre of finished water takes, L.
    pub litres_per_l: f64,
}

/// A goal that the salts and base waters cannot reach.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Missed {
    /// What it is set on.
    pub measure: String,
    /// The goal.
    pub want: String,
    /// What the water has, in the unit of the goal.
    pub got: Option<f64>,
    /// That unit.
    pub unit: &'static str,
    /// How far it is from the goal, same unit: negative below, positive above.
    pub miss: f64,
}

/// The salts for a litre, and what it is filled up with.
pub(crate) struct Plan {
    pub(crate) per_l: Vec<(DrySalt, f64)>,
    /// A litre of the blend of base waters.
    pub(crate) base: Composition,
    /// Each base water in a litre of finished water.
    pub(crate) waters: Vec<DosedInto>,
    /// Each goal against what is reached without steps of the balance.
    pub(crate) goals: Vec<GoalResult>,
    /// Which salts it has.
    members: Vec<bool>,
    /// What it has of each at least, g/L.
    least_g_per_l: f64,
}

impl Plan {
    /// With room for so many doses in each litre, of as few salts as keep the goals, each weighed
    /// well with these tools.
    pub(crate) fn for_doses(
        wanted: &Wanted,
        doses: f64,
        dose: DoseBy,
        filled: Filled,
        tools: &Tools,
    ) -> Result<Self, ConcentrateError> {
        let Wanted { target, base, salts, .. } = wanted;
        let mut room = 1.0 - doses * dose.ml(1.0) / 1000.0;
        let mut few = FewSalts::new(salts, base, target, room)?;
        let step = tools.balance.resolution.value();
        let least = tools.balance.least_for(tools.weighing).value().max(step);
        let mut litres = filled.size() / dose.ml(1.0);
        let mut found = few.with_each(least / litres)?;
        // How many litres the bottle makes, and, dosed by mass, the room, follow from the density.
        if let Ok(first) = Bottle::made_up(&used(salts, &found.made), filled, dose) {
            room = 1.0 - doses * dose.ml(first.g_per_ml()) / 1000.0;
            litres = first.litres(dose);
            few = FewSalts::new(salts, base, target, room)?;
            found = few.with_each(least / litres)?;
        }
        if found.least_g_per_l * litres < step {
            found = few.at_any_cost(step / litres)?;
        }
        Ok(Self::of(wanted, found, room))
    }

    /// The same salts with room for another number of doses.
    pub(crate) fn again(
        &self,
        wanted: &Wanted,
        doses: f64,
        dose: DoseBy,
        filled: Filled,
    ) -> Result<Self, ConcentrateError> {
        let Wanted { target, base, salts, .. } = wanted;
        let ml = match Bottle::made_up(&self.per_l, filled, dose) {
            Ok(bottle) => dose.ml(bottle.g_per_ml()),
            Err(_) => dose.ml(1.0),
        };
        let room = 1.0 - doses * ml / 1000.0;
        let mut few = FewSalts::new(salts, base, target, room)?;
        let found = few.of(self.members.clone(), self.least_g_per_l)?;
        Ok(Self::of(wanted, found, room))
    }

    fn of(wanted: &Wanted, found: FewSaltRecipe, room: f64) -> Self {
        let Wanted { base, salts, .. } = wanted;
        let FewSaltRecipe { members, least_g_per_l, made } = found;
        let mut litre = Composition::PURE_WATER;
        for (part, share) in base.iter().zip(&made.shares) {
            litre += part.water.composition * *share;
        }
        let poured = base.iter().zip(&made.shares).filter(|(_, share)| **share > 0.0);
        Self {
            members,
            least_g_per_l,
            per_l: used(salts, &made),
            goals: made.goals,
            base: litre,
            waters: poured
                .map(|(b, share)| DosedInto {
                    water: b.water.name.clone(),
                    litres_per_l: share * room,
                })
                .collect(),
        }
    }

    /// What the concentrate is dosed into, in words.
    pub(crate) fn rest(&self) -> String {
        if let [only] = self.waters.as_slice() {
            return only.water.clone();
        }
        let all: f64 = self.waters.iter().map(|w| w.litres_per_l).sum();
        let part = |w: &DosedInto| {
            format!("{} % {}", show::fixed(100.0 * w.litres_per_l / all, 0), w.water)
        };
        self.waters.iter().map(part).collect::<Vec<_>>().join(" and ")
    }
}

/// Goals that a water misses. One that the plan keeps and that the steps of the balance push out is
/// missed where that is by more than weighings are to be right to, as a part of what is got: a bound that
/// the plan touches is not missed for the last step.
pub(crate) fn missed(
    target: &Target,
    planned: &[GoalResult],
    water: &Composition,
    weighing: Fraction,
) -> Vec<Missed> {
    let is_missed = |goal: &Goal, planned: &GoalResult, result: &GoalResult| {
        let seen = result.got.map_or(0.0, |got| weighing.value() * got.abs());
        !result.reached && (!planned.reached || result.miss.abs() - goal.tolerance > seen)
    };
    let results = target.goals.iter().map(|goal| (goal, assess_goal(goal, water)));
    let all =
        results.zip(planned).filter(|((goal, result), planned)| is_missed(goal, planned, result));
    all.map(|((goal, result), _)| Missed {
        measure: goal.subject.label(),
        want: goal.words(),
        got: result.got.map(|got| goal.in_unit(got)),
        unit: goal.unit.symbol(),
        miss: goal.in_unit(result.miss),
    })
    .collect()
}

fn used(salts: &[DrySalt], made: &WeighedOut) -> Vec<(DrySalt, f64)> {
    let pairs = salts.iter().cloned().zip(made.g_per_l.iter().copied());
    pairs.filter(|(_, g)| *g > 0.0).collect()
}
