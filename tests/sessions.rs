//! A blind tasting from end to end on the starter bench: planned, poured, scored, revealed,
//! understood; and every refusal with its way out.

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::{run, tried};
use crate::common::{key_text, starter_bench};
use serde_json::Value;
use waterflight::session::plan::key::in_groups;
use waterflight::session::plan::{Key, Plan};

type Fallible = Result<(), Box<dyn Error>>;

const PLAN: &[&str] = &[
    "session",
    "plan",
    "--name",
    "autumn",
    "--tasters",
    "ann, bo, cy",
    "--rounds",
    "2",
    "--water",
    "soft",
    "--water",
    "hard",
    "--water",
    "middle",
    "--attribute",
    "body, 0 to 10 by 0.5, thin to heavy",
    "--attribute",
    "liking, 1 to 9",
    "--seed",
    "a seed for tests",
];

fn planned(bench: &Path) -> Result<(Plan, Key), Box<dyn Error>> {
    run(bench, PLAN)?;
    let folder = bench.join("sessions/autumn");
    let plan = Plan::from_text(&fs::read_to_string(folder.join("plan.json"))?)?;
    let key = Key::from_text(&key_text(bench, "autumn")?)?;
    Ok((plan, key))
}

/// Simulated scores: hard water has five points more body than soft, and a little scatter.
fn csv(plan: &Plan, key: &Key) -> Result<String, Box<dyn Error>> {
    let mut text = "taster,code,body,liking,note\n".to_owned();
    for (n, tray) in plan.trays.iter().enumerate() {
        for (m, code) in tray.cups.iter().enumerate() {
            let cup = key.cup(*code).ok_or("a code without a cup")?;
            let body = match cup.water.as_str() {
                "soft" => 2.0,
                "hard" => 7.0,
                _ => 4.5,
            } + match (n + m) % 3 {
                0 => 0.0,
                1 => 0.5,
                _ => -0.5,
            };
            text.push_str(&format!("{},{code},{body},{},\n", tray.taster, 4 + (n + 2 * m) % 3));
        }
    }
    Ok(text)
}

#[test]
fn a_session_from_plan_to_journal() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let (plan, key) = planned(&bench)?;
    let public = fs::read_to_string(bench.join("sessions/autumn/plan.json"))?;
    for secret in ["soft", "middle", key.seed.as_str(), key.nonce.as_str()] {
        assert!(!public.contains(secret), "the plan tells {secret}");
    }
    for reader in ["server", "taster"] {
        let sheet = run(&bench, &["session", "sheet", "autumn", "--for", reader])?;
        assert!(
            sheet.contains(&in_groups(&plan.seal))
                && !sheet.contains("soft")
                && !sheet.contains("middle")
        );
    }
    run(&bench, &["weighed", "magchlor", "--salt", "0.01 g", "--total", "0.25 g"])?;
    let sheet = run(&bench, &["session", "sheet", "autumn", "--for", "pourer", "--full"])?;
    assert!(
        sheet.contains("soft") && sheet.contains("Shopping list") && sheet.contains("hill spring")
    );

    assert!(sheet.contains("SHORT"), "the bottle cannot serve the session:\n{sheet}");

    let file = bench.join("scores.csv");
    let text = csv(&plan, &key)?;
    // Half of the file first, then all of it: what is there already stays as it is.
    let half: Vec<&str> = text.lines().take(10).collect();
    fs::write(&file, half.join("\n"))?;
    let path = file.display().to_string();
    run(&bench, &["session", "score", "autumn", "--csv", &path])?;
    let (done, _, errors) = tried(&bench, &["session", "reveal", "autumn"])?;
    assert!(!done && errors.contains("9 answers are still missing") && errors.contains("--force"));
    fs::write(&file, text)?;
    let said = run(&bench, &["session", "score", "autumn", "--csv", &path])?;
    assert!(said.contains("9 entries are on disk") && said.contains("9 rows were there already"));
    let (done, _, errors) = tried(&bench, &["session", "results", "autumn", "--full"])?;
    assert!(!done && errors.contains("not revealed"));

    let revealed: Value =
        serde_json::from_str(&run(&bench, &["session", "reveal", "autumn", "--json"])?)?;
    assert_eq!(revealed.pointer("/drawn_again"), Some(&Value::Bool(true)));
    let results: Value =
        serde_json::from_str(&run(&bench, &["session", "results", "autumn", "--json"])?)?;
    assert_eq!(results.pointer("/standings/0/water"), Some(&"hard".into()));
    assert_eq!(results.pointer("/verdicts/0/cannot_tell"), Some(&Value::Bool(false)));
    let text = run(&bench, &["session", "results", "autumn", "--full"])?;
    // Each water got the same two scores of everyone, so that nothing is left to judge by.
    assert!(text.contains("liking: nothing can be tested"), "nobody liked one better:\n{text}");

    // Late scores are kept and left out.
    let late = plan.trays.first().and_then(|t| t.cups.first()).ok_or("no cup")?.to_string();
    let score = ["session", "score", "autumn", "ann", &late, "body=0"];
    let (done, _, errors) = tried(&bench, &score)?;
    assert!(!done && errors.contains("closed"));
    run(&bench, &[&score[..], &["--late"]].concat())?;
    let after: Value =
        serde_json::from_str(&run(&bench, &["session", "results", "autumn", "--json"])?)?;
    assert_eq!(after.pointer("/late"), Some(&1.into()));
    assert_eq!(after.pointer("/standings"), results.pointer("/standings"));

    let journal = run(&bench, &["journal", "--full"])?;
    assert!(journal.contains("never tasted: ") && journal.contains("sulfate side"));
    let rows = run(&bench, &["journal", "--csv"])?;
    // Two attributes of eighteen cups, and the late score, marked.
    assert_eq!(rows.lines().count(), 1 + 2 * 18 + 1);
    assert!(
        rows.lines().next().is_some_and(|h| h.contains("Mg_mg_per_l") && h.contains("ml_per_l"))
    );
    Ok(())
}

#[test]
fn the_same_seed_draws_the_same_session_and_a_changed_key_is_refused() -> Fallible {
    let (_one, first) = starter_bench()?;
    let (_two, second) = starter_bench()?;
    let (plan, _) = planned(&first)?;
    assert_eq!(planned(&second)?.0, plan);
    let (done, _, errors) = tried(&first, PLAN)?;
    assert!(!done && errors.contains("exists already"));
    let file = first.join("sessions/autumn/key.sealed");
    // As plain text, as keys of earlier days are.
    let changed = key_text(&first, "autumn")?.replacen("\"hard\"", "\"soft\"", 1);
    fs::write(&file, changed)?;
    let (done, _, errors) = tried(&first, &["session", "reveal", "autumn", "--force", "a test"])?;
    // With answers owed and a reason given, only the key stands in the way.
    assert!(!done && errors.contains("not the one that was sealed"), "{errors}");
    Ok(())
}

#[test]
fn wrong_entries_are_refused_with_the_way_out() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let (plan, _) = planned(&bench)?;
    let codes: Vec<String> =
        plan.trays.first().ok_or("no tray")?.cups.iter().map(ToString::to_string).collect();
    let cup = codes.first().ok_or("no cup")?.as_str();
    let unknown = ["918", "927", "436"]
        .into_iter()
        .find(|c| !plan.trays.iter().flat_map(|t| &t.cups).any(|k| k.to_string() == *c))
        .ok_or("all codes are taken")?;
    run(&bench, &["session", "score", "autumn", "ann", cup, "body=4", "liking=6"])?;
    let log = bench.join("sessions/autumn/scores.jsonl");
    let before = fs::read(&log)?;
    for (entry, wrong, way) in [
        (vec!["ann", unknown, "body=4"], "has the code", "read the code"),
        (vec!["bo", cup, "body=40"], "off the scale of 0 to 10", "from 0 to 10"),
        (vec!["bo", cup, "body=4.2"], "between two steps", "round it"),
        (vec!["anne", cup, "body=4"], "no taster of this session", "did you mean `ann`?"),
        (vec!["ann", cup, "body=5"], "entered before, in line 1", "correct line 1"),
        (vec!["bo", cup, "bdy=5"], "no attribute", "choose from body"),
        (vec!["bo", "12", "body=5"], "is no code", "three different digits"),
    ] {
        let (done, _, errors) =
            tried(&bench, &[&["session", "score", "autumn"], entry.as_slice()].concat())?;
        assert!(!done && errors.contains(wrong) && errors.contains(way), "{errors}");
        assert_eq!(fs::read(&log)?, before);
    }
    run(&bench, &["session", "score", "autumn", "ann", cup, "body=5", "--correct", "1"])?;
    run(&bench, &["session", "score", "autumn", "--undo"])?;
    assert!(fs::read(&log)?.starts_with(&before), "older lines are kept");
    let (done, _, errors) = tried(&bench, &["session", "progress", "autum"])?;
    assert!(!done && errors.contains("did you mean `autumn`?"));
    Ok(())
}

#[test]
fn every_method_and_procedure_can_be_planned_and_printed() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for (n, more) in [
        vec!["--method", "triangle", "--pair", "soft", "hard"],
        vec!["--method", "duo-trio", "--pair", "soft", "hard", "--double-blind"],
        vec!["--method", "tetrad", "--pair", "soft", "hard"],
        vec!["--method", "paired", "--criterion", "body", "--pair", "soft", "hard"],
        vec!["--question", "best", "--per-tray", "4"],
        vec![
            "--duplicates",
            "1",
            "--reference",
            "soft",
            "--warm-up",
            "soft",
            "--breaks-after",
            "6",
        ],
        vec!["--brew", "coffee: 15 g on 250 mL at 94 °C gives 220 mL"],
    ]
    .iter()
    .enumerate()
    {
        let name = format!("plan {n}");
        let plan = ["session", "plan", "--name", &name, "--tasters", "ann,bo,cy,di", "--json"];
        let said: Value = serde_json::from_str(&run(&bench, &[&plan[..], more].concat())?)?;
        assert!(said.pointer("/can_find/0").is_some());
        for reader in ["pourer", "server", "taster"] {
            let sheet = ["session", "sheet", &name, "--for", reader];
            run(&bench, &sheet)?;
            run(&bench, &[&sheet[..], &["--json"]].concat())?;
        }
    }
    let alone = ["session", "plan", "--name", "me", "--tasters", "ann", "--rounds", "3", "--alone"];
    run(&bench, &alone)?;
    let sheet = run(&bench, &["session", "sheet", "me", "--for", "pourer"])?;
    assert!(sheet.contains("Shuffle the cups of each tray out of sight"));
    // One who tastes what he pours is not told to keep the sheet from tasters.
    assert!(!sheet.contains("keep it from tasters") && sheet.contains("face down"), "{sheet}");
    Ok(())
}
