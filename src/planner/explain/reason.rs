//! What a target out of reach lacks: other salts, other base waters, or nothing that can be stocked.
//!
//! Each is tried by planning again; what was not tried is not said.

use crate::chemistry::{Composition, Conserved};
use crate::flight::DoseLimits;
use crate::planner::explain::question::{Question, all_kept};
use crate::planner::explain::remedies::{Candidate, column};
use crate::planner::lp::program;
use crate::planner::lp::program::{PourableColumns, Priorities};
use crate::planner::lp::stages::Planner;
use crate::planner::plan;

/// Volume of a milliequivalent of salts whose volume shall not matter, mL. Our choice: a litre of the
/// hardest water then has less than a millilitre of them.
const NEARLY_NO_ML: f64 = 1e-3;

/// What was tried beside limits and distilled water alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Reason {
    /// With every salt of the catalogue among the stocks, as strong as it is tried, it is in reach, within
    /// the limits and from the same base waters.
    pub salts: bool,
    /// With any salt of any ions, silica, distilled water and no limits it still is not: the goals
    /// exclude each other. False as well where that has no confirmed answer.
    pub goals_exclude_each_other: bool,
}

impl Question<'_> {
    /// Tries what would bring a target out of reach into it.
    pub(super) fn reason(&self, candidates: &[Candidate]) -> Reason {
        let mut stocked = self.pourable.clone();
        stocked.stocks.extend(candidates.iter().flat_map(Candidate::stocks).map(column));
        let mut anything = self.pourable.clone();
        anything.limits = DoseLimits::NONE;
        anything.base.push((Composition::PURE_WATER, 1.0));
        anything.stocks.extend(every_salt().into_iter().map(|salt| (salt, NEARLY_NO_ML)));
        Reason {
            salts: self.reached_with(&stocked) == Some(true),
            goals_exclude_each_other: self.reached_with(&anything) == Some(false),
        }
    }

    /// Whether all goals can be kept with other columns; `None` without a confirmed answer.
    fn reached_with(&self, pourable: &PourableColumns) -> Option<bool> {
        let rows = program::edges(self.target);
        let priorities = Priorities::default();
        let solution = plan::solved(&mut Planner::default(), pourable, &rows, &priorities).ok()?;
        Some(all_kept(&self.target.goals, &plan::pour(pourable, &solution)))
    }
}

/// A milliequivalent of each cation with each anion, and silica: every salt is a sum of these.
fn every_salt() -> Vec<Composition> {
    let of_sign =
        |sign: i32| Conserved::ALL.into_iter().filter(move |ion| ion.charge().signum() == sign);
    let mut salts = Vec::new();
    for cation in of_sign(1) {
        for anion in of_sign(-1) {
            let mut salt = Composition::PURE_WATER;
            for ion in [cation, anion] {
                salt.add_mmol_per_l(ion, 1.0 / f64::from(ion.charge().abs()));
            }
            salts.push(salt);
        }
    }
    let mut silica = Composition::PURE_WATER;
    silica.add_mmol_per_l(Conserved::SiO2, 1.0);
    salts.push(silica);
    salts
}
