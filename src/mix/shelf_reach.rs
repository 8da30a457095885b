//! Which targets a shelf can make, whatever flight they are put in.

use std::fmt;

use crate::flight::{
    BaseShare, Convention, DoseLimits, Flight, MissRule, Preference, Target, not_measured_for,
};
use crate::planner::plan_flight;
use crate::quantities::{Fraction, Litres};
use crate::stock::Stock;
use crate::water::BaseWater;

/// Whether a shelf can make a target.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// Every goal within its tolerance.
    InReach,
    /// Not every goal.
    OutOfReach,
    /// A base water was not measured for what a goal counts.
    NotKnown,
}

impl fmt::Display for Reach {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::InReach => "in reach",
            Self::OutOfReach => "out of reach of these stocks",
            Self::NotKnown => "not known: a base water was not measured for it",
        })
    }
}

/// The waters that were measured for everything that a target asks.
#[must_use]
pub fn measured_for(target: &Target, waters: &[BaseWater]) -> Vec<BaseWater> {
    let is_measured = |water: &&BaseWater| {
        let alone = [BaseShare { water: (*water).clone(), at_most: Fraction::new(1.0) }];
        target.goals.iter().all(|goal| not_measured_for(&alone, goal.subject).is_none())
    };
    waters.iter().filter(is_measured).cloned().collect()
}

/// A flight without targets that no other one is taken as an example for: any share of each base water.
#[must_use]
pub fn plain_flight(waters: &[BaseWater]) -> Flight {
    let share = |w: &BaseWater| BaseShare { water: w.clone(), at_most: Fraction::new(1.0) };
    Flight {
        title: String::new(),
        base: waters.iter().map(share).collect(),
        bottle: Litres::new(1.0),
        convention: Convention::MadeUpToALitre,
        misses: MissRule::Sum,
        preference: Preference::LeastVolume,
        limits: DoseLimits::default(),
        targets: Vec::new(),
    }
}

/// What is said of each target with these stocks and base waters.
#[must_use]
pub fn reach(target: &Target, stocks: &[Stock], waters: &[BaseWater]) -> Reach {
    let flight = Flight {
        title: target.name.clone(),
        targets: vec![target.clone()],
        ..plain_flight(waters)
    };
    if target.goals.iter().any(|goal| not_measured_for(&flight.base, goal.subject).is_some()) {
        return Reach::NotKnown;
    }
    match plan_flight(&flight, stocks) {
        Ok(plans) if plans.iter().all(crate::planner::Plan::reached) => Reach::InReach,
        Ok(_) => Reach::OutOfReach,
        Err(_) => Reach::NotKnown,
    }
}
