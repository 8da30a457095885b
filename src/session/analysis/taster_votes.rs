//! Repeated choices between two waters, taster by taster: a taster who always names the same water says
//! it once, however often.
//!
//! Whoever perceives nothing guesses anew each time. But a preference is perceived, and people differ in
//! it: of a panel half of which likes each water, each member consistently, no choice is a guess, and
//! nothing is shown of people in general. So the tasters' own excesses are compared, whatever their size.

use std::collections::BTreeMap;

use crate::numerics::{binomial_term, chi_square_tail, count};

/// How many more times a taster named the first water than the second.
fn excess(&(first, answers): &(usize, usize)) -> i64 {
    let whole = |n: usize| i64::try_from(n).unwrap_or(i64::MAX / 4);
    2 * whole(first) - whole(answers)
}

/// Probabilities of sums of independent numbers, each given by its own probabilities.
fn sums(terms: impl Iterator<Item = Vec<(i64, f64)>>) -> BTreeMap<i64, f64> {
    terms.fold(BTreeMap::from([(0, 1.0)]), |sums, term| {
        let mut next = BTreeMap::new();
        for (sum, p) in &sums {
            for (value, q) in &term {
                *next.entry(sum + value).or_insert(0.0) += p * q;
            }
        }
        next
    })
}

/// The probability of an excess for the first water as large when each taster's own may as well have
/// been for the other (randomization test; Fisher, The Design of Experiments, 1935, §21; from memory).
/// Two-sided, of an excess as large for either water. Of one answer each it is the sign test.
///
/// ```
/// use waterflight::session::analysis::taster_votes::p_of_votes;
/// // Five who always name the first, six times each, and one who never does: 14 of 64 splits.
/// let six = [(6, 6), (6, 6), (6, 6), (6, 6), (6, 6), (0, 6)];
/// assert!((p_of_votes(&six, true) - 14.0 / 64.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn p_of_votes(by_taster: &[(usize, usize)], two_sided: bool) -> f64 {
    let found: i64 = by_taster.iter().map(excess).sum();
    let either = |e: i64| if e == 0 { vec![(0, 1.0)] } else { vec![(e, 0.5), (-e, 0.5)] };
    let as_large = |sum: i64| if two_sided { sum.abs() >= found.abs() } else { sum >= found };
    let all = sums(by_taster.iter().map(|own| either(excess(own))));
    let tail = all.into_iter().filter(|(sum, _)| as_large(*sum));
    tail.map(|(_, p)| p).sum::<f64>().min(1.0)
}

/// The probability that tasters who guess each time name the same water again so consistently, each the
/// one or the other: exact, or by chi-squared where the answers are very many.
#[must_use]
pub fn p_of_consistency(by_taster: &[(usize, usize)]) -> f64 {
    /// Our choice: more possible sums than this are too many to be counted out.
    const COUNTED_OUT: i64 = 20_000;
    let gave = || by_taster.iter().filter(|(_, answers)| *answers > 0);
    let squared = |own: &(usize, usize)| excess(own).pow(2);
    let found: i64 = by_taster.iter().map(squared).sum();
    let most: i64 = gave().map(|&(_, n)| squared(&(n, n))).sum();
    if most > COUNTED_OUT {
        let squares =
            gave().map(|&(first, n)| (2.0 * count(first) - count(n)).powi(2) / count(n)).sum();
        return chi_square_tail(squares, count(gave().count()));
    }
    let guessed = gave().map(|&(_, n)| {
        (0..=n).map(|first| (squared(&(first, n)), binomial_term(first, n, 0.5))).collect()
    });
    sums(guessed).range(found..).map(|(_, p)| p).sum::<f64>().min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::plan::{ChoiceTest, Test};

    #[test]
    fn of_one_answer_each_it_is_the_sign_test() {
        for two_sided in [false, true] {
            let test = ChoiceTest { test: Test::TwoAfc, two_sided, alpha: 0.05 };
            for n in 1..14 {
                for first in 0..=n {
                    let each: Vec<_> = (0..n).map(|t| (usize::from(t < first), 1)).collect();
                    let p = p_of_votes(&each, two_sided);
                    assert!((p - test.p_value(first, n)).abs() < 1e-12, "{first} of {n}");
                    // One answer each says nothing of consistency.
                    assert!((p_of_consistency(&each) - 1.0).abs() < 1e-12);
                }
            }
        }
    }

    /// Against all 2^k splits, counted one by one.
    #[test]
    fn splits_are_counted_out() {
        let some = [(3, 4), (0, 3), (2, 2), (1, 4), (4, 4), (0, 0)];
        let own: Vec<i64> = some.iter().map(excess).collect();
        let sum: i64 = own.iter().sum();
        let mut as_large = 0;
        for signs in 0..1_u32 << own.len() {
            let turned =
                own.iter().enumerate().map(|(t, e)| if signs >> t & 1 == 1 { -e } else { *e });
            as_large += u32::from(turned.sum::<i64>().abs() >= sum.abs());
        }
        let want = f64::from(as_large) / f64::from(1_u32 << own.len());
        assert!((p_of_votes(&some, true) - want).abs() < 1e-12);
    }

    #[test]
    fn tasters_who_disagree_are_consistent() {
        let split = [(6, 6), (6, 6), (0, 6), (0, 6)];
        assert!((p_of_votes(&split, true) - 1.0).abs() < 1e-12);
        // Each of four names one water six times of six: (2/64)^4.
        assert!((p_of_consistency(&split) - (2.0_f64 / 64.0).powi(4)).abs() < 1e-15);
        let guesses = [(3, 6), (2, 6), (4, 6), (3, 6)];
        assert!(p_of_consistency(&guesses) > 0.5);
    }
}
