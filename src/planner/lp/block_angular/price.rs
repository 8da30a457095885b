//! A multiplier or reduced cost, and when it is zero.

use crate::planner::lp::real::{Real, real};

/// Our choice, in parts of the last place: what rounding leaves of a reduced cost, of a pivot and
/// of a step. Seven digits of sixteen, or of thirty-two, are left for what the pivots lose.
pub(super) const ROUNDING_ULPS: f64 = 262_144.0;
/// Our choice: the coefficients are numbers of the machine, each rounded once or twice.
const DATA_ROUNDING: f64 = 16.0 * f64::EPSILON;

/// A multiplier or reduced cost with the size of the terms that it is the sum of: what rounding
/// leaves of a zero is a part of that, and not of the sum.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Price<R> {
    pub(super) value: R,
    pub(super) size: R,
}

impl<R: Real> Price<R> {
    pub(super) fn of(cost: f64) -> Self {
        Self { value: real(cost), size: real(cost.abs()) }
    }

    /// Adds a multiple of another one.
    pub(super) fn add(&mut self, other: Self, factor: R) {
        self.value += other.value * factor;
        self.size += other.size * factor.abs();
    }

    /// Whether it differs from zero by more than rounding.
    pub(super) fn is_nonzero(&self) -> bool {
        self.value.abs() > self.size * real(ROUNDING_ULPS * R::EPSILON)
    }

    /// Whether it does so by more than the rounding of the numbers that the program is made of, so
    /// that a column with it costs something in truth.
    pub(super) fn is_cost(&self) -> bool {
        self.is_nonzero() && self.value.abs() > self.size * real(DATA_ROUNDING)
    }
}
