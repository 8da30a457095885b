//! One target that is asked about, with what surrounds it.

use crate::chemistry::Composition;
use crate::flight::{Goal, Preference, Target};
use crate::planner::lp::program::{PourableColumns, Priorities};

use crate::planner::plan;

/// One target with what surrounds it.
pub(super) struct Question<'a> {
    pub(super) target: &'a Target,
    pub(super) pourable: PourableColumns,
    pub(super) priorities: Priorities,
    pub(super) preference: Preference,
}

/// Whether a water keeps all of these goals, as the goals of a plan are judged.
pub(super) fn all_kept(goals: &[Goal], water: &Composition) -> bool {
    goals.iter().all(|goal| plan::assess_goal(goal, water).reached)
}
