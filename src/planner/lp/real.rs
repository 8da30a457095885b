//! Numbers that a solver can compute in: the machine's own, or pairs of them with twice the digits.
//!
//! Weights from 0.01 to 1,000 and tolerances from a whole mg/L to a billionth of one meet in one
//! sum, and sixteen digits are then too few to say which doses are the best. Thirty-two are enough.

use std::cmp::Ordering;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// What a simplex needs of its numbers.
pub(crate) trait Real:
    Copy
    + PartialOrd
    + std::fmt::Debug
    + Default
    + From<f64>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + AddAssign
    + SubAssign
{
    /// The least part of 1 that an operation keeps.
    const EPSILON: f64;

    /// Our choice: a pivot below this would cost more than half of the digits.
    const PIVOT: f64;

    /// The nearest number of the machine.
    fn to_f64(self) -> f64;

    /// The size.
    #[must_use]
    fn abs(self) -> Self {
        if self < Self::from(0.0) { -self } else { self }
    }

    /// The larger of two.
    #[must_use]
    fn larger(self, other: Self) -> Self {
        if other > self { other } else { self }
    }
}

/// A number of the machine as one of another kind.
pub(crate) fn real<R: Real>(value: f64) -> R {
    R::from(value)
}

impl Real for f64 {
    const EPSILON: f64 = f64::EPSILON;
    const PIVOT: f64 = 1e-9;

    fn to_f64(self) -> f64 {
        self
    }
}

/// The unevaluated sum of two numbers, the second below half of the last place of the first.
/// Method: Dekker, Numer. Math. 18 (1971) 224–242; products by a fused multiply and add
/// (from memory).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct Twofold {
    high: f64,
    low: f64,
}

/// The sum with what rounding cuts off it.
fn two_sum(a: f64, b: f64) -> (f64, f64) {
    let sum = a + b;
    let b_part = sum - a;
    (sum, (a - (sum - b_part)) + (b - b_part))
}

/// The same where the first is the larger.
fn quick_sum(a: f64, b: f64) -> Twofold {
    let sum = a + b;
    // An infinite bound has no rest.
    let low = if sum.is_finite() { b - (sum - a) } else { 0.0 };
    Twofold { high: sum, low }
}

impl From<f64> for Twofold {
    fn from(value: f64) -> Self {
        Self { high: value, low: 0.0 }
    }
}

impl PartialOrd for Twofold {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        match self.high.partial_cmp(&other.high) {
            Some(Ordering::Equal) => self.low.partial_cmp(&other.low),
            order => order,
        }
    }
}

impl Neg for Twofold {
    type Output = Self;

    fn neg(self) -> Self {
        Self { high: -self.high, low: -self.low }
    }
}

impl Add for Twofold {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        let (high, rest) = two_sum(self.high, other.high);
        if !high.is_finite() {
            return Self { high, low: 0.0 };
        }
        let (low, last) = two_sum(self.low, other.low);
        let first = quick_sum(high, rest + low);
        quick_sum(first.high, first.low + last)
    }
}

impl Sub for Twofold {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for Twofold {
    type Output = Self;

    fn mul(self, other: Self) -> Self {
        let high = self.high * other.high;
        if !high.is_finite() {
            return Self { high, low: 0.0 };
        }
        let rest = self.high.mul_add(other.high, -high);
        quick_sum(high, rest + (self.high * other.low + self.low * other.high))
    }
}

impl Div for Twofold {
    type Output = Self;

    fn div(self, other: Self) -> Self {
        let first = self.high / other.high;
        if !first.is_finite() || !other.high.is_finite() {
            return Self { high: first, low: 0.0 };
        }
        let rest = self - other * Self::from(first);
        let second = rest.high / other.high;
        let rest = rest - other * Self::from(second);
        quick_sum(first, second) + Self::from(rest.high / other.high)
    }
}

impl AddAssign for Twofold {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl SubAssign for Twofold {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl Real for Twofold {
    /// 2⁻¹⁰⁰, a little above the least part that the operations here lose.
    const EPSILON: f64 = 7.888_609_052_210_118e-31;
    const PIVOT: f64 = 1e-17;

    fn to_f64(self) -> f64 {
        self.high + self.low
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(value: f64) -> Twofold {
        Twofold::from(value)
    }

    #[test]
    fn thirty_digits_are_kept() {
        // (1/3)·3, and what a sum of far-apart numbers leaves
        let third = of(1.0) / of(3.0);
        assert!((third * of(3.0) - of(1.0)).abs().to_f64() < 1e-31);
        let sum = of(1.0) + of(1e-25) - of(1.0);
        assert!((sum.to_f64() - 1e-25).abs() < 1e-32);
        // √2 by Newton squares to 2 in twice the digits
        let mut root = of(2.0_f64.sqrt());
        for _ in 0..2 {
            root = (root + of(2.0) / root) / of(2.0);
        }
        assert!((root * root - of(2.0)).abs().to_f64() < 1e-30);
    }

    #[test]
    fn order_looks_at_both_parts_and_bounds_may_be_endless() {
        let little = of(1.0) + of(1e-20);
        assert!(little > of(1.0) && -little < of(-1.0));
        assert!(of(f64::INFINITY) > little && (of(f64::INFINITY) - little).to_f64().is_infinite());
        assert!((of(1.0) / of(f64::INFINITY)).to_f64().abs() < f64::MIN_POSITIVE);
    }
}
