//! What keeps a solution clear of the caps of the stages before.
#![expect(clippy::indexing_slicing, reason = "indices run over the columns of one statement")]

use crate::planner::steps::tableau::Tableau;

/// A bound that keeps a solution clear of a cap.
#[derive(Debug, Clone, Copy)]
pub(crate) enum CapMargin {
    /// What is left below a cap: more than nothing.
    Left(usize),
    /// A miss that has a cap of its own: less than that.
    Miss(usize),
    /// The place of a row, the ends of which were widened by so much: not widened.
    Place(usize, [f64; 2]),
}

impl CapMargin {
    /// Narrows a tableau's bounds by `margin`.
    pub(crate) fn narrow(self, tableau: &mut Tableau, margin: f64) {
        let (j, [low, high]) = match self {
            CapMargin::Left(j) => (j, [margin, 0.0]),
            CapMargin::Miss(j) => (j, [0.0, margin]),
            CapMargin::Place(j, ends) => (j, ends),
        };
        let (lower, upper) = (tableau.lower[j], tableau.upper[j]);
        let middle = 0.5 * (lower + upper);
        tableau.narrow(j, (lower + low).min(middle), (upper - high).max(middle));
    }
}
