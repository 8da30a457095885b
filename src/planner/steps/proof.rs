//! What is proved of each stage, and how closely a stage is to be proved.

use crate::planner::steps::portions::{Stage, WHOLE};

/// Our choice: a sum of misses is proved to this part of a tolerance, or of the sum itself where that is
/// more than one tolerance; a volume or a cost to this part of it. Where many portions come near a goal the search for the last millionth would take minutes
/// and change nothing that can be tasted.
pub const PROVED_WITHIN: f64 = 1e-4;

/// Our choice: however large a sum of misses is, it is proved to this much of a tolerance, so that
/// one goal that is missed by far does not hide the others.
const PROVED_WITHIN_AT_MOST: f64 = 1e-2;

/// What the machine's numbers let nobody prove more closely.
const LAST_PLACES: f64 = 1e-9;

/// What is known of one stage when the search ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proof {
    /// What is made least.
    pub stage: Stage,
    /// The value of the best choice.
    pub value: f64,
    /// No choice that does as well in the stages before has a lower one.
    pub bound: f64,
    /// What later stages may have given up of this one and of those before it.
    pub slack: f64,
}

impl Proof {
    /// How much better another choice could be.
    #[must_use]
    pub fn gap(&self) -> f64 {
        (self.value - self.bound).max(0.0)
    }

    /// How much better another choice may be, at most, for this one to be called proved.
    #[must_use]
    pub fn within(&self) -> f64 {
        within(self.stage, self.value)
    }

    /// Whether nothing can be better by more than [`Proof::within`].
    #[must_use]
    pub fn proved(&self) -> bool {
        self.gap() <= self.within() + self.slack
    }
}

/// The gap that is asked of a stage.
pub(super) fn within(stage: Stage, value: f64) -> f64 {
    let size = value.abs();
    match stage {
        Stage::Count => WHOLE,
        Stage::Linear(_) => PROVED_WITHIN * size + f64::EPSILON,
        Stage::Largest | Stage::Beyond | Stage::Inside => {
            let relative = PROVED_WITHIN * size.max(1.0);
            relative.min(PROVED_WITHIN_AT_MOST) + LAST_PLACES * size
        }
    }
}
