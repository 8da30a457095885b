//! Where the columns and rows of the simplex stand.
#![expect(clippy::indexing_slicing, reason = "indices run over rows and columns of one program")]

use crate::planner::lp::piecewise::{BAND, RowCost, SEGMENTS};

/// Where a stock or base water stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum BoundStatus {
    Basic,
    Lower,
    Upper,
    /// Nonbasic, and unable to move: it has no range, or an earlier stage fixed it.
    Fixed,
}

impl BoundStatus {
    pub(super) fn at(upper: f64, at_lower: bool) -> Self {
        if upper <= 0.0 {
            BoundStatus::Fixed
        } else if at_lower {
            BoundStatus::Lower
        } else {
            BoundStatus::Upper
        }
    }

    /// A column at its lower bound gains by rising when its reduced cost is negative, one at its
    /// upper bound by falling when it is positive; the others do not move.
    pub(super) fn sign(self) -> f64 {
        match self {
            BoundStatus::Lower => -1.0,
            BoundStatus::Upper => 1.0,
            BoundStatus::Basic | BoundStatus::Fixed => 0.0,
        }
    }
}

/// Where the value of a row stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct RowStatus {
    /// The segments that earlier stages have left to it; none when `from` is above `to`.
    pub(crate) from: usize,
    pub(crate) to: usize,
    /// Basic: its segment. Nonbasic: the break that it stands at.
    pub(crate) place: usize,
    pub(crate) basic: bool,
}

impl RowStatus {
    pub(super) fn new(row: &RowCost) -> Self {
        let (mut from, mut to) = (0, SEGMENTS - 1);
        if row.breaks[0] > f64::NEG_INFINITY {
            (from, to) = (BAND, BAND);
        }
        while from < BAND && row.breaks[from + 1] == f64::NEG_INFINITY {
            from += 1;
        }
        while to > BAND && row.breaks[to] == f64::INFINITY {
            to -= 1;
        }
        Self { from, to, place: BAND, basic: false }
    }

    /// The segment on the left of the break that it stands at.
    pub(super) fn left(&self, breaks: &[f64; SEGMENTS + 1]) -> Option<usize> {
        let here = breaks[self.place];
        (self.from..self.place).rev().find(|k| breaks[*k] < here).filter(|k| *k <= self.to)
    }

    /// The segment on its right.
    pub(super) fn right(&self, breaks: &[f64; SEGMENTS + 1]) -> Option<usize> {
        let here = breaks[self.place];
        (self.place..=self.to).find(|k| breaks[*k + 1] > here).filter(|k| *k >= self.from)
    }
}
