//! Repeated choices between two waters: people who each keep to their own preference are no proof that
//! one water is preferred.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use waterflight::session::analysis::discrimination::{discrimination, pair_results};
use waterflight::session::analysis::taster_votes::p_of_consistency;
use waterflight::session::plan::{ChoiceTest, Test};
use waterflight::session::score::ChoiceRow;

const ALPHA: f64 = 0.05;

fn paired(two_sided: bool) -> ChoiceTest {
    ChoiceTest { test: Test::TwoAfc, two_sided, alpha: ALPHA }
}

fn row(pair: (usize, usize), taster: usize, right: Option<bool>) -> ChoiceRow {
    ChoiceRow {
        taster,
        tray: 1,
        round: 1,
        pair,
        served: Vec::new(),
        right,
        chosen: None,
        picked: Vec::new(),
        reference: None,
        note: None,
    }
}

/// Of people half of whom prefer each water, whatever the panel and however often they are asked, no more
/// than the stated risk is found to prefer one.
#[test]
fn of_people_who_disagree_no_water_wins_more_often_than_promised() {
    const PANELS: usize = 4000;
    let mut random = StdRng::seed_from_u64(1935);
    for (tasters, rounds, consistent) in [(6, 6, 1.0), (8, 4, 1.0), (12, 3, 0.9), (20, 2, 0.8)] {
        for two_sided in [true, false] {
            let mut found = 0;
            for _ in 0..PANELS {
                let by_taster: Vec<(usize, usize)> = (0..tasters)
                    .map(|_| {
                        let prefers_first = random.random_bool(0.5);
                        let share = if prefers_first { consistent } else { 1.0 - consistent };
                        let first = (0..rounds).filter(|_| random.random_bool(share)).count();
                        (first, rounds)
                    })
                    .collect();
                let result = discrimination(paired(two_sided), &by_taster);
                found += usize::from(result.p <= ALPHA);
            }
            // Three standard errors of the count of that many panels at the risk itself.
            assert!(found <= 200 + 42, "{tasters} × {rounds}, {two_sided}: {found} of {PANELS}");
        }
    }
}

/// A preference that most share is found, and one-sided against the water that was asked about it is
/// found for the other.
#[test]
fn what_most_prefer_is_found() {
    let nine_of_ten: Vec<(usize, usize)> =
        (0..10).map(|t| (if t == 0 { 1 } else { 3 }, 4)).collect();
    assert!(discrimination(paired(true), &nine_of_ten).p < ALPHA);
    let turned: Vec<(usize, usize)> = nine_of_ten.iter().map(|(x, n)| (n - x, *n)).collect();
    let against = discrimination(paired(false), &turned);
    assert!(against.p > 0.9 && against.p_against < ALPHA, "{against:?}");
}

/// Guesses are consistent no more often than stated; a panel that is split and sure of it always is.
#[test]
fn tasters_who_guess_are_not_taken_to_tell() {
    let mut random = StdRng::seed_from_u64(77);
    let mut found = 0;
    for _ in 0..4000 {
        let guesses: Vec<(usize, usize)> =
            (0..6).map(|_| ((0..5).filter(|_| random.random_bool(0.5)).count(), 5)).collect();
        found += usize::from(p_of_consistency(&guesses) <= ALPHA);
    }
    assert!(found <= 200 + 42, "{found} of 4000");
    assert!(p_of_consistency(&[(6, 6), (6, 6), (0, 6), (0, 6)]) < 1e-5);
    // Many answers take the other way.
    assert!(p_of_consistency(&[(150, 150), (0, 150), (75, 150)]) < 1e-5);
    assert!(p_of_consistency(&[(76, 150), (70, 150), (80, 150)]) > ALPHA);
}

/// Of a session of six pairs in which everyone guesses, no more than the stated risk has a pair whose tasters
/// are said to tell the two apart.
#[test]
fn many_pairs_of_guesses_are_not_taken_to_be_told_apart() {
    const SESSIONS: usize = 1000;
    let mut random = StdRng::seed_from_u64(6);
    let pairs = [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)];
    let mut found = 0;
    for _ in 0..SESSIONS {
        let mut rows = Vec::new();
        for (pair, taster, round) in pairs
            .iter()
            .flat_map(|pair| (0..8).map(move |taster| (pair, taster)))
            .flat_map(|(pair, taster)| (1..=3).map(move |round| (pair, taster, round)))
        {
            let right = Some(random.random_bool(0.5));
            rows.push(ChoiceRow { tray: rows.len() + 1, round, ..row(*pair, taster, right) });
        }
        let each = pair_results(&rows, paired(true), 8);
        let told = |p: Option<f64>| p.is_some_and(|p| p <= ALPHA);
        found += usize::from(each.iter().any(|pair| told(pair.p_of_consistency)));
    }
    // Three standard errors of the count at the risk itself.
    assert!(found <= 50 + 21, "{found} of {SESSIONS}");
}

const THREE_PAIRS: [(usize, usize); 3] = [(0, 1), (0, 2), (1, 2)];

/// Six who all name the same water of each of three pairs: p = 1/32 of each alone, and none of three.
#[test]
fn what_is_said_of_a_pair_allows_for_the_others() {
    let rows = |answered: usize| -> Vec<ChoiceRow> {
        let pairs = THREE_PAIRS.iter().enumerate();
        pairs
            .flat_map(|(at, pair)| {
                (0..6).map(move |taster| row(*pair, taster, (at < answered).then_some(true)))
            })
            .collect()
    };
    for pair in pair_results(&rows(3), paired(true), 6) {
        assert!((pair.p - 3.0 / 32.0).abs() < 1e-12, "{pair:?}");
        let result = pair.result;
        assert!(result.least_right.is_none() && result.could_find.is_none(), "{result:?}");
        assert!(result.power_for_half.abs() < 1e-12 && result.share_interval.0 < 0.5, "{result:?}");
    }
    // Pairs that nobody answered ask nothing, and make nothing harder.
    let one = pair_results(&rows(1), paired(true), 6);
    assert_eq!(one.len(), 3);
    let answered = one.first().map(|pair| (pair.p, &pair.result));
    let is_found = answered.is_some_and(|(p, result)| {
        let is_sure = result.least_right == Some(6) && result.share_interval.0 > 0.5;
        (p - 1.0 / 32.0).abs() < 1e-12 && is_sure
    });
    assert!(is_found, "{answered:?}");
}

/// Where each taster counts once, so does power: six who keep to one water are six and no more, whatever
/// they are asked, and six must agree.
#[test]
fn power_of_paired_rounds_counts_tasters() {
    let mixed = [(4, 4), (3, 4), (3, 4), (2, 4), (4, 4), (1, 4)];
    let result = discrimination(paired(true), &mixed);
    assert_eq!((result.power_answers, result.least_right), (6, Some(6)));
    let all_alike = 0.75_f64.powi(6) + 0.25_f64.powi(6);
    assert!((result.power_for_half - all_alike).abs() < 1e-12, "{}", result.power_for_half);
}
