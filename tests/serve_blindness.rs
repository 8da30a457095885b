//! Nothing that a table answers before the reveal holds a water, a dose, or anything of another taster;
//! and it answers as well when neither the key nor the list of waters is there to be read.

use std::collections::BTreeSet;
use std::error::Error;
use std::fs;
use std::time::Duration;

use serde_json::Value;
use waterflight::bench::session_folder::SessionFolder;
use waterflight::session::plan::Plan;

use crate::common::starter_bench;
use crate::common::table::{SCORED, ServedTable, planned};

type Fallible = Result<(), Box<dyn Error>>;

/// Every response that anybody can have before the reveal, of all tasters and the host, each with the
/// name of whose it is.
fn responses(table: &ServedTable, plan: &Plan) -> Result<Vec<(String, String)>, Box<dyn Error>> {
    let mut all = Vec::new();
    for (n, taster) in plan.tasters.iter().enumerate() {
        let path = table.taster(n);
        let mut paths = vec![path.to_owned()];
        paths.extend(
            ["state", "results", "live", "links", "reveal"].map(|at| format!("{path}/{at}")),
        );
        for tray in &plan.trays {
            for cup in &tray.cups {
                paths.push(format!("{path}?at={}-{cup}", tray.number));
            }
            paths.push(format!("{path}?at={}", tray.number));
            paths.push(format!("{path}?at={}-turn&recorded=1", tray.number));
        }
        for path in paths {
            let reply = table.get(&path)?;
            all.push((taster.clone(), reply.head + &reply.body));
        }
        // What is refused, also of others' cups and trays.
        for tray in &plan.trays {
            for cup in &tray.cups {
                let at = format!("{}-{cup}", tray.number);
                for fields in [
                    &[("at", at.as_str()), ("seen", "0")][..],
                    &[("at", &at), ("seen", "0"), ("v0", "77"), ("v1", "5")],
                ] {
                    let answer = format!("{path}/answer");
                    all.push((taster.clone(), table.send(&answer, fields)?.body));
                    all.push((taster.clone(), table.submit(&answer, fields)?.body));
                }
            }
        }
    }
    let host = &table.host;
    for path in
        [host.clone(), format!("{host}/links"), format!("{host}/reveal"), format!("{host}/results")]
    {
        let reply = table.get(&path)?;
        all.push(("host".to_owned(), reply.head + &reply.body));
    }
    let live = table.listened(&format!("{host}/live"), Duration::from_millis(700))?;
    assert!(live.contains("event-stream") && live.contains("data:"), "{live}");
    all.push(("host".to_owned(), live));
    all.push(("host".to_owned(), table.submit(&format!("{host}/reveal"), &[])?.body));
    all.push((
        "host".to_owned(),
        table.submit(&format!("{host}/reveal"), &[("sure", "yes")])?.body,
    ));
    for path in
        ["/", "/a/table.css", "/a/taster.js", "/a/host.js", "/t/x", "/plan.json", "/../key.sealed"]
    {
        let reply = table.get(path)?;
        all.push(("anybody".to_owned(), reply.head + &reply.body));
    }
    Ok(all)
}

/// Every word that tells of the waters: their names, and all that the list of waters says of them.
fn secrets(bench: &std::path::Path) -> Result<BTreeSet<String>, Box<dyn Error>> {
    let waters: Value =
        serde_json::from_str(&fs::read_to_string(bench.join("sessions/evening/waters.json"))?)?;
    let mut words = BTreeSet::new();
    let mut stack = vec![&waters];
    while let Some(value) = stack.pop() {
        match value {
            Value::Object(map) => stack.extend(map.values()),
            Value::Array(list) => stack.extend(list),
            Value::String(text) => {
                words.insert(text.clone());
            }
            Value::Number(number) => {
                words.insert(number.to_string());
            }
            _ => {}
        }
    }
    // Short numbers and ions stand in any page; the day of the plan is no secret.
    let tells = |word: &String| word.len() > 3 && !word.starts_with("20");
    Ok(words
        .into_iter()
        .filter(tells)
        .chain(["soft", "middle", "hard"].map(str::to_owned))
        .collect())
}

#[test]
fn no_response_before_the_reveal_tells_of_waters_or_of_others() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let more = ["--code-each-cup", "--duplicates", "1", "--rounds", "2"];
    planned(&bench, "ann, bo, cyan", &[&SCORED[..], &more].concat())?;
    let plan = SessionFolder::open(&bench, "evening")?.plan;
    let secrets = secrets(&bench)?;
    assert!(secrets.contains("middle") && secrets.len() > 20, "{secrets:?}");
    // The list of waters and the key are gone: a table that reads neither misses neither.
    let folder = bench.join("sessions/evening");
    let (key, waters) = (folder.join("key.sealed"), folder.join("waters.json"));
    let kept = (fs::read(&key)?, fs::read(&waters)?);
    fs::remove_file(&key)?;
    fs::remove_file(&waters)?;
    let table = ServedTable::start(&bench)?;
    // Everybody gives a score and a note that nobody else could give.
    let mut own: Vec<(String, Vec<String>)> = Vec::new();
    for (n, taster) in plan.tasters.iter().enumerate() {
        let mut words = Vec::new();
        for tray in plan.trays_of(taster) {
            for (m, cup) in tray.cups.iter().enumerate() {
                words.push(cup.to_string());
                if m > 1 {
                    continue;
                }
                let (at, note) =
                    (format!("{}-{cup}", tray.number), format!("note-of-{taster}-{cup}"));
                let fields =
                    [("at", at.as_str()), ("seen", "0"), ("v0", "3"), ("v1", "5"), ("note", &note)];
                assert_eq!(
                    table.send(&format!("{}/answer", table.taster(n)), &fields)?.status,
                    200
                );
                words.push(note);
            }
        }
        own.push((taster.clone(), words));
    }
    let all = responses(&table, &plan)?;
    assert!(all.len() > 100);
    for (to, text) in &all {
        for secret in &secrets {
            assert!(!text.contains(secret.as_str()), "{to} is told `{secret}`: {text}");
        }
        for (taster, words) in own.iter().filter(|(taster, _)| taster != to) {
            for word in words {
                // A code of three digits may be part of a longer number.
                let tells = text.match_indices(word.as_str()).any(|(at, _)| {
                    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_alphanumeric());
                    let before = text.get(..at).and_then(|text| text.chars().last());
                    let behind = text.get(at + word.len()..).and_then(|text| text.chars().next());
                    !digit(before) && !digit(behind)
                });
                assert!(!tells, "{to} is told `{word}` of {taster}: {text}");
            }
        }
    }
    // With the key again the reveal works, and only then the names are told.
    fs::write(&key, kept.0)?;
    fs::write(&waters, kept.1)?;
    let sure = [("sure", "yes"), ("why", "enough")];
    assert_eq!(table.submit(&format!("{}/reveal", table.host), &sure)?.status, 303);
    assert!(table.get(&format!("{}/results", table.taster(0)))?.body.contains("middle"));
    Ok(())
}
