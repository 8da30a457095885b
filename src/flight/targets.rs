//! A flight: the targets to be made together, and the conventions they share.

use crate::chemistry::ConservedSet;
use crate::flight::{DoseLimits, Goal, Subject};
use crate::quantities::{Fraction, Litres, Millilitres};
use crate::water::{BaseWater, Measure};

/// A named set of goals: one water.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// Name of the water, unique in its flight.
    pub name: String,
    /// Its goals, in the order of the file.
    pub goals: Vec<Goal>,
}

/// What "a litre" of finished water means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Convention {
    /// Doses first, then base water up to one litre.
    #[default]
    MadeUpToALitre,
    /// Doses into one litre of base water; the volumes are taken to add up.
    AddedToALitre,
}

impl Convention {
    /// The convention in words.
    #[must_use]
    pub fn describe(self) -> &'static str {
        match self {
            Convention::MadeUpToALitre => "made up to the litre",
            Convention::AddedToALitre => "added to a litre",
        }
    }
}

/// How the misses of one water are weighed against each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum MissRule {
    /// The weighted sum is made least.
    #[default]
    Sum,
    /// The largest weighted miss is made least, then the weighted sum.
    Largest,
}

/// What decides between doses that meet the goals equally well.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Preference {
    /// The least volume of stocks.
    #[default]
    LeastVolume,
    /// The least cost of salts and base waters, then the least volume of stocks.
    LeastCost,
    /// The least sodium, then the least volume of stocks.
    LeastSodium,
    /// The fewest stocks in each water, then the least volume of them.
    FewestStocks,
}

/// A base water with the share it may take.
#[derive(Debug, Clone, PartialEq)]
pub struct BaseShare {
    /// What fills this share.
    pub water: BaseWater,
    /// Largest share of the finished volume, or of the base water when doses are added to it.
    pub at_most: Fraction,
}

/// The first base water that may be used and of which something was not measured that a goal on
/// this subject counts, with what that is. No doses can be planned for such a goal.
#[must_use]
pub fn not_measured_for(
    base: &[BaseShare],
    subject: Subject,
) -> Option<(&BaseWater, ConservedSet)> {
    base.iter().filter(|share| share.at_most.value() > 0.0).find_map(|share| {
        let water = &share.water;
        let of = |m: &Measure| m.not_measured_of(&water.composition);
        let missing = match &subject {
            Subject::Measure(measure) => of(measure),
            Subject::Ratio { of: above, to: below, .. } => of(above).union(of(below)),
        };
        (!missing.is_empty()).then_some((water, missing))
    })
}

/// A row of glasses.
#[derive(Debug, Clone, PartialEq)]
pub struct Flight {
    /// What the flight is called on its page.
    pub title: String,
    /// What the doses go into; the planner chooses the shares.
    pub base: Vec<BaseShare>,
    /// Size of the bottles to fill.
    pub bottle: Litres,
    /// What "a litre" means.
    pub convention: Convention,
    /// How misses are weighed.
    pub misses: MissRule,
    /// What decides between equals.
    pub preference: Preference,
    /// Doses beyond these are not proposed.
    pub limits: DoseLimits,
    /// The waters to make.
    pub targets: Vec<Target>,
}

impl Flight {
    /// The same with so much of each stock in every bottle, at least.
    #[must_use]
    pub fn with_least_of_each(&self, least: Millilitres) -> Self {
        let mut styled = self.clone();
        styled.limits.least_of_each_ml_per_l = least.value() / self.bottle.value();
        styled
    }
}
