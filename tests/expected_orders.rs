//! Orders of the waters that somebody expects: entered before the first answer, validated, kept from
//! tasters until the reveal, then tested. Notes of earlier programs are read as they were.
#![expect(clippy::indexing_slicing, reason = "a missing value is an error of the check")]

use std::error::Error;
use std::fs;
use std::path::Path;

use serde_json::Value;
use waterflight::session::plan::{Key, Plan};

use crate::common::answers::ended;
use crate::common::{key_text, starter_bench};

type Fallible = Result<(), Box<dyn Error>>;

/// The waters that are compared here; no other text of a session has these names.
const WATERS: [&str; 3] = ["soft", "sulfate side", "chloride side"];

/// Whether it went well, what it said, and what it said of mistakes.
fn tried(bench: &Path, arguments: &[&str], typed: &str) -> Result<(bool, String), Box<dyn Error>> {
    let (status, out, errors) = ended(bench, arguments, typed)?;
    Ok((status == 0, (out + &errors).split_whitespace().collect::<Vec<_>>().join(" ")))
}

fn run(bench: &Path, arguments: &[&str]) -> Result<String, Box<dyn Error>> {
    let (done, text) = tried(bench, arguments, "")?;
    assert!(done, "{arguments:?}: {text}");
    Ok(text)
}

fn plan(bench: &Path, name: &str, options: &[&str]) -> Fallible {
    let fixed = ["session", "plan", "--name", name, "--seed", name, "--tasters", "ann, bo, cy"];
    let waters = WATERS.iter().flat_map(|water| ["--water", water]);
    let all: Vec<&str> = fixed.into_iter().chain(waters).chain(options.iter().copied()).collect();
    run(bench, &all).map(|_| ())
}

fn read(bench: &Path, name: &str) -> Result<(Plan, Key), Box<dyn Error>> {
    let folder = bench.join("sessions").join(name);
    let plan = Plan::from_text(&fs::read_to_string(folder.join("plan.json"))?)?;
    Ok((plan, Key::from_text(&key_text(bench, name)?)?))
}

/// Everyone ranks the waters in one order; then the session is revealed.
fn rank(bench: &Path, name: &str, order: &[&str]) -> Result<Value, Box<dyn Error>> {
    let (plan, key) = read(bench, name)?;
    for tray in &plan.trays {
        let mut arguments = vec!["session".to_owned(), "score".into(), name.to_owned()];
        arguments.push(tray.taster.clone());
        for water in order {
            let holds = |code: &&_| key.cup(**code).is_some_and(|cup| cup.water == *water);
            arguments.push(tray.cups.iter().find(holds).ok_or("no cup")?.to_string());
        }
        run(bench, &arguments.iter().map(String::as_str).collect::<Vec<_>>())?;
    }
    run(bench, &["session", "reveal", name])?;
    Ok(serde_json::from_str(&run(bench, &["session", "results", name, "--json"])?)?)
}

/// Everything that a taster can be shown before the reveal.
fn shown_before(bench: &Path, name: &str) -> Result<Vec<String>, Box<dyn Error>> {
    let typed = "entries\nann\nentries\nmissing\nhelp\nend\n";
    let mut texts = vec![tried(bench, &["session", "score", name], typed)?.1];
    for arguments in [
        &["session", "progress", name][..],
        &["session", "progress", name, "--entries"],
        &["session", "progress", name, "--json"],
        &["session", "sheet", name, "--for", "taster"],
        &["session", "sheet", name, "--for", "server"],
    ] {
        texts.push(run(bench, arguments)?);
    }
    Ok(texts)
}

fn names_no_water(texts: &[String]) {
    for text in texts {
        for water in &WATERS[1..] {
            assert!(!text.contains(water), "{water} in: {text}");
        }
    }
}

#[test]
fn an_expected_order_is_kept_until_the_reveal_and_then_tested() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    plan(&bench, "autumn", &["--question", "best"])?;
    let expect = |order: &str| ["session", "expect", "autumn", order].map(str::to_owned);
    let mut said = Vec::new();
    for order in
        ["soft > chloride side > sulfate side", "liking: sulfate side > soft > chloride side"]
    {
        let arguments = expect(order);
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        said.push(run(&bench, &[&arguments[..], &["--json"]].concat())?);
    }
    said.push(run(&bench, &["session", "note", "autumn", "the second brew ran long"])?);
    assert!(said.iter().all(|text| text.contains("line") || text.contains("recorded")));
    said.extend(shown_before(&bench, "autumn")?);
    names_no_water(&said);
    let list = run(&bench, &["session", "progress", "autumn", "--entries"])?;
    assert!(list.contains("an expected order for liking, shown after the reveal"), "{list}");

    // Programs of earlier days read every other line.
    let log = fs::read_to_string(bench.join("sessions/autumn/scores.jsonl"))?;
    let formats: Vec<u64> = log
        .lines()
        .map(|line| Ok(serde_json::from_str::<Value>(line)?["v"].as_u64().ok_or("no format")?))
        .collect::<Result<_, Box<dyn Error>>>()?;
    assert_eq!(formats, [2, 2, 1]);

    let found = rank(&bench, "autumn", &["sulfate side", "soft", "chloride side"])?;
    // The order entered last took the place of the first: one test, exact at one in six a taster.
    let tests = found["expected_order"].as_array().ok_or("no tests")?;
    assert_eq!(tests.len(), 1);
    assert_eq!(tests[0]["order"], serde_json::json!(["sulfate side", "soft", "chloride side"]));
    let p = tests[0]["p_exact"].as_f64().ok_or("not tested")?;
    assert!((p - 1.0 / 216.0).abs() < 1e-12, "{p}");
    let text = run(&bench, &["session", "results", "autumn", "--full"])?;
    assert!(
        text.contains("expected order sulfate side > soft > chloride side: Page's L"),
        "{text}"
    );
    let after = run(&bench, &["session", "progress", "autumn", "--entries"])?;
    assert!(after.contains("expected order for liking: soft > chloride side"), "{after}");
    Ok(())
}

#[test]
fn what_cannot_be_tested_is_refused_when_it_is_entered() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let two = ["--attribute", "body", "--attribute", "liking", "--warm-up", "hard"];
    plan(&bench, "scored", &two)?;
    let right = "soft > sulfate side > chloride side";
    for (order, why) in [
        (right.to_owned(), "begin with one of body, liking"),
        (format!("bodi: {right}"), "choose from body, liking"),
        ("body: soft > sulfate sid > chloride side".into(), "did you mean `sulfate side`?"),
        ("body: soft > sulfate side > lake".into(), "soft, sulfate side, chloride side"),
        ("body: soft > sulfate side".into(), "2 waters are named, and 3 are compared"),
        ("body: soft > sulfate side > soft".into(), "`soft` is named twice"),
        // The warm-up is tasted, and compared with nothing.
        ("body: soft > sulfate side > hard".into(), "`hard` is no water of this session"),
        ("body:".into(), "`` is no water of this session"),
    ] {
        let (done, text) = tried(&bench, &["session", "expect", "scored", &order], "")?;
        assert!(!done && text.contains(why), "{order}: {text}");
    }
    assert!(!bench.join("sessions/scored/scores.jsonl").exists());
    run(&bench, &["session", "expect", "scored", &format!("body: {right}")])?;

    // A note of the old kind would be read by tasters.
    let note = format!("foretold body: {right}");
    for (arguments, typed) in [
        (vec!["session", "note", "scored", note.as_str()], String::new()),
        (vec!["session", "note", "scored", "expected: soft > sulfate side"], String::new()),
        (vec!["session", "score", "scored"], format!("note {note}\nend\n")),
    ] {
        let (_, text) = tried(&bench, &arguments, &typed)?;
        assert!(text.contains("an expected order is no note"), "{text}");
    }
    assert_eq!(fs::read_to_string(bench.join("sessions/scored/scores.jsonl"))?.lines().count(), 1);

    // After the first answer, even one that was taken back, nothing is expected any more.
    let cup = read(&bench, "scored")?.0.trays[0].cups[0].to_string();
    run(&bench, &["session", "score", "scored", "ann", &cup, "body=5", "liking=5"])?;
    run(&bench, &["session", "score", "scored", "ann", "--undo"])?;
    let late = format!("liking: {right}");
    let (done, text) = tried(&bench, &["session", "expect", "scored", &late], "")?;
    assert!(!done && text.contains("only before the first answer"), "{text}");

    plan(&bench, "odd", &["--method", "triangle"])?;
    let (done, text) = tried(&bench, &["session", "expect", "odd", right], "")?;
    assert!(!done && text.contains("compares two waters at a time"), "{text}");
    Ok(())
}

/// A log of an earlier program holds expected orders as notes.
#[test]
fn notes_of_earlier_programs_are_counted_and_kept_until_the_reveal() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    plan(&bench, "old", &["--question", "best"])?;
    let note = r#"{"v":1,"n":1,"at":"2031-05-04T10:00:00Z","entry":{"note":{"taster":null,"text":"foretold: sulfate side > soft > chloride side"}}}"#;
    fs::write(bench.join("sessions/old/scores.jsonl"), format!("{note}\n"))?;
    names_no_water(&shown_before(&bench, "old")?);
    let found = rank(&bench, "old", &["sulfate side", "soft", "chloride side"])?;
    let p = found["expected_order"][0]["p_exact"].as_f64().ok_or("not tested")?;
    assert!((p - 1.0 / 216.0).abs() < 1e-12, "{p}");
    assert!(found["notes"][0]["text"].as_str().is_some_and(|text| text.contains("sulfate side")));
    Ok(())
}
