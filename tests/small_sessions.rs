//! What the results of the smallest sessions show: every score, ranking, answer and remark, means without
//! false intervals, brew and doses, whether or not anything can be tested.

use std::error::Error;
use std::fs;
use std::path::Path;

use serde_json::Value;
use waterflight::session::plan::{Key, Plan, Tray};

use crate::common::answers::{json, list, run};
use crate::common::{key_text, starter_bench};

type Fallible = Result<(), Box<dyn Error>>;

const BREW: &str = "coffee: 15 g on 250 mL at 94 °C gives 220 mL";

/// Plans a session of two waters with a brew, enters so many answers, each with a remark, and reveals.
/// Soft scores 4 and hard 7; hard ranks first, and every choice is right.
fn tasted(
    bench: &Path,
    name: &str,
    options: &[&str],
    answers: usize,
) -> Result<(String, Value), Box<dyn Error>> {
    let plan =
        ["session", "plan", "--name", name, "--seed", name, "--water", "soft", "--water", "hard"];
    run(bench, &[&plan[..], &["--brew", BREW, "--same", "one rinse"], options].concat())?;
    let folder = bench.join("sessions").join(name);
    let plan = Plan::from_text(&fs::read_to_string(folder.join("plan.json"))?)?;
    let key = Key::from_text(&key_text(bench, name)?)?;
    let alone = options.contains(&"--alone");
    let mut given = 0;
    for tray in &plan.trays {
        let under: Vec<String> = if alone {
            let own = key.cups.iter().filter(|cup| cup.tray == Some(tray.number));
            // The reference of a duo-trio stands apart under its own code.
            own.filter(|cup| Some(cup.code) != tray.reference)
                .map(|cup| cup.code.to_string())
                .collect()
        } else {
            tray.cups.iter().map(ToString::to_string).collect()
        };
        let water = |place: usize| -> Result<String, Box<dyn Error>> {
            let code = under.get(place).ok_or("no sticker")?;
            let cup = key.cups.iter().find(|cup| cup.code.to_string() == *code);
            Ok(cup.ok_or("no cup")?.water.clone())
        };
        for entry in entries(&plan, &key, tray, &water)? {
            if given == answers {
                break;
            }
            given += 1;
            let mut score = vec!["session", "score", name, tray.taster.as_str()];
            score.extend(entry.iter().map(String::as_str));
            run(bench, &[&score[..], &["--note", "a hint of chalk"]].concat())?;
        }
        if alone {
            let turned: Vec<String> =
                tray.cups.iter().zip(&under).map(|(top, under)| format!("{top}={under}")).collect();
            let number = tray.number.to_string();
            let mut turn = vec!["session", "turned", name, number.as_str()];
            turn.extend(turned.iter().map(String::as_str));
            run(bench, &turn)?;
        }
    }
    let reveal = ["session", "reveal", name, "--force", "the guests left"];
    run(bench, &reveal)?;
    let results = ["session", "results", name, "--full"];
    Ok((run(bench, &results)?, json(bench, &results)?))
}

/// What is entered of a tray: one entry for each cup that is scored, or one for the tray.
fn entries(
    plan: &Plan,
    key: &Key,
    tray: &Tray,
    water: &dyn Fn(usize) -> Result<String, Box<dyn Error>>,
) -> Result<Vec<Vec<String>>, Box<dyn Error>> {
    let mut cups = Vec::new();
    for (place, code) in tray.cups.iter().enumerate() {
        cups.push((water(place)?, code.to_string()));
    }
    let of = |name: &str| -> Vec<String> {
        cups.iter().filter(|(water, _)| water == name).map(|(_, code)| code.clone()).collect()
    };
    Ok(match plan.method.name() {
        "scoring" => cups
            .iter()
            .map(|(water, code)| {
                vec![code.clone(), format!("liking={}", if water == "soft" { 4 } else { 7 })]
            })
            .collect(),
        "ranking" => vec![[of("hard"), of("soft")].concat()],
        "paired comparison" => vec![of("hard")],
        "duo-trio" => {
            let reference = tray.reference.and_then(|code| key.cup(code)).ok_or("no reference")?;
            vec![of(&reference.water)]
        }
        "tetrad" => vec![of("soft")],
        _ => vec![if of("soft").len() == 1 { of("soft") } else { of("hard") }],
    })
}

/// What every page has, however small the session.
fn shows_what_there_is(name: &str, text: &str, data: &Value, answers: usize) -> Fallible {
    for part in ["In the cups", "15.0 g coffee on 250 mL water", "calcium 0.922", "one rinse"] {
        assert!(text.contains(part), "{name}: no {part} in\n{text}");
    }
    let brew = data.pointer("/in_the_cups/serving/brewing/dose_g").and_then(Value::as_f64);
    assert_eq!(brew, Some(15.0), "{name}");
    let dose = data.pointer("/in_the_cups/waters/0/doses_ml_per_l/0/1").and_then(Value::as_f64);
    assert!(dose.is_some_and(|ml| ml > 0.0), "{name}: {data}");
    let remarks = data.pointer("/remarks").and_then(Value::as_array).ok_or("no remarks")?;
    assert_eq!(remarks.len(), answers, "{name}: {data}");
    assert_eq!(text.matches("a hint of chalk").count(), answers, "{name}:\n{text}");
    for wrong in ["NaN", "inf ", "-inf", "null"] {
        assert!(!text.contains(wrong), "{name}: {wrong} in\n{text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{name}:\n{text}");
    Ok(())
}

#[test]
fn one_taster_and_two_waters_show_their_scores() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let scoring = ["--method", "scoring", "--attribute", "liking", "--tasters", "ann"];
    for (name, more, answers) in [
        ("poured", &[][..], 2),
        ("alone", &["--alone"][..], 2),
        ("rounds", &["--rounds", "2"][..], 4),
    ] {
        let (text, data) = tasted(&bench, name, &[&scoring[..], more].concat(), answers)?;
        shows_what_there_is(name, &text, &data, answers)?;
        assert!(text.contains("nothing can be tested"), "{text}");
        let rows: Vec<&str> = text.lines().filter(|l| l.ends_with(".00")).collect();
        assert!(rows.iter().any(|l| l.starts_with("hard") && l.ends_with("7.00")), "{text}");
        assert!(rows.iter().any(|l| l.starts_with("soft") && l.ends_with("4.00")), "{text}");
        assert_eq!(list(&data, "/scores/0/given/scores")?.len(), answers);
        let standings = list(&data, "/standings")?;
        assert_eq!(standings.len(), 2);
        for (standing, (water, mean)) in standings.iter().zip([("hard", 7.0), ("soft", 4.0)]) {
            assert_eq!(standing.pointer("/water"), Some(&Value::from(water)));
            assert_eq!(standing.pointer("/value").and_then(Value::as_f64), Some(mean));
            // No error was seen, so that no interval is there to be stated.
            assert_eq!(standing.pointer("/interval"), Some(&Value::Null));
        }
    }
    // The journal knows them too, and what was not tested has not won.
    let journal = run(&bench, &["journal", "--full"])?;
    assert!(journal.contains("poured, liking: highest in hard (7.00), not tested"), "{journal}");
    assert!(!journal.contains("better than every other"), "{journal}");
    Ok(())
}

#[test]
fn one_answer_of_four_is_shown() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let scoring = ["--method", "scoring", "--attribute", "liking", "--tasters", "ann,bo"];
    let (text, data) = tasted(&bench, "one", &scoring, 1)?;
    shows_what_there_is("one", &text, &data, 1)?;
    assert_eq!(list(&data, "/scores/0/given/scores")?.len(), 1);
    assert!(text.contains("scores   ann   raw mean"), "{text}");
    // Two tasters once each: there is a model, with its honest intervals, and the scores beside it.
    let (text, data) = tasted(&bench, "two", &scoring, 4)?;
    shows_what_there_is("two", &text, &data, 4)?;
    assert_eq!(list(&data, "/scores/0/given/scores")?.len(), 4);
    Ok(())
}

#[test]
fn every_method_shows_one_answer_and_none() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for method in ["ranking", "paired", "triangle", "duo-trio", "tetrad"] {
        for alone in [false, true] {
            let name = format!("{method}-{alone}");
            let mut options = vec!["--method", method, "--tasters", "ann"];
            options.extend(alone.then_some("--alone"));
            let (text, data) = tasted(&bench, &name, &options, 1)?;
            shows_what_there_is(&name, &text, &data, 1)?;
            if method == "ranking" {
                assert!(text.contains("ann: hard > soft"), "{text}");
                assert!(text.contains("one taster ranked the waters"), "{text}");
                assert!(!text.contains("p = "), "{text}");
                assert_eq!(list(&data, "/rankings/0/order")?.len(), 2);
            } else {
                assert!(text.contains("1 of 1"), "{text}");
                assert!(text.contains("ann"), "{text}");
            }
        }
        let name = format!("{method}-none");
        let (text, data) = tasted(&bench, &name, &["--method", method, "--tasters", "ann,bo"], 0)?;
        shows_what_there_is(&name, &text, &data, 0)?;
        assert!(text.contains("nothing can be tested"), "{text}");
        for wrong in ["0 of 0", "cannot tell", "p = "] {
            assert!(!text.contains(wrong), "{name}: {wrong} in\n{text}");
        }
    }
    Ok(())
}
