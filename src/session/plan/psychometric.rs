//! How often a taster is right, given how far apart two waters taste: the laws of d′.
//!
//! d′ is the distance between two waters in units of the spread of one water's impression (Thurstone
//! L. L., Psychol. Rev. 34 (1927) 273–286). The formulas are those of Ennis D. M., J. Sens. Stud. 8
//! (1993) 353–370, and for the tetrad Ennis J. M., Jesionka V., J. Sens. Stud. 26 (2011) 371–382.

use serde::Serialize;

use crate::numerics::find_root::find_root;
use crate::numerics::quadrature::integral;
use crate::numerics::{normal_cdf, normal_density};

/// Where the normal density is taken to end. Our choice: φ(8.5) is 8e-17.
const NORMAL_ENDS: f64 = 8.5;

/// Panels of quadrature. Our choice: 8 panels of 16 points give 1e-14 for every d′ below 20.
const PANELS: u32 = 8;

/// Largest d′ looked for. Our choice: every test is right beyond 1 − 1e-12 there.
const FARTHEST: f64 = 25.0;

/// A test with a right answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Test {
    /// Two cups: which has more of a named attribute.
    TwoAfc,
    /// Three cups, one of the stronger water: which has most of a named attribute.
    ThreeAfc,
    /// A reference and two cups.
    DuoTrio,
    /// Three cups, two alike.
    Triangle,
    /// Four cups, two and two alike.
    Tetrad,
}

impl Test {
    /// The share of right answers by guessing alone.
    #[must_use]
    pub fn chance_level(self) -> f64 {
        match self {
            Test::TwoAfc | Test::DuoTrio => 0.5,
            Test::ThreeAfc | Test::Triangle | Test::Tetrad => 1.0 / 3.0,
        }
    }

    /// The share of right answers at a distance `d` ≥ 0.
    ///
    /// ```
    /// use waterflight::session::plan::Test;
    /// // Ennis (1993), table of the triangle: three right in four at d′ = 2.80.
    /// assert!((Test::Triangle.right(2.797_449) - 0.75).abs() < 1e-6);
    /// assert!((Test::Tetrad.right(0.0) - 1.0 / 3.0).abs() < 1e-14);
    /// ```
    #[must_use]
    pub fn right(self, d: f64) -> f64 {
        let d = d.clamp(0.0, FARTHEST);
        let share = match self {
            Test::TwoAfc => normal_cdf(d / 2.0_f64.sqrt()),
            Test::ThreeAfc => over_normal(|z| normal_cdf(z + d).powi(2)),
            Test::DuoTrio => {
                let (a, b) = (normal_cdf(d / 2.0_f64.sqrt()), normal_cdf(d / 6.0_f64.sqrt()));
                1.0 - a - b + 2.0 * a * b
            }
            Test::Triangle => {
                let (root3, shift) = (3.0_f64.sqrt(), d * (2.0_f64 / 3.0).sqrt());
                2.0 * integral(0.0, NORMAL_ENDS, PANELS, |z| {
                    let tails = normal_cdf(shift - z * root3) + normal_cdf(-shift - z * root3);
                    normal_density(z) * tails
                })
            }
            Test::Tetrad => {
                let wrong = |x: f64| {
                    let (own, other) = (normal_cdf(x), normal_cdf(x - d));
                    2.0 * own * other - other * other
                };
                1.0 - 2.0 * over_normal(wrong)
            }
        };
        share.clamp(self.chance_level(), 1.0)
    }

    /// How fast the share of right answers grows with d′.
    #[must_use]
    pub fn slope(self, d: f64) -> f64 {
        let d = d.clamp(0.0, FARTHEST);
        match self {
            Test::TwoAfc => normal_density(d / 2.0_f64.sqrt()) / 2.0_f64.sqrt(),
            Test::ThreeAfc => over_normal(|z| 2.0 * normal_cdf(z + d) * normal_density(z + d)),
            Test::DuoTrio => {
                let (root2, root6) = (2.0_f64.sqrt(), 6.0_f64.sqrt());
                let (a, b) = (d / root2, d / root6);
                normal_density(a) / root2 * (2.0 * normal_cdf(b) - 1.0)
                    + normal_density(b) / root6 * (2.0 * normal_cdf(a) - 1.0)
            }
            Test::Triangle => {
                let (root3, grow) = (3.0_f64.sqrt(), (2.0_f64 / 3.0).sqrt());
                2.0 * grow
                    * integral(0.0, NORMAL_ENDS, PANELS, |z| {
                        let near = normal_density(d * grow - z * root3);
                        let far = normal_density(d * grow + z * root3);
                        normal_density(z) * (near - far)
                    })
            }
            Test::Tetrad => {
                let term = |x: f64| normal_density(x - d) * (normal_cdf(x) - normal_cdf(x - d));
                4.0 * over_normal(term)
            }
        }
    }

    /// The distance at which the share of right answers is `share`: 0 at guessing and below,
    /// `None` where every answer is right, since no distance is too far for that.
    #[must_use]
    pub fn d_prime(self, share: f64) -> Option<f64> {
        if share.is_nan() || share >= 1.0 {
            return None;
        }
        if share <= self.chance_level() {
            return Some(0.0);
        }
        Some(find_root(0.0, FARTHEST, share, |d| self.right(d)))
    }

    /// Right answers when a share `discriminators` of tasters can tell and the rest guess.
    #[must_use]
    pub fn right_with_discriminators(self, discriminators: f64) -> f64 {
        let chance_level = self.chance_level();
        chance_level + discriminators.clamp(0.0, 1.0) * (1.0 - chance_level)
    }

    /// The share of tasters who can tell, from the share of right answers; 0 at guessing and below.
    #[must_use]
    pub fn discriminators(self, share: f64) -> f64 {
        let chance_level = self.chance_level();
        ((share - chance_level) / (1.0 - chance_level)).clamp(0.0, 1.0)
    }
}

/// ∫ φ(z) g(z) dz.
fn over_normal(g: impl Fn(f64) -> f64) -> f64 {
    integral(-NORMAL_ENDS, NORMAL_ENDS, 2 * PANELS, |z| normal_density(z) * g(z))
}

#[cfg(test)]
mod tests {
    use super::*;

    const TESTS: [Test; 5] =
        [Test::TwoAfc, Test::ThreeAfc, Test::DuoTrio, Test::Triangle, Test::Tetrad];

    #[test]
    fn the_slope_is_the_change_of_the_share() {
        for test in TESTS {
            for d in [0.3, 1.0, 2.5, 4.0] {
                let step = 1e-5;
                let change = (test.right(d + step) - test.right(d - step)) / (2.0 * step);
                assert!((change - test.slope(d)).abs() < 1e-8, "{test:?} at {d}");
            }
        }
    }

    #[test]
    fn a_distance_undoes_its_share() {
        for test in TESTS {
            for d in [0.4, 1.5, 3.0, 6.0] {
                let back = test.d_prime(test.right(d)).unwrap_or(f64::NAN);
                assert!((back - d).abs() < 1e-7, "{test:?} at {d}: {back}");
            }
            assert_eq!(test.d_prime(1.0), None);
            assert_eq!(test.d_prime(f64::NAN), None);
            assert_eq!(test.d_prime(0.1), Some(0.0));
        }
    }
}
