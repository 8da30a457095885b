//! What won and what is mixed next follow what is wanted, and never an intensity that nobody said is.
//!
//! Above 400 lines: one reading of what is wanted, from the command line down to the test of it.

use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use rand_chacha::ChaCha20Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use serde_json::Value;
use statrs::distribution::{ContinuousCDF, Normal};
use waterflight::session::analysis::clear_differences::better_pairs;
use waterflight::session::analysis::{ModelChoice, Observation, ScoreTable, family_results};
use waterflight::session::plan::{Direction, Key, Plan};

use crate::common::answers::{json, run, text, tried};
use crate::common::{key_text, starter_bench};

type Fallible = Result<(), Box<dyn Error>>;

const WATERS: [&str; 5] = ["soft", "middle", "hard", "sulfate side", "chloride side"];
const TASTERS: [&str; 4] = ["ann", "bo", "cy", "di"];

/// Plans a scoring of five waters by four tasters in three rounds, scores and reveals it; `score` gives
/// the score of an attribute (by its place) for a taster, a water and a round.
fn scored(
    bench: &Path,
    name: &str,
    seed: &str,
    options: &[&str],
    score: impl Fn(usize, usize, usize, usize) -> f64,
) -> Fallible {
    let tasters = TASTERS.join(",");
    let mut plan = vec![
        "session",
        "plan",
        "--name",
        name,
        "--seed",
        seed,
        "--tasters",
        &tasters,
        "--rounds",
        "3",
    ];
    for water in WATERS {
        plan.extend(["--water", water]);
    }
    plan.extend(options);
    run(bench, &plan)?;
    let folder = bench.join("sessions").join(name);
    let plan = Plan::from_text(&fs::read_to_string(folder.join("plan.json"))?)?;
    let key = Key::from_text(&key_text(bench, name)?)?;
    let attributes = plan.method.attributes();
    let names: Vec<&str> = attributes.iter().map(|a| a.name.as_str()).collect();
    let mut csv = format!("taster,code,{}\n", names.join(","));
    for tray in &plan.trays {
        let taster = TASTERS.iter().position(|t| *t == tray.taster).ok_or("no taster")?;
        for code in &tray.cups {
            let cup = key.cup(*code).ok_or("no cup")?;
            let water = WATERS.iter().position(|w| *w == cup.water).ok_or("no water")?;
            write!(csv, "{},{code}", tray.taster)?;
            for place in 0..attributes.len() {
                write!(csv, ",{}", score(place, taster, water, tray.round - 1))?;
            }
            csv.push('\n');
        }
    }
    let file = bench.join(format!("{name}.csv"));
    fs::write(&file, csv)?;
    run(bench, &["session", "score", name, "--csv", &file.display().to_string()])?;
    run(bench, &["session", "reveal", name])?;
    Ok(())
}

/// A score by a water's true value, with a fixed pattern in the place of noise.
fn near(truth: &[f64; 5], taster: usize, water: usize, round: usize) -> f64 {
    let noise = [0.5, -0.5, 0.0, 0.5, 0.0, -0.5, 0.0, 0.5, -0.5];
    let at = (taster * 7 + water * 4 + round * 5) % noise.len();
    truth.get(water).copied().unwrap_or(0.0) + noise.get(at).copied().unwrap_or(0.0)
}

/// Bitterness stands first on the sheet and is highest in the hard water; the middle one is liked.
const BITTER: [f64; 5] = [2.0, 3.0, 8.0, 4.0, 5.0];
const LIKED: [f64; 5] = [5.0, 8.0, 3.0, 6.0, 5.5];

fn both(bench: &Path, name: &str, more: &[&str]) -> Fallible {
    let attributes = [
        "--method",
        "scoring",
        "--attribute",
        "bitterness",
        "--attribute",
        "liking, 0 to 10 by 0.5",
    ];
    scored(
        bench,
        name,
        "rehearsal",
        &[&attributes[..], more].concat(),
        |place, taster, water, round| {
            near(if place == 0 { &BITTER } else { &LIKED }, taster, water, round)
        },
    )
}

/// The part of a page between two lines.
fn part<'a>(page: &'a str, from: &str, to: &str) -> Result<&'a str, Box<dyn Error>> {
    let (_, rest) = page.split_once(from).ok_or_else(|| format!("no {from} in\n{page}"))?;
    Ok(rest.split_once(to).map_or(rest, |(part, _)| part))
}

#[test]
fn the_liking_wins_and_the_first_attribute_of_the_sheet_does_not() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    both(&bench, "one", &[])?;
    let next = json(&bench, &["next", "--over", "hardness,alkalinity"])?;
    assert_eq!(text(&next, "/next/of")?, "liking");
    assert_eq!(text(&next, "/next/wanted")?, "more");
    assert_eq!((text(&next, "/next/best")?, text(&next, "/next/reference")?), ("middle", "middle"));
    let journal = run(&bench, &["journal", "--full"])?;
    let won = part(&journal, "What won", "What else")?;
    assert!(won.contains("one, liking: middle, above every other"), "{journal}");
    assert!(!won.contains("bitterness"), "{journal}");
    let found = part(&journal, "What else was found", "\n\n")?;
    assert!(found.contains("one, bitterness: most in hard, above every other"), "{journal}");
    let data = json(&bench, &["journal"])?;
    let recipes = data.pointer("/recipes").and_then(Value::as_array).ok_or("no recipes")?;
    for recipe in recipes {
        let wins = u64::from(text(recipe, "/name")? == "middle");
        assert_eq!(recipe.pointer("/wins").and_then(Value::as_u64), Some(wins), "{recipe}");
    }
    Ok(())
}

#[test]
fn a_plan_says_what_is_wanted_and_which_way() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    both(&bench, "one", &["--wanted", "bitterness: less"])?;
    let plan = fs::read_to_string(bench.join("sessions/one/plan.json"))?;
    let plan: Value = serde_json::from_str(&plan)?;
    assert_eq!(text(&plan, "/wanted/of")?, "bitterness");
    assert_eq!(plan.pointer("/format").and_then(Value::as_u64), Some(2));
    let revealed = json(&bench, &["session", "results", "one"])?;
    assert_eq!(revealed.pointer("/drawn_again"), Some(&Value::Bool(true)));
    assert_eq!(text(&revealed, "/wanted/direction")?, "less");
    let next = json(&bench, &["next", "--over", "hardness,alkalinity"])?;
    assert_eq!(text(&next, "/next/of")?, "bitterness");
    assert_eq!(text(&next, "/next/best")?, "soft");
    let journal = run(&bench, &["journal", "--full"])?;
    assert!(
        part(&journal, "What won", "What else")?.contains("bitterness: soft, below every other")
    );
    // Near a value: between the sulfate and the chloride side, nearer to the first.
    let near = [
        "next",
        "--over",
        "hardness,alkalinity",
        "--attribute",
        "bitterness",
        "--wanted",
        "near=4.2",
    ];
    let next = json(&bench, &near)?;
    assert_eq!(text(&next, "/next/best")?, "sulfate side");
    assert_eq!(next.pointer("/next/wanted/near").and_then(Value::as_f64), Some(4.2));
    let known = next.pointer("/next/known/4").ok_or("no fifth water")?;
    assert_eq!(text(known, "/water")?, "hard");
    Ok(())
}

/// A plan of older rules, or of one who forgot: nothing of it is bettered before somebody says what.
#[test]
fn an_intensity_is_never_wanted_unasked() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let attributes = ["--method", "scoring", "--attribute", "bitterness", "--attribute", "body"];
    scored(&bench, "one", "rehearsal", &attributes, |place, taster, water, round| {
        near(if place == 0 { &BITTER } else { &LIKED }, taster, water, round)
    })?;
    let (done, said, errors) = tried(&bench, &["next", "--over", "hardness", "--full"])?;
    assert!(!done && said.is_empty(), "{said}");
    assert!(errors.contains("--attribute \"bitterness\" --wanted more"), "{errors}");
    let (done, _, errors) =
        tried(&bench, &["next", "--over", "hardness", "--of", "bitterness", "--full"])?;
    assert!(!done && errors.contains("which way `bitterness` is wanted"), "{errors}");
    let (done, _, errors) = tried(&bench, &["next", "--wanted", "less", "--full"])?;
    assert!(!done && errors.contains("several attributes"), "{errors}");
    let next = json(
        &bench,
        &["next", "--over", "hardness", "--attribute", "bitterness", "--wanted", "less", "--full"],
    )?;
    assert_eq!(text(&next, "/next/best")?, "soft");
    let journal = run(&bench, &["journal", "--full"])?;
    assert!(journal.contains("Nothing won") && !journal.contains("What won"), "{journal}");
    assert!(!journal.contains("better than every other"), "{journal}");
    let journal =
        run(&bench, &["journal", "--attribute", "bitterness", "--wanted", "less", "--full"])?;
    assert!(journal.contains("bitterness: soft, below every other"), "{journal}");
    // What is named is shown alone, as text, as data and as a table.
    for more in ["--full", "--json", "--csv"] {
        let [all, alone] = [&["journal", more][..], &["journal", "--of", "body", more]];
        let (all, alone) = (run(&bench, all)?, run(&bench, alone)?);
        assert!(all.contains("bitterness") && all.contains("body"), "{all}");
        assert!(!alone.contains("bitterness") && alone.contains("body"), "{alone}");
        let (done, said, errors) = tried(&bench, &["journal", "--of", "bitternes", more])?;
        assert!(!done && said.is_empty(), "{said}");
        assert!(errors.contains("judged `bitternes`") && errors.contains("body"), "{errors}");
    }
    Ok(())
}

#[test]
fn a_ranking_by_an_intensity_has_no_winner_and_one_by_liking_has() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for (name, criterion) in [("bitter", "bitterness"), ("liked", "liking")] {
        let plan =
            format!("session plan --name {name} --seed x --method ranking --criterion {criterion}");
        let mut plan: Vec<&str> = plan.split(' ').collect();
        plan.extend(["--tasters", "a1,a2,a3,a4,a5,a6,a7", "--water", "soft", "--water", "middle"]);
        plan.extend(["--water", "hard"]);
        run(&bench, &plan)?;
        let folder = bench.join("sessions").join(name);
        let plan = Plan::from_text(&fs::read_to_string(folder.join("plan.json"))?)?;
        let key = Key::from_text(&key_text(&bench, name)?)?;
        for tray in &plan.trays {
            let mut order = Vec::new();
            for water in ["hard", "middle", "soft"] {
                let of = |code: &&waterflight::session::plan::Code| {
                    key.cup(**code).is_some_and(|cup| cup.water == water)
                };
                order.push(tray.cups.iter().find(of).ok_or("no cup")?.to_string());
            }
            let mut score = vec!["session", "score", name, tray.taster.as_str()];
            score.extend(order.iter().map(String::as_str));
            run(&bench, &score)?;
        }
        run(&bench, &["session", "reveal", name])?;
    }
    let journal = run(&bench, &["journal", "--full"])?;
    let won = part(&journal, "What won", "What else")?;
    assert!(won.contains("liked, liking: hard") && !won.contains("bitter,"), "{journal}");
    assert!(part(&journal, "What else was found", "\n\n")?.contains("bitterness: most in hard"));
    let next = json(&bench, &["next", "--over", "hardness"])?;
    assert_eq!((text(&next, "/next/of")?, text(&next, "/next/best")?), ("liking", "hard"));
    let less =
        ["next", "--over", "hardness", "--attribute", "bitterness", "--wanted", "less", "--full"];
    assert_eq!(text(&json(&bench, &less)?, "/next/best")?, "soft");
    Ok(())
}

#[test]
fn which_is_best_is_not_asked_of_an_intensity_without_a_direction() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let plan = [
        "session",
        "plan",
        "--tasters",
        "ann,bo",
        "--question",
        "best",
        "--criterion",
        "bitterness",
    ];
    let (done, _, errors) = tried(&bench, &plan)?;
    assert!(!done && errors.contains("--wanted \"bitterness: less\""), "{errors}");
    run(&bench, &[&plan[..], &["--wanted", "less"]].concat())?;
    for (wanted, why) in [
        ("boddy: more", "nothing called `boddy`"),
        ("near=3", "no score to be near to"),
        ("best", "does not say which way"),
    ] {
        let (done, _, errors) = tried(&bench, &[&plan[..], &["--wanted", wanted]].concat())?;
        assert!(!done && errors.contains(why), "{errors}");
    }
    Ok(())
}

/// Sixty scores, in half points, by taster, water and round.
const SIXTY: [[[u8; 3]; 5]; 4] = [
    [[13, 10, 11], [13, 17, 12], [15, 16, 11], [9, 11, 11], [15, 12, 11]],
    [[12, 10, 10], [11, 12, 13], [12, 11, 11], [14, 16, 17], [14, 15, 17]],
    [[7, 9, 11], [15, 13, 16], [12, 11, 11], [11, 9, 10], [12, 14, 12]],
    [[12, 11, 13], [13, 15, 13], [14, 14, 13], [13, 13, 14], [12, 12, 11]],
];

/// The same scores under other orders of serving say the same, and the best so far is the water with
/// the best mean of the table.
#[test]
fn the_order_of_serving_does_not_change_what_the_same_scores_say() -> Fallible {
    let mut said: Vec<(String, String, String)> = Vec::new();
    for seed in ["one", "two", "three", "four", "five", "six"] {
        let (_folder, bench) = starter_bench()?;
        let attributes = ["--method", "scoring", "--attribute", "liking, 0 to 10 by 0.5"];
        scored(&bench, "s", seed, &attributes, |_, taster, water, round| {
            let of = SIXTY.get(taster).and_then(|t| t.get(water)).and_then(|w| w.get(round));
            f64::from(of.copied().unwrap_or(0)) / 2.0
        })?;
        let next = json(&bench, &["next"])?;
        let tasted =
            next.pointer("/next/tasted").and_then(Value::as_array).ok_or("nothing tasted")?;
        let mean = |t: &Value| t.pointer("/score").and_then(Value::as_f64).unwrap_or(f64::NAN);
        let top = tasted.iter().max_by(|a, b| mean(a).total_cmp(&mean(b))).ok_or("no water")?;
        assert_eq!(text(top, "/water")?, text(&next, "/next/reference")?, "{next}");
        let factor = next.pointer("/next/evidence/bayes_factor").and_then(Value::as_f64);
        // The order of a sum moves the last digits.
        let evidence = format!("{:.9}", factor.ok_or("no evidence")?);
        said.push((
            text(&next, "/next/reference")?.to_owned(),
            text(&next, "/next/shape")?.to_owned(),
            evidence,
        ));
    }
    said.dedup();
    assert_eq!(said.len(), 1, "{said:#?}");
    Ok(())
}

/// Two waters that lie as far from the wanted score, one above and one below it: that one is nearer is
/// said of no more panels than the usual risk allows. Where one really is nearer it is found.
#[test]
fn nearer_is_said_only_where_it_is_so() -> Fallible {
    let mut random = ChaCha20Rng::seed_from_u64(6);
    let mut normal = || {
        let even = (f64::from(random.next_u32()) + 0.5) / 4_294_967_296.0;
        Normal::standard().inverse_cdf(even)
    };
    let mut claims = |truth: [f64; 2]| -> Result<(usize, usize), Box<dyn Error>> {
        let (mut first, mut second) = (0, 0);
        for _ in 0..300 {
            let mut rows = Vec::new();
            for taster in 0..6 {
                let level = 0.3 * normal();
                for (water, truth) in truth.iter().enumerate() {
                    for round in 1..=2 {
                        let value = truth + level + normal();
                        rows.push(Observation {
                            taster,
                            water,
                            round,
                            position: 0,
                            previous: None,
                            value,
                        });
                    }
                }
            }
            let names = |count: usize| (0..count).map(|n| n.to_string()).collect();
            let table = ScoreTable {
                attribute: "body".to_owned(),
                tasters: names(6),
                waters: names(2),
                rows,
                missing: 0,
            };
            let found = family_results(vec![table], ModelChoice::default(), None).remove(0);
            let fit = found.model.map_err(|e| e.to_string())?;
            for (better, _) in better_pairs(&fit, Direction::Near(5.0), 1.0) {
                if better == 0 { first += 1 } else { second += 1 }
            }
        }
        Ok((first, second))
    };
    let (above, below) = claims([6.5, 3.5])?;
    assert!(above + below <= 24, "{above} {below}");
    let (near, far) = claims([5.2, 8.0])?;
    assert!(near >= 280 && far == 0, "{near} {far}");
    Ok(())
}

/// Scores of one water after the other, each by the same tasters, with a step of levels between them: which
/// of two is said to be nearer to 5.
fn nearer_to_five(first: &[f64], second: &[f64]) -> Result<Vec<(usize, usize)>, Box<dyn Error>> {
    let names = |count: usize| (0..count).map(|n| n.to_string()).collect();
    let rows = [first, second].into_iter().enumerate().flat_map(|(water, scores)| {
        scores.iter().enumerate().map(move |(taster, &value)| Observation {
            taster,
            water,
            round: 1,
            position: 0,
            previous: None,
            value,
        })
    });
    let table = ScoreTable {
        attribute: "body".to_owned(),
        tasters: names(first.len()),
        waters: names(2),
        rows: rows.collect(),
        missing: 0,
    };
    let found = family_results(vec![table], ModelChoice::default(), None).remove(0);
    let fit = found.model.map_err(|e| e.to_string())?;
    Ok(better_pairs(&fit, Direction::Near(5.0), 1.0))
}

/// Of two waters the sum of a taster's scores is one number, so that three tasters leave two degrees of
/// freedom and no more.
#[test]
fn of_few_tasters_nearer_is_said_no_more_often_than_promised() -> Fallible {
    const PANELS: usize = 2000;
    let mut random = ChaCha20Rng::seed_from_u64(8);
    let mut normal = || {
        let even = (f64::from(random.next_u32()) + 0.5) / 4_294_967_296.0;
        Normal::standard().inverse_cdf(even)
    };
    let mut said = 0;
    for _ in 0..PANELS {
        let levels: Vec<f64> = (0..3).map(|_| 0.5 * normal()).collect();
        let mut scores = |mean: f64| levels.iter().map(|level| mean + level + normal()).collect();
        let (above, below): (Vec<f64>, Vec<f64>) = (scores(15.0), scores(-5.0));
        said += nearer_to_five(&above, &below)?.len();
    }
    // Three standard errors of the count at the risk itself.
    assert!(said <= 100 + 29, "{said} of {PANELS}");
    // The sums less ten are 0.4, 0.9 and 0.5: two degrees of freedom leave a p of 0.059.
    assert_eq!(nearer_to_five(&[7.2, 7.6, 7.5], &[3.2, 3.3, 3.0])?, []);
    // Sums that are all alike say nothing of how others would vary.
    assert_eq!(nearer_to_five(&[7.0, 7.5, 8.0], &[4.0, 3.5, 3.0])?, []);
    assert_eq!(nearer_to_five(&[5.1, 5.2, 5.0], &[9.1, 9.3, 8.9])?, [(0, 1)]);
    Ok(())
}
