//! Tests of two waters: exact probabilities, d′ and its interval.

use serde::Serialize;

use crate::numerics::count;
use crate::session::plan::ChoiceTest;
use crate::session::plan::Test;
use crate::session::plan::panel::USUAL_POWER;
use crate::session::score::ChoiceRow;

use crate::session::analysis::clustered::clustered_share;
use crate::session::analysis::comparisons::holm;
use crate::session::analysis::taster_votes::{p_of_consistency, p_of_votes};

/// The result of a test of two waters.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Discrimination {
    /// The test.
    #[serde(skip)]
    pub test: ChoiceTest,
    /// Right answers; for a paired test, choices of the first water.
    pub right: usize,
    /// Answers.
    pub answers: usize,
    /// Answers that the intervals count: all of them, or fewer where a taster gave several.
    pub counted: f64,
    /// Whole answers of these, for which power is said; where tasters vote, tasters.
    #[serde(rename = "power_of")]
    pub power_answers: usize,
    /// Right answers needed at the risk of the test; where tasters vote, of tasters who always name the same water.
    pub least_right: Option<usize>,
    /// Whether each taster counts once, by how much more often one water was named: a paired test of which
    /// some taster answered more than once.
    #[serde(rename = "each_taster_counts_once")]
    pub tasters_vote: bool,
    /// Exact probability of as many choices of the other water; 1 where that is no question.
    #[serde(skip)]
    pub p_against: f64,
    /// Where tasters vote: the probability of naming the same water again so consistently by guessing,
    /// each taster the one or the other.
    #[serde(skip)]
    pub p_of_consistency: Option<f64>,
    /// Share of right answers by guessing.
    pub chance_level: f64,
    /// Share of right answers.
    #[serde(rename = "share_right")]
    pub share: f64,
    /// Its exact interval (Clopper & Pearson), from the answers that count: of 95 %, for all pairs that are
    /// tested together (Bonferroni).
    #[serde(rename = "share_right_interval")]
    pub share_interval: (f64, f64),
    /// Share of tasters who can tell (pd).
    #[serde(rename = "share_who_can_tell")]
    pub discriminators: f64,
    /// Its interval.
    #[serde(rename = "share_who_can_tell_interval")]
    pub discriminators_interval: (f64, f64),
    /// Distance d′ of the two waters; for a paired test negative when the second has more. `None`
    /// where all answers agree: no distance is then too far.
    pub d_prime: Option<f64>,
    /// Its standard error √(p(1−p)/n)/ψ′(d′); `None` at zero, where the slope vanishes, and beyond.
    #[serde(rename = "d_prime_standard_error")]
    pub standard_error: Option<f64>,
    /// Interval of the distance from that of the share; an end is `None` where it is open.
    pub d_prime_interval: (Option<f64>, Option<f64>),
    /// Exact probability of a result as extreme by guessing; where tasters vote, of such a sum of votes.
    #[serde(rename = "p_alone")]
    pub p: f64,
    /// The probability that this test finds discriminators who are half of all tasters; where tasters vote, of
    /// tasters who always name the same water.
    #[serde(rename = "power_if_half_can_tell")]
    pub power_for_half: f64,
    /// The smallest share of discriminators that so many answers as count find with the usual power; `None`
    /// where even all right would show nothing.
    #[serde(rename = "could_find_share_who_can_tell")]
    pub could_find: Option<f64>,
    /// The distance that it means.
    pub could_find_d_prime: Option<f64>,
}

/// Judges each taster's (right, answers). Where something is right, whoever guesses guesses anew each
/// time, so the probability of the result by guessing counts every answer; a preference is no guess, and
/// each taster counts once ([`p_of_votes`]). What is said of the distance, and of what could be found,
/// counts tasters (see [`clustered_share`]).
///
/// ```
/// use waterflight::session::analysis::discrimination::discrimination;
/// use waterflight::session::plan::{ChoiceTest, Test};
/// let triangle = ChoiceTest { test: Test::Triangle, two_sided: false, alpha: 0.05 };
/// let once = |right: usize, wrong: usize| [vec![(1, 1); right], vec![(0, 1); wrong]].concat();
/// assert!(discrimination(triangle, &once(13, 11)).p < 0.05);
/// assert_eq!(discrimination(triangle, &once(6, 0)).d_prime, None);
/// ```
#[must_use]
pub fn discrimination(test: ChoiceTest, by_taster: &[(usize, usize)]) -> Discrimination {
    let right: usize = by_taster.iter().map(|(right, _)| right).sum();
    let answers: usize = by_taster.iter().map(|(_, answers)| answers).sum();
    let found = clustered_share(by_taster, test.alpha);
    let share = if answers == 0 { test.test.chance_level() } else { found.share };
    let (low, high) = found.interval;
    let signed = |share: f64| distance_of(test.test, share);
    let d_prime = signed(share);
    let standard_error = d_prime.and_then(|d| {
        let slope = test.test.slope(d.abs());
        let spread = (share * (1.0 - share) / found.counted.max(1.0)).sqrt();
        (answers > 0 && slope > FLAT && spread > 0.0).then(|| spread / slope)
    });
    let chance_level = test.test.chance_level();
    let tasters_vote = test.test == Test::TwoAfc && by_taster.iter().any(|(_, n)| *n > 1);
    let tasters = by_taster.iter().filter(|(_, n)| *n > 0).count();
    // What repeats are worth for the intervals, they are worth for power: whole answers of tasters. Where each
    // taster counts once, tasters are all there is to count.
    let worth = if tasters_vote { count(tasters) } else { found.counted };
    let power_answers = (1..=answers).rev().find(|n| count(*n) <= worth).unwrap_or(0);
    let smallest = test.smallest_share(power_answers, USUAL_POWER);
    let (could_find, could_find_d_prime) = smallest
        .and_then(|share| Some((test.test.discriminators(share), test.test.d_prime(share)?)))
        .unzip();
    let p_of = |by_taster: &[(usize, usize)]| {
        if tasters_vote {
            return p_of_votes(by_taster, test.two_sided);
        }
        test.p_value(by_taster.iter().map(|(right, _)| right).sum(), answers)
    };
    let turned: Vec<(usize, usize)> =
        by_taster.iter().map(|&(x, n)| (n.saturating_sub(x), n)).collect();
    let has_other_side = test.test == Test::TwoAfc && !test.two_sided;
    Discrimination {
        test,
        right,
        answers,
        least_right: test.least_right(if tasters_vote { tasters } else { answers }),
        tasters_vote,
        p_against: if has_other_side { p_of(&turned) } else { 1.0 },
        p_of_consistency: tasters_vote.then(|| p_of_consistency(by_taster)),
        share,
        counted: found.counted,
        power_answers,
        share_interval: (low, high),
        p: p_of(by_taster),
        d_prime,
        standard_error,
        d_prime_interval: (signed(low), signed(high)),
        chance_level,
        discriminators: test.test.discriminators(share.max(chance_level)),
        discriminators_interval: (test.test.discriminators(low), test.test.discriminators(high)),
        power_for_half: test.power(power_answers, test.test.right_with_discriminators(0.5)),
        could_find,
        could_find_d_prime,
    }
}

/// Slope of the law of d′ that counts as none. Our choice: there a whole unit of d′ changes the
/// share of right answers by less than a thousandth.
const FLAT: f64 = 1e-3;

/// The distance for a share; a paired test can go either way.
fn distance_of(test: Test, share: f64) -> Option<f64> {
    if test == Test::TwoAfc && share < test.chance_level() {
        return test.d_prime(1.0 - share).map(|d| -d);
    }
    test.d_prime(share)
}

/// The test of one pair of waters in a session.
#[derive(Debug, Clone, PartialEq)]
pub struct PairResult {
    /// The pair.
    pub pair: (usize, usize),
    /// The result.
    pub result: Discrimination,
    /// Its p allowing for all pairs of the session (Holm).
    pub p: f64,
    /// Where tasters vote, that of their consistency, allowing for all pairs of the session (Holm).
    pub p_of_consistency: Option<f64>,
    /// Right answers and answers of each taster, by place.
    pub by_taster: Vec<(usize, usize)>,
    /// Answers missing.
    pub pending: usize,
    /// Whether some taster answered more than once: the probability by guessing still holds, but the
    /// distance then describes these tasters and no others.
    pub repeated: bool,
}

/// The results of a session, pair by pair; `test` is what would be made of one pair alone. A pair without
/// answers asks nothing, and is none of those that are tested together.
#[must_use]
pub fn pair_results(rows: &[ChoiceRow], test: ChoiceTest, tasters: usize) -> Vec<PairResult> {
    let mut asked: Vec<(usize, usize)> =
        rows.iter().filter(|row| row.right.is_some()).map(|row| row.pair).collect();
    asked.sort_unstable();
    asked.dedup();
    let test = test.one_of(asked.len());
    let mut pairs: Vec<(usize, usize)> = rows.iter().map(|row| row.pair).collect();
    pairs.sort_unstable();
    pairs.dedup();
    let mut found: Vec<PairResult> = pairs
        .into_iter()
        .map(|pair| {
            let own: Vec<&ChoiceRow> = rows.iter().filter(|row| row.pair == pair).collect();
            let mut by_taster = vec![(0, 0); tasters];
            for row in &own {
                if let (Some(right), Some(tally)) = (row.right, by_taster.get_mut(row.taster)) {
                    tally.0 += usize::from(right);
                    tally.1 += 1;
                }
            }
            let answers: usize = by_taster.iter().map(|(_, n)| n).sum();
            let result = discrimination(test, &by_taster);
            PairResult {
                pair,
                p: result.p,
                p_of_consistency: result.p_of_consistency,
                result,
                repeated: by_taster.iter().any(|(_, n)| *n > 1),
                pending: own.len() - answers,
                by_taster,
            }
        })
        .collect();
    let answered = |pair: &&mut PairResult| pair.result.answers > 0;
    let alone: Vec<f64> = found.iter_mut().filter(answered).map(|pair| pair.p).collect();
    for (pair, p) in found.iter_mut().filter(answered).zip(holm(&alone)) {
        pair.p = p;
    }
    // A pair without votes is none of the family either.
    let consistency: Vec<f64> = found.iter().filter_map(|pair| pair.p_of_consistency).collect();
    let of_votes = found.iter_mut().filter_map(|pair| pair.p_of_consistency.as_mut());
    for (own, p) in of_votes.zip(holm(&consistency)) {
        *own = p;
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn power_counts_what_the_intervals_count() {
        let test = ChoiceTest { test: Test::Triangle, two_sided: false, alpha: 0.05 };
        // Seven tasters, twice each, always both right or both wrong: seven answers.
        let alike: Vec<(usize, usize)> = (0..7).map(|n| (if n < 5 { 2 } else { 0 }, 2)).collect();
        let twice = discrimination(test, &alike);
        let once = discrimination(test, &[[(1, 1); 5].as_slice(), &[(0, 1); 2]].concat());
        assert_eq!((twice.answers, twice.power_answers, once.power_answers), (14, 7, 7));
        assert!((twice.power_for_half - once.power_for_half).abs() < 1e-12);
        assert_eq!(twice.could_find, once.could_find);
        assert!(once.could_find.is_some());
    }
}
