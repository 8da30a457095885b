//! What must hold of every analysis, whatever the scores.

use std::error::Error;

use proptest::prelude::*;
use waterflight::numerics::{StudentizedRanges, count};
use waterflight::session::analysis::Multiplicity;
use waterflight::session::analysis::Ranked;
use waterflight::session::analysis::anova::classical_test;
use waterflight::session::analysis::design::{LeftOutBecause, TermStatus, Wanted};
use waterflight::session::analysis::discrimination::discrimination;
use waterflight::session::analysis::family_results;
use waterflight::session::analysis::mixed::{self, RandomEffect};
use waterflight::session::analysis::page_test::page;
use waterflight::session::analysis::ranked::places;
use waterflight::session::analysis::ranks::rank_test;
use waterflight::session::analysis::strength_parameters::{StrengthParameter, strengths};
use waterflight::session::analysis::{Choice, StrengthError};
use waterflight::session::analysis::{MixedError, MixedFit, ModelChoice};
use waterflight::session::analysis::{Observation, ScoreTable};
use waterflight::session::plan::{ChoiceTest, Test};

type Outcome = Result<(), Box<dyn Error>>;

fn fit(table: &ScoreTable, choice: ModelChoice) -> Result<MixedFit, MixedError> {
    mixed::fit(table, choice, &mut StudentizedRanges::default())
}

/// The variances of tasters and of tasters by waters of complete scores, by the classical sums of squares.
fn classical_variances(table: &ScoreTable, rounds: f64) -> (f64, Option<f64>) {
    let mean = |keep: &dyn Fn(&Observation) -> bool| {
        let (sum, n) = table
            .rows
            .iter()
            .filter(|row| keep(row))
            .fold((0.0, 0.0), |(sum, n), row| (sum + row.value, n + 1.0));
        sum / n
    };
    let (tasters, waters) = (0..table.tasters.len(), 0..table.waters.len());
    let all = mean(&|_| true);
    let of_taster: Vec<f64> = tasters.clone().map(|t| mean(&|row| row.taster == t)).collect();
    let of_water: Vec<f64> = waters.clone().map(|w| mean(&|row| row.water == w)).collect();
    let (mut own, mut both, mut error) = (0.0, 0.0, 0.0);
    for (t, of_taster) in tasters.zip(&of_taster) {
        own += (of_taster - all).powi(2);
        for (w, of_water) in waters.clone().zip(&of_water) {
            let is_here = |row: &Observation| row.taster == t && row.water == w;
            let cell = mean(&is_here);
            both += rounds * (cell - of_taster - of_water + all).powi(2);
            error += table
                .rows
                .iter()
                .filter(|row| is_here(row))
                .map(|row| (row.value - cell).powi(2))
                .sum::<f64>();
        }
    }
    let (j, k) = (count(of_taster.len()), count(of_water.len()));
    let both = both / ((j - 1.0) * (k - 1.0));
    let of_cups = (rounds > 1.0).then(|| (both - error / (j * k * (rounds - 1.0))) / rounds);
    ((own * k * rounds / (j - 1.0) - both) / (k * rounds), of_cups)
}

/// A table from (taster, water, value).
fn table(scores: &[(usize, usize, f64)]) -> ScoreTable {
    let rows: Vec<Observation> = scores
        .iter()
        .enumerate()
        .map(|(at, &(taster, water, value))| Observation {
            taster,
            water,
            round: 1,
            position: at % 5 + 1,
            previous: (at % 5 > 0).then(|| scores.get(at - 1).map_or(0, |s| s.1)),
            value,
        })
        .collect();
    let most = |of: &dyn Fn(&Observation) -> usize| rows.iter().map(of).max().map_or(0, |m| m + 1);
    ScoreTable {
        attribute: "body".into(),
        tasters: (0..most(&|r| r.taster)).map(|n| format!("taster {n}")).collect(),
        waters: (0..most(&|r| r.water)).map(|n| format!("water {n}")).collect(),
        rows,
        missing: 0,
    }
}

fn all_finite(fit: &MixedFit) -> bool {
    let means =
        fit.means.iter().flat_map(|m| [m.mean, m.standard_error, m.df, m.interval.0, m.interval.1]);
    let pairs = fit.differences.iter().flat_map(|d| {
        [d.estimate, d.standard_error, d.df, d.interval.0, d.interval.1, d.p_alone, d.p]
    });
    let tests = fit.waters.iter().chain(fit.terms.iter().filter_map(|t| t.test.as_ref()));
    let tests = tests.flat_map(|t| [t.f, t.df, t.df_residual, t.p]);
    means.chain(pairs).chain(tests).all(f64::is_finite)
}

/// Scores with gaps and repeats, on steps of one half.
fn scores() -> impl Strategy<Value = Vec<(usize, usize, f64)>> {
    (1_usize..7, 2_usize..6, 1_usize..4).prop_flat_map(|(tasters, waters, rounds)| {
        let cups = tasters * waters * rounds;
        prop::collection::vec((0_u8..=20, prop::bool::weighted(0.85)), cups).prop_map(
            move |values| {
                values
                    .into_iter()
                    .enumerate()
                    .filter(|(_, (_, given))| *given)
                    .map(|(at, (value, _))| {
                        (at % tasters, at / tasters % waters, f64::from(value) / 2.0)
                    })
                    .collect()
            },
        )
    })
}

proptest! {
    #![proptest_config(crate::common::cases(48))]

    #[test]
    fn nothing_makes_an_analysis_fail_or_give_what_is_no_number(scores in scores()) {
        let results = family_results(vec![table(&scores)], ModelChoice::default(), None).remove(0);
        if let Ok(model) = &results.model {
            prop_assert!(all_finite(model), "{model:?}");
            for d in &model.differences {
                prop_assert!(d.interval.0 <= d.estimate && d.estimate <= d.interval.1);
                prop_assert!(d.p >= d.p_alone - 1e-9);
                // Interval and p tell the same: zero outside exactly when p is small (Tukey).
                if model.multiplicity == Multiplicity::Tukey && (d.p - 0.05).abs() > 1e-6 {
                    prop_assert_eq!(d.p < 0.05, d.interval.0 > 0.0 || d.interval.1 < 0.0);
                }
            }
        }
        if let Some(ranks) = &results.ranks {
            prop_assert!(ranks.statistic.is_finite() && (0.0..=1.0).contains(&ranks.p()));
            prop_assert!(ranks.agreement.is_none_or(|w| (-1e-9..=1.0 + 1e-9).contains(&w)));
        }
        let verdict = &results.verdict;
        let words = verdict.findings.join(" ") + &verdict.headline + &verdict.cautions.join(" ");
        prop_assert!(!words.contains("NaN") && !words.contains("inf"), "{words}");
    }

    #[test]
    fn another_zero_and_another_unit_change_only_the_units(scores in scores(), unit in 0.1_f64..9.0) {
        // With a handful of cups the variances are hardly told apart, and the last digits roam.
        prop_assume!(scores.len() > 12);
        let moved: Vec<_> = scores.iter().map(|&(t, w, v)| (t, w, 40.0 + unit * v)).collect();
        let (here, there) = (
            fit(&table(&scores), ModelChoice::default()),
            fit(&table(&moved), ModelChoice::default()),
        );
        if let (Ok(here), Ok(there)) = (here, there) {
            for (a, b) in here.means.iter().zip(&there.means) {
                prop_assert!((40.0 + unit * a.mean - b.mean).abs() < 1e-5);
                prop_assert!((unit * a.standard_error - b.standard_error).abs() < 1e-4 * unit);
            }
            if let (Some(a), Some(b)) = (here.waters, there.waters) {
                prop_assert!((a.f - b.f).abs() < 1e-4 * (1.0 + a.f), "{} {}", a.f, b.f);
            }
        }
    }

    #[test]
    fn complete_scores_give_the_classical_test_unless_singular(
        tasters in 2_usize..6, waters in 2_usize..5, rounds in 1_usize..3,
        values in prop::collection::vec(0.0_f64..10.0, 60),
    ) {
        let scores: Vec<_> = (0..tasters * waters * rounds)
            .map(|at| (at % tasters, at / tasters % waters, values.get(at).copied().unwrap_or(1.0)))
            .collect();
        let set = table(&scores);
        let choice = ModelChoice { order: Wanted::No, carry_over: Wanted::No, multiplicity: None };
        if let (Ok(mixed), Some(classical)) = (fit(&set, choice), classical_test(&set)) {
            prop_assert_eq!(mixed.multiplicity, Multiplicity::Tukey);
            let test = mixed.waters.ok_or(TestCaseError::fail("no test"))?;
            let both = [RandomEffect::Taster, RandomEffect::TasterByWater];
            let (of_tasters, of_cells) = classical_variances(&set, count(rounds));
            if mixed.zero.is_empty() && !mixed.exact_repeats {
                prop_assert!((test.f - classical.f).abs() < 1e-4 * (1.0 + test.f));
                prop_assert!((test.df_residual - classical.df_residual).abs() < 1e-3);
                prop_assert!((mixed.variances.taster.unwrap_or(0.0) - of_tasters).abs() < 1e-4);
            } else {
                prop_assert!(mixed.zero.iter().all(|part| both.contains(part)));
                // Where a variance comes out below zero, the fit says that it is zero.
                prop_assert!(of_tasters <= 1e-9 || of_cells.is_some_and(|v| v <= 1e-9));
            }
        }
    }

    #[test]
    fn worths_follow_the_rankings_and_are_always_finite(
        rankings in prop::collection::vec(Just((0..5_usize).collect::<Vec<_>>()).prop_shuffle(), 1..8),
        short in 2_usize..=5,
    ) {
        let choices: Vec<Choice> = rankings
            .iter()
            .map(|r| Choice { order: r.iter().take(short).copied().collect(), times: 1.0 })
            .collect();
        match strengths(&choices) {
            Ok(found) => {
                let sum: f64 = found.strengths.iter().map(|w| w.log_strength).sum();
                let first: f64 = found.strengths.iter().map(|w| w.first).sum();
                prop_assert!(sum.abs() < 1e-9 && (first - 1.0).abs() < 1e-9);
                let sound = |w: &StrengthParameter| {
                    w.log_strength.is_finite() && w.standard_error.is_finite() && w.standard_error > 0.0
                };
                prop_assert!(found.strengths.iter().all(sound));
                prop_assert_eq!(found.penalised, !found.never_beaten.is_empty());
                // A water that never lost is never put below one of the others.
                let top = |w: usize| found.never_beaten.contains(&w);
                let least = found.strengths.iter().filter(|w| top(w.water)).map(|w| w.log_strength);
                let most = found.strengths.iter().filter(|w| !top(w.water)).map(|w| w.log_strength);
                if found.penalised {
                    let (least, most) =
                        (least.fold(f64::NEG_INFINITY, f64::max), most.fold(f64::INFINITY, f64::min));
                    prop_assert!(least > most);
                }
            }
            Err(error) => prop_assert_eq!(error, StrengthError::NotConnected),
        }
    }

    #[test]
    fn a_rank_test_does_not_mind_names_and_order(
        rankings in prop::collection::vec(Just((0..4_usize).collect::<Vec<_>>()).prop_shuffle(), 1..6),
    ) {
        let blocks: Vec<Ranked> = rankings.iter().map(|r| Ranked::from_values(&places(r.iter().copied()))).collect();
        let turned: Vec<Ranked> = rankings
            .iter()
            .rev()
            .map(|r| Ranked::from_values(&places(r.iter().map(|w| 3 - w))))
            .collect();
        let (a, b) = (rank_test(&blocks, 4), rank_test(&turned, 4));
        let (Some(a), Some(b)) = (a, b) else { return Err(TestCaseError::fail("no test")) };
        prop_assert!((a.statistic - b.statistic).abs() < 1e-9);
        prop_assert_eq!(a.p_exact.is_some(), b.p_exact.is_some());
        prop_assert!((a.p() - b.p()).abs() < 1e-9);
        let trend = page(&blocks, &[0, 1, 2, 3]).and_then(|t| t.p_exact);
        prop_assert!(trend.is_some_and(|p| p > 0.0 && p <= 1.0 + 1e-12));
    }

    #[test]
    fn more_right_answers_are_never_weaker_evidence(n in 1_usize..60, test in 0_usize..5) {
        let tests = [Test::TwoAfc, Test::ThreeAfc, Test::DuoTrio, Test::Triangle, Test::Tetrad];
        let rule = ChoiceTest {
            test: tests.get(test).copied().unwrap_or(Test::Triangle),
            two_sided: false,
            alpha: 0.05,
        };
        let mut before = f64::INFINITY;
        for right in 0..=n {
            let once = [vec![(1, 1); right], vec![(0, 1); n - right]].concat();
            let found = discrimination(rule, &once);
            prop_assert!(found.p <= before && found.p >= 0.0);
            before = found.p;
            let significant = rule.least_right(n).is_some_and(|least| right >= least);
            prop_assert_eq!(significant, found.p <= 0.05);
            prop_assert!(found.share_interval.0 <= found.share && found.share <= found.share_interval.1);
            let none_right = rule.test == Test::TwoAfc && right == 0;
            prop_assert_eq!(found.d_prime.is_none(), right == n || none_right);
            if let (Some(d), Some(low)) = (found.d_prime, found.d_prime_interval.0) {
                prop_assert!(low <= d + 1e-9);
            }
        }
    }
}

#[test]
fn what_cannot_be_analysed_says_why() {
    let none = fit(&table(&[]), ModelChoice::default());
    assert_eq!(none, Err(MixedError::NoScores));
    let bad = fit(&table(&[(0, 0, f64::NAN), (0, 1, 1.0)]), ModelChoice::default());
    assert_eq!(bad, Err(MixedError::NotANumber));
    let once = fit(&table(&[(0, 0, 1.0), (0, 1, 2.0)]), ModelChoice::default());
    assert_eq!(once, Err(MixedError::TooFew));
    // Three tasters in perfect agreement up to their level leave no noise.
    let scores: Vec<_> = (0..9)
        .map(|at| (at % 3, at / 3, f64::from(u32::try_from(at % 3 + 2 * (at / 3)).unwrap_or(0))))
        .collect();
    assert_eq!(classical_test(&table(&scores)), None);
    assert!(matches!(fit(&table(&scores), ModelChoice::default()), Err(MixedError::NoResidual)));
    assert_eq!(classical_test(&table(&[(0, 0, 1.0), (1, 1, 2.0)])), None);
}

#[test]
fn a_term_that_the_orders_cannot_carry_is_left_out_and_said() -> Outcome {
    // Every taster had the same order, so places and waters are one and the same.
    let scores: Vec<_> = (0..30_u32)
        .map(|at| (usize::try_from(at / 5), usize::try_from(at % 5), f64::from(at * 7 % 11)))
        .map(|(taster, water, value)| Ok((taster?, water?, value)))
        .collect::<Result<_, std::num::TryFromIntError>>()?;
    let choice = ModelChoice { order: Wanted::Yes, carry_over: Wanted::Yes, multiplicity: None };
    let found = fit(&table(&scores), choice)?;
    assert!(
        found.terms.iter().all(|term| term.status == TermStatus::Out(LeftOutBecause::NotSeparable)),
        "{:?}",
        found.terms
    );
    Ok(())
}

#[test]
fn repeats_that_agree_exactly_leave_the_noise_between_tasters() -> Outcome {
    let mut scores = Vec::new();
    for (taster, row) in [[1.0, 4.0, 6.0], [4.0, 5.5, 10.0], [2.5, 6.0, 6.5]].iter().enumerate() {
        for (water, &value) in row.iter().enumerate() {
            scores.push((taster, water, value));
            scores.push((taster, water, value));
        }
    }
    let set = table(&scores);
    let found =
        fit(&set, ModelChoice { order: Wanted::No, carry_over: Wanted::No, multiplicity: None })?;
    assert!(found.exact_repeats);
    let classical = classical_test(&set).ok_or("no test")?;
    let test = found.waters.ok_or("no test")?;
    assert!((test.f / classical.f - 1.0).abs() < 1e-4, "{test:?}");
    assert!((test.df_residual - classical.df_residual).abs() < 1e-3, "{test:?}");
    Ok(())
}

/// Incomplete trays in which one taster had two waters three times and nobody had any other so often: the
/// likelihood grows without end where just those two cells vary by nothing, and whatever differs between
/// them would be beyond doubt. The same scores in any unit give the same test, and it is a modest one.
#[test]
fn few_cells_with_most_cups_are_not_beyond_doubt() -> Outcome {
    let scores = [
        (0, 0, 5.0),
        (1, 0, 10.0),
        (0, 1, 9.0),
        (1, 1, 8.5),
        (0, 2, 8.5),
        (1, 2, 4.5),
        (1, 3, 0.0),
        (0, 4, 2.5),
        (0, 0, 9.0),
        (1, 0, 8.0),
        (0, 1, 4.5),
        (1, 1, 9.0),
        (0, 2, 1.5),
        (1, 2, 8.5),
        (0, 3, 1.5),
        (1, 0, 6.0),
        (1, 1, 5.0),
        (1, 3, 1.0),
        (0, 4, 7.0),
        (1, 4, 7.0),
    ];
    for choice in [
        ModelChoice::default(),
        ModelChoice { order: Wanted::No, carry_over: Wanted::No, multiplicity: None },
    ] {
        let f = |unit: f64| -> Result<f64, MixedError> {
            let moved: Vec<_> = scores.iter().map(|&(t, w, v)| (t, w, 40.0 + unit * v)).collect();
            let fitted = fit(&table(&moved), choice)?;
            assert!(fitted.differences.iter().all(|d| d.p > 1e-4), "{:?}", fitted.differences);
            Ok(fitted.waters.map_or(f64::NAN, |test| test.f))
        };
        let (one, other) = (f(1.0)?, f(3.272_866_041_027_448)?);
        assert!(one < 100.0 && (one - other).abs() < 1e-6 * one, "{one} {other}");
    }
    Ok(())
}

/// With hardly more repeated cups than columns for places and waters before, the error of a cup may come out as
/// nothing and anything would differ: the terms are not tested, whether or not the means are corrected for them.
#[test]
fn terms_are_not_tested_on_few_repeats() -> Outcome {
    // Six tasters with eight waters, of which one or two are tasted again.
    let mut scores = Vec::new();
    for taster in 0..6_usize {
        for water in 0..8_usize {
            scores.push((taster, water));
        }
        scores.push((taster, taster));
        if taster < 2 {
            scores.push((taster, taster + 3));
        }
    }
    let scores: Vec<(usize, usize, f64)> = scores
        .into_iter()
        .enumerate()
        .map(|(at, (t, w))| Ok((t, w, f64::from(u32::try_from((at * 7 + t * 5 + w * 3) % 11)?))))
        .collect::<Result<_, std::num::TryFromIntError>>()?;
    for (wanted, is_in) in [(Wanted::IfCarried, false), (Wanted::Yes, true)] {
        let choice = ModelChoice { order: wanted, carry_over: wanted, multiplicity: None };
        let found = fit(&table(&scores), choice)?;
        for term in &found.terms {
            assert_eq!(matches!(term.status, TermStatus::In(_)), is_in, "{term:?}");
            assert!(term.test.is_none() && term.effects.is_empty(), "{term:?}");
        }
    }
    Ok(())
}
