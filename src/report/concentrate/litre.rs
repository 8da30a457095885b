//! The salts that a litre of a wanted water needs, with room for the doses.

use serde::Serialize;

use crate::chemistry::Composition;
use crate::planner::weigh_out::{WeighedOut, any_grams};
use crate::quantities::show;
use crate::report::concentrate::bottle::{Bottle, ConcentrateError, DoseBy, Filled};
use crate::report::wanted::Wanted;
use crate::shelf::DrySalt;
use crate::waters::Target;

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
    /// The wish.
    pub want: String,
    /// What the water has, in the unit of the wish.
    pub got: Option<f64>,
    /// That unit.
    pub unit: &'static str,
}

/// The salts for a litre, and what it is filled up with.
pub(super) struct Plan {
    pub(super) per_l: Vec<(DrySalt, f64)>,
    /// A litre of the blend of base waters.
    pub(super) base: Composition,
    /// Each base water in a litre of finished water.
    pub(super) waters: Vec<DosedInto>,
    /// Goals that are not reached.
    pub(super) missed: Vec<Missed>,
}

impl Plan {
    /// With room for so many doses in each litre.
    pub(super) fn for_doses(
        wanted: &Wanted,
        doses: f64,
        dose: DoseBy,
        filled: Filled,
    ) -> Result<Self, ConcentrateError> {
        let Wanted { target, base, salts, .. } = wanted;
        let mut room = 1.0 - doses * dose.ml(1.0) / 1000.0;
        let mut made = any_grams(salts, base, target, room)?;
        // Dosed by mass, the room follows from the density.
        if let DoseBy::Mass(_) = dose
            && let Ok(first) = Bottle::made_up(&used(salts, &made), filled, dose)
        {
            room = 1.0 - doses * dose.ml(first.g_per_ml()) / 1000.0;
            made = any_grams(salts, base, target, room)?;
        }
        let mut litre = Composition::PURE_WATER;
        for (part, share) in base.iter().zip(&made.shares) {
            litre += part.water.composition * *share;
        }
        let poured = base.iter().zip(&made.shares).filter(|(_, share)| **share > 0.0);
        Ok(Self {
            per_l: used(salts, &made),
            missed: missed(target, &made),
            base: litre,
            waters: poured
                .map(|(b, share)| DosedInto {
                    water: b.water.name.clone(),
                    litres_per_l: share * room,
                })
                .collect(),
        })
    }

    /// What the concentrate is dosed into, in words.
    pub(super) fn rest(&self) -> String {
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

fn missed(target: &Target, made: &WeighedOut) -> Vec<Missed> {
    let both = target.goals.iter().zip(&made.goals).filter(|(_, result)| !result.reached);
    both.map(|(goal, result)| Missed {
        measure: goal.subject.label(),
        want: goal.wish(),
        got: result.got.map(|got| goal.in_unit(got)),
        unit: goal.unit.symbol(),
    })
    .collect()
}

fn used(salts: &[DrySalt], made: &WeighedOut) -> Vec<(DrySalt, f64)> {
    let pairs = salts.iter().cloned().zip(made.g_per_l.iter().copied());
    pairs.filter(|(_, g)| *g > 0.0).collect()
}
