//! Tests of tastings compared with packages and with counting.
//!
//! Above 400 lines: one reference file, read part by part.
#![expect(clippy::indexing_slicing, reason = "a missing reference value is an error of the check")]

use std::error::Error;

use serde_json::Value;
use waterflight::numerics::{
    StudentizedRange, StudentizedRanges, chi_square_tail, clopper_pearson, count, f_tail,
    noncentral_t_tail, normal_cdf, t_two_sided,
};
use waterflight::session::analysis::Choice;
use waterflight::session::analysis::ModelChoice;
use waterflight::session::analysis::Ranked;
use waterflight::session::analysis::anova::classical_test;
use waterflight::session::analysis::discrimination::discrimination;
use waterflight::session::analysis::icc::{consistency, one_way};
use waterflight::session::analysis::mixed::fit;
use waterflight::session::analysis::page_test::page;
use waterflight::session::analysis::ranked::{places, ranked_scores};
use waterflight::session::analysis::ranks::rank_test;
use waterflight::session::analysis::strength_parameters::strengths;
use waterflight::session::analysis::{Observation, ScoreTable};
use waterflight::session::plan::{ChoiceTest, Draw, Purpose, Seed, Test};

type Outcome = Result<(), Box<dyn Error>>;

fn reference(part: &str) -> Result<Value, Box<dyn Error>> {
    let mut all: Value = serde_json::from_str(include_str!("oracle/tasting.json"))?;
    Ok(all.get_mut(part).ok_or("no such part")?.take())
}

fn list(value: &Value) -> Result<&Vec<Value>, Box<dyn Error>> {
    value.as_array().ok_or_else(|| format!("no list: {value}").into())
}

fn number(value: &Value) -> Result<f64, Box<dyn Error>> {
    value.as_f64().ok_or_else(|| format!("no number: {value}").into())
}

fn size(value: &Value) -> Result<usize, Box<dyn Error>> {
    Ok(usize::try_from(value.as_u64().ok_or_else(|| format!("no whole number: {value}"))?)?)
}

fn numbers(value: &Value) -> Result<Vec<f64>, Box<dyn Error>> {
    list(value)?.iter().map(number).collect()
}

fn close(what: &str, got: f64, wanted: f64, relative: f64) {
    assert!((got - wanted).abs() <= relative * wanted.abs() + 1e-12, "{what}: {got} not {wanted}");
}

fn test_named(name: &str) -> Result<Test, Box<dyn Error>> {
    Ok(match name {
        "two-afc" | "paired" => Test::TwoAfc,
        "three-afc" => Test::ThreeAfc,
        "triangle" => Test::Triangle,
        "duo-trio" => Test::DuoTrio,
        "tetrad" => Test::Tetrad,
        _ => return Err(format!("no test {name}").into()),
    })
}

fn table(set: &str) -> Result<ScoreTable, Box<dyn Error>> {
    let mut rows = Vec::new();
    for line in include_str!("oracle/score_data.csv").lines() {
        let fields: Vec<&str> = line.split(',').collect();
        if fields[0] == set {
            rows.push(Observation {
                taster: fields[1].parse::<usize>()? - 1,
                water: fields[2].parse::<usize>()? - 1,
                round: fields[3].parse()?,
                position: 0,
                previous: None,
                value: fields[6].parse()?,
            });
        }
    }
    let most = |of: &dyn Fn(&Observation) -> usize| rows.iter().map(of).max().unwrap_or(0) + 1;
    Ok(ScoreTable {
        attribute: set.into(),
        tasters: (0..most(&|r| r.taster)).map(|n| format!("taster {n}")).collect(),
        waters: (0..most(&|r| r.water)).map(|n| format!("water {n}")).collect(),
        rows,
        missing: 0,
    })
}

#[test]
fn tails_agree() -> Outcome {
    let cases = reference("tails")?;
    for case in list(&cases)? {
        let (at, wanted) = (numbers(&case["at"])?, number(&case["tail"])?);
        let got = match case["law"].as_str().ok_or("no law")? {
            "range" => StudentizedRange::new(size(&case["at"][1])?).tail(at[0], at[2]),
            "noncentral t" => noncentral_t_tail(at[0], at[1], at[2]),
            "F" => f_tail(at[0], at[1], at[2]),
            "t two-sided" => t_two_sided(at[0], at[1]),
            "chi-square" => chi_square_tail(at[0], at[1]),
            _ => normal_cdf(at[0]),
        };
        assert!((got - wanted).abs() <= 1e-9 * wanted + 1e-11, "{case}: {got}");
    }
    Ok(())
}

#[test]
fn tables_of_least_right_answers_agree() -> Outcome {
    let tables = reference("least_right")?;
    let mut compared = 0;
    for (name, line) in tables.as_object().ok_or("no tables")? {
        let (test, alpha) = name.split_once(' ').ok_or("no name")?;
        let rule = ChoiceTest {
            test: test_named(test)?,
            two_sided: test == "paired",
            alpha: alpha.parse()?,
        };
        for (n, wanted) in (3..=100).zip(list(line)?) {
            let wanted = wanted.as_u64().map(usize::try_from).transpose()?;
            assert_eq!(rule.least_right(n), wanted, "{name} at {n}");
            compared += 1;
        }
    }
    assert_eq!(compared, 9 * 98);
    Ok(())
}

#[test]
fn shares_right_agree_with_integration_of_the_rules() -> Outcome {
    let cases = reference("share_right")?;
    for case in list(&cases)? {
        let test = test_named(case["test"].as_str().ok_or("no test")?)?;
        let got = test.right(number(&case["d"])?);
        assert!((got - number(&case["share"])?).abs() < 1e-7, "{case}: {got}");
    }
    let cases = reference("distance")?;
    for case in list(&cases)? {
        let test = test_named(case["test"].as_str().ok_or("no test")?)?;
        let got = test.d_prime(number(&case["share"])?).ok_or("no distance")?;
        close(&case.to_string(), got, number(&case["d"])?, 1e-6);
    }
    Ok(())
}

#[test]
fn published_distances_agree() -> Outcome {
    // d′ at three right in four: Ennis (1993); tetrad Ennis & Jesionka (2011); more digits computed.
    for (test, d) in [
        (Test::Triangle, 2.797_449),
        (Test::Tetrad, 1.889_770),
        (Test::DuoTrio, 2.020_039),
        (Test::TwoAfc, 0.953_873),
        (Test::ThreeAfc, 1.433_831),
    ] {
        let got = test.d_prime(0.75).ok_or("no distance")?;
        assert!((got - d).abs() < 1e-6, "{test:?}: {got}");
    }
    Ok(())
}

#[test]
fn intervals_of_proportions_agree() -> Outcome {
    let cases = reference("proportion")?;
    for case in list(&cases)? {
        let (hits, n) = (size(&case["hits"])?, size(&case["n"])?);
        let (low, high) = clopper_pearson(count(hits), count(n), 0.95);
        assert!((low - number(&case["low"])?).abs() < 1e-10, "{case}: {low}");
        assert!((high - number(&case["high"])?).abs() < 1e-10, "{case}: {high}");
        let rule = ChoiceTest { test: Test::Triangle, two_sided: false, alpha: 0.05 };
        let once = [vec![(1, 1); hits], vec![(0, 1); n - hits]].concat();
        let found = discrimination(rule, &once);
        // The interval of d′ is that of the share, seen through the law of d′.
        let low_end = found.d_prime_interval.0.ok_or("no low end")?;
        assert!((Test::Triangle.right(low_end) - low.max(1.0 / 3.0)).abs() < 1e-9);
        match found.d_prime_interval.1 {
            Some(end) => assert!((Test::Triangle.right(end) - high.max(1.0 / 3.0)).abs() < 1e-9),
            None => assert!(hits == n),
        }
    }
    Ok(())
}

#[test]
fn numbers_needed_agree() -> Outcome {
    let cases = reference("needed")?;
    for case in list(&cases)? {
        let rule = ChoiceTest {
            test: test_named(case["test"].as_str().ok_or("no test")?)?,
            two_sided: case["two_sided"].as_bool().ok_or("no sides")?,
            alpha: 0.05,
        };
        let share = number(&case["share"])?;
        let needed = rule.needed(share, 0.8).ok_or("never")?;
        assert_eq!(needed.first, size(&case["first"])?, "{case}");
        assert_eq!(needed.always_from, size(&case["always_from"])?, "{case}");
        close("power", rule.power(needed.first, share), number(&case["power_at_first"])?, 1e-6);
    }
    Ok(())
}

#[test]
fn friedman_agrees() -> Outcome {
    let cases = reference("friedman")?;
    for case in list(&cases)? {
        let set = table(case["set"].as_str().ok_or("no set")?)?;
        let blocks = ranked_scores(&set);
        let test = rank_test(&blocks, set.waters.len()).ok_or("no test")?;
        close("statistic", test.statistic, number(&case["statistic"])?, 1e-9);
        close("p", test.p_chi_square, number(&case["p"])?, 1e-7);
        close("W", test.agreement.ok_or("no W")?, number(&case["w"])?, 1e-9);
    }
    Ok(())
}

#[test]
fn the_published_wine_is_as_published() -> Outcome {
    // Randall (1989); exact p by convolution in another program.
    let set = table("wine")?;
    let test = rank_test(&ranked_scores(&set), 4).ok_or("no test")?;
    close("exact p", test.p_exact.ok_or("not exact")?, 4.334_305e-8, 1e-6);
    close("Friedman", test.statistic, 23.533_33, 1e-6);
    let model = fit(&set, ModelChoice::default(), &mut StudentizedRanges::default())?;
    close("taster", model.variances.taster.ok_or("none")?, 70.988_43, 1e-6);
    close("interaction", model.variances.taster_by_water.ok_or("none")?, 15.626_16, 1e-6);
    Ok(())
}

/// Ranks as blocks; 0 means not served.
fn blocks(ranks: &Value) -> Result<Vec<Ranked>, Box<dyn Error>> {
    list(ranks)?
        .iter()
        .map(|row| {
            let served: Vec<(usize, f64)> = numbers(row)?
                .into_iter()
                .enumerate()
                .filter(|(_, rank)| *rank > 0.0)
                .map(|(water, rank)| (water, -rank))
                .collect();
            Ok(Ranked::from_values(&served))
        })
        .collect()
}

#[test]
fn exact_chances_agree_with_full_enumeration() -> Outcome {
    let cases = reference("exact")?;
    for case in list(&cases)? {
        let blocks = blocks(&case["ranks"])?;
        let waters = list(&case["ranks"][0])?.len();
        let test = rank_test(&blocks, waters).ok_or("no test")?;
        close(&case.to_string(), test.statistic, number(&case["statistic"])?, 1e-12);
        close(&case.to_string(), test.p_exact.ok_or("not exact")?, number(&case["p"])?, 1e-12);
    }
    let case = reference("durbin")?;
    let test = rank_test(&blocks(&case["ranks"])?, 4).ok_or("no test")?;
    close("Durbin", test.statistic, number(&case["statistic"])?, 1e-12);
    close("its exact p", test.p_exact.ok_or("not exact")?, number(&case["p"])?, 1e-12);
    close("its p", test.p_chi_square, number(&case["p_chi_square"])?, 1e-10);
    let case = reference("pairs")?;
    let test = rank_test(&blocks(&case["ranks"])?, 4).ok_or("no test")?;
    for (pair, wanted) in test.pairs.iter().zip(numbers(&case["p"])?) {
        close("pair", pair.p_alone, wanted, 1e-12);
    }
    Ok(())
}

#[test]
fn exact_five_per_cent_points_are_those_tabled() -> Outcome {
    // Friedman's statistic at which the exact chance first is 0.05 or less (tasters, waters).
    for (tasters, waters, point) in
        [(3, 3, 6.000), (4, 4, 7.800), (3, 5, 8.533), (6, 5, 9.067), (4, 6, 10.286)]
    {
        let (at, below) = around(tasters, waters, point);
        let chance = |blocks: &[Ranked]| rank_test(blocks, waters).and_then(|test| test.p_exact);
        assert!(chance(&at).ok_or("not exact")? <= 0.05, "{tasters}, {waters}");
        assert!(chance(&below).ok_or("not exact")? > 0.05, "{tasters}, {waters}");
    }
    Ok(())
}

/// Among many random panels, one whose statistic is this point, and the one that comes next below.
fn around(tasters: usize, waters: usize, point: f64) -> (Vec<Ranked>, Vec<Ranked>) {
    let mut draw = Draw::new(&Seed::from_phrase("panels"), Purpose::Labels);
    let (mut at, mut below) = (Vec::new(), Vec::new());
    let mut nearest = 0.0;
    for n in 0..20_000 {
        // Few exchanges leave much agreement, many leave little.
        let blocks: Vec<Ranked> = (0..tasters)
            .map(|_| {
                let mut order: Vec<usize> = (0..waters).collect();
                for _ in 0..=(n % 6) {
                    order.swap(draw.below(waters), draw.below(waters));
                }
                Ranked::from_values(&places(order))
            })
            .collect();
        let sum =
            |w: usize| blocks.iter().map(|b| f64::from(b.of(w).unwrap_or(0)) / 2.0).sum::<f64>();
        let squares: f64 = (0..waters).map(|w| sum(w).powi(2)).sum();
        let (j, k) = (count(tasters), count(waters));
        let statistic = 12.0 * squares / (j * k * (k + 1.0)) - 3.0 * j * (k + 1.0);
        if (statistic - point).abs() < 6e-4 {
            at = blocks;
        } else if statistic < point && statistic > nearest {
            nearest = statistic;
            below = blocks;
        }
    }
    (at, below)
}

#[test]
fn page_agrees() -> Outcome {
    let cases = reference("page")?;
    for case in list(&cases)? {
        let values = list(&case["values"])?;
        let waters = list(&values[0])?.len();
        let blocks: Vec<Ranked> = values
            .iter()
            .map(|row| {
                // The package ranks upwards.
                let upwards: Vec<(usize, f64)> =
                    numbers(row)?.into_iter().map(|v| -v).enumerate().collect();
                Ok(Ranked::from_values(&upwards))
            })
            .collect::<Result<_, Box<dyn Error>>>()?;
        let expected_order: Vec<usize> = (0..waters).collect();
        let test = page(&blocks, &expected_order).ok_or("no test")?;
        close("L", test.l, number(&case["l"])?, 1e-12);
        if case["method"] == "exact" {
            close("exact p", test.p_exact.ok_or("not exact")?, number(&case["p"])?, 1e-10);
        } else if case["values"][0] != serde_json::json!([1, 1, 3, 4]) {
            // With ties the package's variance is not corrected and ours is.
            close("normal p", test.p_normal, number(&case["p"])?, 1e-9);
        }
    }
    // Tabled 5 % points (tasters, waters, least L).
    for (tasters, waters, least) in [(3, 4, 84), (4, 4, 111), (5, 5, 244), (6, 5, 291), (8, 4, 214)]
    {
        let chance = |l: f64| page_chance(tasters, waters, l);
        let (at, below) = (chance(f64::from(least))?, chance(f64::from(least) - 1.0)?);
        assert!(at <= 0.05 && below > 0.05, "{tasters}, {waters}: {at}, {below}");
    }
    Ok(())
}

/// Exact chance of at least this L, found from a panel that has just this L.
fn page_chance(tasters: usize, waters: usize, l: f64) -> Result<f64, Box<dyn Error>> {
    let expected_order: Vec<usize> = (0..waters).collect();
    // Random exchanges are kept while they bring L nearer to what is wanted.
    let mut draw = Draw::new(&Seed::from_phrase("trend"), Purpose::Labels);
    let mut orders: Vec<Vec<usize>> = vec![expected_order; tasters];
    let l_of = |orders: &[Vec<usize>]| -> f64 {
        let places = |order: &Vec<usize>| {
            order
                .iter()
                .enumerate()
                .map(|(rank, water)| count((rank + 1) * (water + 1)))
                .sum::<f64>()
        };
        orders.iter().map(places).sum()
    };
    for _ in 0..10_000 {
        let before = (l_of(&orders) - l).abs();
        if before < 0.5 {
            break;
        }
        let mut next = orders.clone();
        next[draw.below(tasters)].swap(draw.below(waters), draw.below(waters));
        if (l_of(&next) - l).abs() <= before {
            orders = next;
        }
    }
    let blocks: Vec<Ranked> =
        orders.into_iter().map(|order| Ranked::from_values(&places(order))).collect();
    let test = page(&blocks, &(0..waters).collect::<Vec<_>>()).ok_or("no test")?;
    assert!((test.l - l).abs() < 1e-9, "no panel with L = {l}");
    test.p_exact.ok_or_else(|| "not exact".into())
}

#[test]
fn intraclass_correlations_agree() -> Outcome {
    let cases = reference("icc")?;
    for case in list(&cases)? {
        let scores: Vec<Vec<f64>> =
            list(&case["scores"])?.iter().map(numbers).collect::<Result<_, _>>()?;
        // Of the package's six forms the first is one-way, the third that of consistency.
        let wanted = list(&case["forms"])?;
        for (form, wanted) in [(one_way(&scores), &wanted[0]), (consistency(&scores), &wanted[2])] {
            let form = form.ok_or("no correlation")?;
            let what = format!("{} {}", case["name"], wanted["type"]);
            close(&what, form.value, number(&wanted["icc"])?, 1e-9);
            // The package rounds its intervals to two digits.
            let ends = numbers(&wanted["ci"])?;
            assert!((form.interval.0 - ends[0]).abs() <= 0.005_001, "{what}: {:?}", form.interval);
            assert!((form.interval.1 - ends[1]).abs() <= 0.005_001, "{what}: {:?}", form.interval);
        }
    }
    Ok(())
}

#[test]
fn classical_analysis_agrees() -> Outcome {
    let cases = reference("anova")?;
    for case in list(&cases)? {
        let what = case["set"].as_str().ok_or("no set")?;
        let found = classical_test(&table(what)?).ok_or("no test")?;
        close(what, found.f, number(&case["f"])?, 1e-8);
        close(what, found.df, number(&case["df"][0])?, 1e-12);
        close(what, found.df_residual, number(&case["df"][1])?, 1e-12);
        close(what, found.p, number(&case["p"])?, 1e-6);
    }
    Ok(())
}

#[test]
fn mixed_models_agree_with_a_second_program() -> Outcome {
    let cases = reference("mixed")?;
    for case in list(&cases)? {
        let what = case["set"].as_str().ok_or("no set")?;
        // Where scores are missing, waters are compared within tasters alone, which that program does
        // not: `oracle_mixed` has those sets.
        if !["wine", "tv_Noise"].contains(&what) {
            continue;
        }
        let found = fit(&table(what)?, ModelChoice::default(), &mut StudentizedRanges::default())?;
        // That program stops its search early; it agrees with the first to about 1e-5 of the cup.
        let near = |got: f64, wanted: f64| (got - wanted).abs() < 1e-4 * found.variances.cup;
        assert!(near(found.variances.cup, number(&case["cup"])?), "{what}");
        assert!(near(found.variances.taster.ok_or("none")?, number(&case["taster"])?), "{what}");
        let both = found.variances.taster_by_water.ok_or("none")?;
        assert!(near(both, number(&case["both"])?), "{what}: {both}");
        let (means, errors) = (numbers(&case["means"])?, numbers(&case["se"])?);
        for (mean, (wanted, error)) in found.means.iter().zip(means.iter().zip(errors)) {
            close(what, mean.mean, *wanted, 1e-4);
            close(what, mean.standard_error, error, 1e-4);
        }
    }
    Ok(())
}

#[test]
fn worths_of_pairs_agree() -> Outcome {
    let case = reference("bradley_terry")?;
    let choices: Vec<Choice> = list(&case["wins"])?
        .iter()
        .map(|row| {
            Ok(Choice { order: vec![size(&row[0])?, size(&row[1])?], times: number(&row[2])? })
        })
        .collect::<Result<_, Box<dyn Error>>>()?;
    let found = strengths(&choices)?;
    assert!(!found.penalised);
    for (worth, (wanted, error)) in
        found.strengths.iter().zip(numbers(&case["log_worth"])?.iter().zip(numbers(&case["se"])?))
    {
        close("worth", worth.log_strength, *wanted, 1e-6);
        close("its error", worth.standard_error, error, 1e-6);
    }
    // Stigler (1994) by way of Agresti: centred worths as published.
    for (worth, published) in
        found.strengths.iter().zip([0.789_922, -2.159_150, 0.310_352, 1.058_876])
    {
        assert!((worth.log_strength - published).abs() < 1e-6);
    }
    Ok(())
}

#[test]
fn worths_of_rankings_agree() -> Outcome {
    let cases = reference("plackett_luce")?;
    assert!(!list(&cases)?.is_empty());
    for case in list(&cases)? {
        let choices: Vec<Choice> = list(&case["rankings"])?
            .iter()
            .map(|row| {
                let order = list(row)?.iter().map(size).collect::<Result<_, _>>()?;
                Ok(Choice { order, times: 1.0 })
            })
            .collect::<Result<_, Box<dyn Error>>>()?;
        let found = strengths(&choices)?;
        assert!(!found.penalised, "{}", case["name"]);
        for (worth, wanted) in found.strengths.iter().zip(numbers(&case["log_worth"])?) {
            let what = format!("{}", case["name"]);
            assert!(
                (worth.log_strength - wanted).abs() < 1e-5,
                "{what}: {} {wanted}",
                worth.log_strength
            );
        }
    }
    Ok(())
}
