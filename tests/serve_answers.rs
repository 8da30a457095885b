//! Answers from phones without a browser: every method by plain forms, nothing twice, nothing lost,
//! beside the terminal and tables, over kills, until the reveal.
//!
//! Above 400 lines: every method of answering, through one served session.

use std::collections::BTreeMap;
use std::error::Error;
use std::fs;
use std::path::Path;
use std::thread;

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use serde_json::Value;
use waterflight::bench::session_folder::SessionFolder;
use waterflight::session::plan::{Code, Key, Method, Plan};
use waterflight::session::score::{Answer, Entry, ScoreLog};

use crate::common::answers::{run, tried};
use crate::common::table::{Reply, SCORED, ServedTable, own, planned};
use crate::common::{key_text, starter_bench};

type Fallible = Result<(), Box<dyn Error>>;
type Fields = Vec<(String, String)>;

fn log(bench: &Path) -> Result<ScoreLog, Box<dyn Error>> {
    Ok(SessionFolder::open(bench, "evening")?.score_log()?)
}

fn plan(bench: &Path) -> Result<Plan, Box<dyn Error>> {
    Ok(SessionFolder::open(bench, "evening")?.plan)
}

/// The value of a hidden field of a page.
fn hidden<'a>(page: &'a str, name: &str) -> Option<&'a str> {
    let (_, rest) = page.split_once(&format!("type=\"hidden\" name=\"{name}\" value=\""))?;
    rest.split('"').next()
}

fn answer_path(table: &ServedTable, n: usize) -> String {
    format!("{}/answer", table.taster(n))
}

fn sent(
    table: &ServedTable,
    taster: usize,
    fields: &[(&str, &str)],
) -> Result<Reply, Box<dyn Error>> {
    table.send(&answer_path(table, taster), fields)
}

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value.get(key).and_then(Value::as_str).unwrap_or_default()
}

/// What a taster taps on the form shown; `key` tells the stickers of a tasting alone.
fn tapped(plan: &Plan, at: &str, key: Option<&Key>) -> Fields {
    let number: usize = at.split('-').next().and_then(|n| n.parse().ok()).unwrap_or(0);
    let cups: Vec<Code> = plan
        .trays
        .iter()
        .find(|tray| tray.number == number)
        .map(|tray| tray.cups.clone())
        .unwrap_or_default();
    let field = |name: String, value: String| (name, value);
    if at.ends_with("turn") {
        let stickers = key.into_iter().flat_map(|key| &key.cups);
        let of_tray = stickers.filter(|cup| cup.tray == Some(number));
        return of_tray
            .enumerate()
            .map(|(n, cup)| field(format!("u{n}"), cup.code.to_string()))
            .collect();
    }
    match &plan.method {
        Method::Scoring { attributes } => (0..attributes.len())
            .flat_map(|n| [field(format!("v{n}"), "3".to_owned())])
            .chain([field("h0".to_owned(), "0.5".to_owned())])
            .collect(),
        Method::Ranking { .. } => {
            (0..cups.len()).map(|n| field(format!("p{n}"), (cups.len() - n).to_string())).collect()
        }
        Method::Tetrad => [1, 3].map(|n: usize| field("c".to_owned(), n.to_string())).to_vec(),
        _ => vec![field("c".to_owned(), "1".to_owned())],
    }
}

/// Fills in every form that the page shows, one after the other, until it shows none that is open.
fn fill_in_all(table: &ServedTable, taster: usize, plan: &Plan, key: Option<&Key>) -> Fallible {
    let mut path = table.taster(taster).to_owned();
    for _ in 0..100 {
        let page = table.get(&path)?;
        assert_eq!(page.status, 200);
        if page.body.contains("id=\"all-done\">") {
            return Ok(());
        }
        assert!(!page.body.contains(" checked"), "something is chosen before anyone has tapped");
        let at = hidden(&page.body, "at").ok_or("no form")?.to_owned();
        let seen = hidden(&page.body, "seen").ok_or("no form")?.to_owned();
        let mut fields = tapped(plan, &at, key);
        for (name, _) in &fields {
            assert!(page.body.contains(&format!("name=\"{name}\"")), "{at} has no field {name}");
        }
        fields.extend([("at".to_owned(), at), ("seen".to_owned(), seen)]);
        fields.push(("note".to_owned(), "as <b>tapped</b>".to_owned()));
        let fields: Vec<(&str, &str)> =
            fields.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
        let reply = table.submit(&answer_path(table, taster), &fields)?;
        assert_eq!(reply.status, 303, "{}", reply.body);
        reply.field("location").ok_or("no way on")?.clone_into(&mut path);
        let next = table.get(&path)?.body;
        assert!(next.contains("is on disk, line "), "the line is not said");
        assert!(!next.contains("<b>tapped"), "a note is not escaped");
    }
    Err("it never ends".into())
}

/// Plans, serves, answers everything by plain forms, reveals by the host's page, and reads the results.
fn whole_session(more: &[&str]) -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let alone = more.contains(&"--alone");
    planned(&bench, if alone { "ann" } else { "ann, bo" }, more)?;
    let plan = plan(&bench)?;
    let key = Key::from_text(&key_text(&bench, "evening")?)?;
    let table = ServedTable::start(&bench)?;
    for taster in 0..plan.tasters.len() {
        fill_in_all(&table, taster, &plan, Some(&key))?;
    }
    assert_eq!(log(&bench)?.missing_answers(), 0, "{more:?}");
    let before = table.get(&format!("{}/results", table.taster(0)))?;
    assert_eq!(before.status, 303, "results before the reveal");
    let reveal = format!("{}/reveal", table.host);
    assert_eq!(table.submit(&reveal, &[])?.status, 422, "not asked twice");
    assert!(log(&bench)?.revealed_in().is_none());
    assert_eq!(table.submit(&reveal, &[("sure", "yes")])?.status, 303);
    assert!(log(&bench)?.revealed_in().is_some());
    for path in [table.host.as_str(), table.taster(0)] {
        let page = table.get(path)?.body;
        assert!(page.contains(&format!("{path}/results")), "no way to the results");
        let results = table.get(&format!("{path}/results"))?;
        assert_eq!(results.status, 200, "{}", results.body);
        assert!(results.body.contains("Results of evening") && results.body.contains("middle"));
    }
    Ok(())
}

#[test]
fn scoring_and_ranking_go_by_plain_forms() -> Fallible {
    whole_session(&["--attribute", "body", "--attribute", "liking", "--rounds", "2"])?;
    whole_session(&["--method", "ranking"])
}

#[test]
fn choices_go_by_plain_forms() -> Fallible {
    for method in ["triangle", "duo-trio", "paired", "tetrad"] {
        whole_session(&["--method", method, "--pair", "soft", "middle"])
            .map_err(|error| format!("{method}: {error}"))?;
    }
    Ok(())
}

#[test]
fn a_tasting_alone_goes_by_plain_forms() -> Fallible {
    whole_session(&["--alone", "--attribute", "body"])?;
    whole_session(&["--alone", "--method", "ranking"])
}

#[test]
fn what_is_pressed_twice_is_one_line() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann, bo, cy", &SCORED)?;
    let plan = plan(&bench)?;
    let table = ServedTable::start(&bench)?;
    let cups = own(&plan, "ann");
    let (at, _) = cups.first().ok_or("no cup")?;
    let fields = [("at", at.as_str()), ("seen", "0"), ("v0", "6"), ("h0", "0.5"), ("v1", "7")];
    let lines = thread::scope(|scope| {
        let press = || {
            scope.spawn(|| {
                sent(&table, 0, &fields).and_then(|r| r.data()).map_err(|e| e.to_string())
            })
        };
        let all: Vec<_> = (0..12).map(|_| press()).collect();
        all.into_iter()
            .map(|one| one.join().map_err(|_| "a press failed".to_owned())?)
            .collect::<Result<Vec<Value>, _>>()
    })?;
    for reply in &lines {
        assert_eq!(
            (text(reply, "state"), reply.get("line")),
            ("on_disk", Some(&Value::from(1))),
            "{reply}"
        );
    }
    // The same by a page without script: it leads on, and nothing is written.
    assert_eq!(table.submit(&answer_path(&table, 0), &fields)?.status, 303);
    let log = log(&bench)?;
    assert_eq!(log.lines().len(), 1);
    let first = log.line(1).map(|recorded| &recorded.line.entry);
    assert!(
        matches!(first, Some(Entry::Answer(Answer::Scores { values, .. })) if values.get("body") == Some(&6.5))
    );
    Ok(())
}

#[test]
fn a_stale_repeat_never_writes_over_a_correction() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann, bo, cy", &SCORED)?;
    let table = ServedTable::start(&bench)?;
    let cups = own(&plan(&bench)?, "ann");
    let (at, code) = cups.first().ok_or("no cup")?;
    let first = [("at", at.as_str()), ("seen", "0"), ("v0", "6"), ("v1", "7")];
    let second =
        [("at", at.as_str()), ("seen", "1"), ("v0", "4"), ("v1", "7"), ("note", "thinner")];
    assert_eq!(sent(&table, 0, &first)?.status, 200);
    assert_eq!(sent(&table, 0, &second)?.data()?.get("line"), Some(&Value::from(2)));
    // The first arrives once more, late, also after the program was ended in between.
    for _ in 0..2 {
        let late = sent(&table, 0, &first)?;
        let reply = late.data()?;
        assert_eq!((late.status, text(&reply, "state")), (200, "on_disk"), "{reply}");
        assert_eq!(reply.get("line"), Some(&Value::from(1)));
        assert!(text(&reply, "words").contains("changed since, in line 2"), "{reply}");
    }
    table.kill()?;
    let table = ServedTable::start(&bench)?;
    assert_eq!(sent(&table, 0, &first)?.status, 200);
    assert_eq!(log(&bench)?.lines().len(), 2);
    // Taken back at the terminal: a repeat does not bring it to life again.
    run(&bench, &["session", "score", "evening", "ann", "--undo"])?;
    run(&bench, &["session", "score", "evening", "ann", "--undo"])?;
    assert_eq!(sent(&table, 0, &first)?.status, 200);
    assert_eq!(sent(&table, 0, &second)?.status, 200);
    let log = log(&bench)?;
    assert_eq!(log.lines().len(), 4);
    // Nor does an address that names a line: neither one taken back nor one that nobody wrote.
    for line in ["1", "2", "999"] {
        let page = table.get(&format!("{}?at={at}&recorded={line}", table.taster(0)))?.body;
        assert!(!page.contains(&format!("on disk, line {line}")), "{line}");
    }
    let other = [("at", at.as_str()), ("seen", "2"), ("v0", "5"), ("v1", "5")];
    let refused = sent(&table, 0, &other)?.data()?;
    assert!(text(&refused, "words").contains("taken back meanwhile"), "{refused}");
    assert!(log.scores_of(0, *code).is_none_or(BTreeMap::is_empty));
    // Whoever has seen that can enter it again.
    let seen = [("at", at.as_str()), ("seen", "4"), ("v0", "6"), ("v1", "7")];
    assert_eq!(sent(&table, 0, &seen)?.data()?.get("line"), Some(&Value::from(5)));
    Ok(())
}

/// A phone, the terminal and a table write side by side; what one has not seen it does not write over.
#[test]
fn terminal_table_and_phones_write_side_by_side() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann, bo, cy", &SCORED)?;
    let plan = plan(&bench)?;
    let table = ServedTable::start(&bench)?;
    let cups = own(&plan, "ann");
    let [(one, first), (two, second), ..] = cups.as_slice() else { return Err("cups".into()) };
    // The terminal enters a cup while the phone holds another opinion of it.
    run(&bench, &["session", "score", "evening", "ann", &first.to_string(), "5", "5"])?;
    let fields = [("at", one.as_str()), ("seen", "0"), ("v0", "8"), ("v1", "8")];
    let refused = sent(&table, 0, &fields)?;
    let reply = refused.data()?;
    assert_eq!((refused.status, text(&reply, "state")), (409, "refused"), "{reply}");
    assert!(text(&reply, "words").contains("line 1"), "{reply}");
    // A page without script comes back with what was sent and what it is now sent against.
    let page = table.submit(&answer_path(&table, 0), &fields)?;
    assert_eq!((page.status, hidden(&page.body, "seen")), (409, Some("1")));
    assert!(page.body.contains("value=\"8\" checked"), "what was sent is lost");
    // Having seen it, the taster sends again, and that is a correction.
    let fields = [("at", one.as_str()), ("seen", "1"), ("v0", "8"), ("v1", "8")];
    assert_eq!(sent(&table, 0, &fields)?.data()?.get("line"), Some(&Value::from(2)));
    let correction = &log(&bench)?.line(2).ok_or("no line")?.line.entry.clone();
    assert!(matches!(correction, Entry::Correction { of: 1, .. }), "{correction:?}");
    // Half of a cup at the terminal, the whole of it from the phone: the half stands.
    run(&bench, &["session", "score", "evening", "ann", &second.to_string(), "body=3"])?;
    let page = table.get(&format!("{}?at={two}", table.taster(0)))?.body;
    assert_eq!(hidden(&page, "seen"), Some("3"));
    let fields = [("at", two.as_str()), ("seen", "3"), ("v0", "3"), ("v1", "9")];
    assert_eq!(sent(&table, 0, &fields)?.status, 200);
    let entry = log(&bench)?.line(4).ok_or("no line")?.line.entry.clone();
    assert!(
        matches!(&entry, Entry::Answer(Answer::Scores { values, .. }) if values.len() == 1),
        "{entry:?}"
    );
    // A table enters all of bo's; the phone of bo has the same already and nothing is written.
    let mut csv = "taster,code,body,liking,note\n".to_owned();
    for (_, code) in own(&plan, "bo") {
        csv += &format!("bo,{code},2,3,\n");
    }
    fs::write(bench.join("bo.csv"), csv)?;
    run(&bench, &["session", "score", "evening", "--csv", "bo.csv"])?;
    let lines = log(&bench)?.lines().len();
    for (at, _) in own(&plan, "bo") {
        let fields = [("at", at.as_str()), ("seen", "0"), ("v0", "2"), ("v1", "3")];
        assert_eq!(sent(&table, 1, &fields)?.status, 200);
    }
    assert_eq!(log(&bench)?.lines().len(), lines);
    let state = table.get(&format!("{}/state", table.taster(1)))?.data()?;
    let open = state.get("places").and_then(Value::as_array).into_iter().flatten();
    assert!(
        open.into_iter().all(|place| place.get("open") == Some(&Value::from(false))),
        "{state}"
    );
    Ok(())
}

#[test]
fn what_cannot_be_is_refused_with_the_reason() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann, zoe, cy", &[&SCORED[..], &["--code-each-cup"]].concat())?;
    let plan = plan(&bench)?;
    let table = ServedTable::start(&bench)?;
    let cups = own(&plan, "ann");
    let (at, _) = cups.first().ok_or("no cup")?;
    let long = "x".repeat(501);
    let other = own(&plan, "zoe").first().map(|(at, _)| at.clone()).unwrap_or_default();
    let cases: [(&[(&str, &str)], &str); 7] = [
        (&[("at", at), ("seen", "0"), ("v0", "6")], "liking has no score yet"),
        (&[("at", at), ("seen", "0"), ("v0", "10"), ("h0", "0.5"), ("v1", "7")], "off the scale"),
        (&[("at", at), ("seen", "0"), ("v0", "NaN"), ("v1", "7")], "no score for body"),
        (&[("at", at), ("seen", "0"), ("v0", "6"), ("v1", "7.25")], "between two steps"),
        (&[("at", at), ("seen", "0"), ("v0", "6"), ("v1", "7"), ("note", &long)], "longer than"),
        (&[("at", &other), ("seen", "0"), ("v0", "6"), ("v1", "7")], "no cup of yours"),
        (&[("at", at), ("v0", "6"), ("v1", "7")], "no cup of yours"),
    ];
    for (fields, reason) in cases {
        let reply = sent(&table, 0, fields)?;
        assert!(reply.status == 422 || reply.status == 409, "{reason}: {}", reply.status);
        let data = reply.data()?;
        assert_eq!(text(&data, "state"), "refused");
        assert!(text(&data, "words").contains(reason), "{reason}: {data}");
        assert!(!reply.body.contains("zoe"), "another taster is named: {}", reply.body);
        let page = table.submit(&answer_path(&table, 0), fields)?;
        assert!(page.body.contains("Refused: ") && page.body.contains(reason), "{reason}");
    }
    assert!(log(&bench)?.lines().is_empty());
    Ok(())
}

/// A disk that takes nothing: it is said that the answer waits, never that it is on disk, and the same
/// answer sent again is taken.
#[test]
fn nothing_is_on_disk_before_the_disk_has_it() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann, bo, cy", &SCORED)?;
    let table = ServedTable::start(&bench)?;
    let cups = own(&plan(&bench)?, "ann");
    let (at, _) = cups.first().ok_or("no cup")?;
    let fields = [("at", at.as_str()), ("seen", "0"), ("v0", "6"), ("v1", "7")];
    let log_file = bench.join("sessions/evening/scores.jsonl");
    fs::create_dir(&log_file)?;
    let reply = sent(&table, 0, &fields)?;
    assert_eq!((reply.status, text(&reply.data()?, "state")), (503, "waiting"));
    assert!(!table.submit(&answer_path(&table, 0), &fields)?.body.contains("n disk, line"));
    assert!(!table.get(table.taster(0))?.body.contains("n disk, line"));
    fs::remove_dir(&log_file)?;
    assert_eq!(sent(&table, 0, &fields)?.data()?.get("line"), Some(&Value::from(1)));
    assert_eq!(log(&bench)?.lines().len(), 1);
    Ok(())
}

#[test]
fn a_lost_phone_gets_a_new_link_and_nothing_is_lost() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann, bo, cy", &SCORED)?;
    let table = ServedTable::start(&bench)?;
    let cups = own(&plan(&bench)?, "bo");
    let (at, _) = cups.first().ok_or("no cup")?;
    let fields = [("at", at.as_str()), ("seen", "0"), ("v0", "6"), ("v1", "7")];
    assert_eq!(sent(&table, 1, &fields)?.status, 200);
    let links = format!("{}/links", table.host);
    assert!(table.get(&links)?.body.contains(table.taster(1)));
    assert_eq!(table.submit(&format!("{}/link", table.host), &[("taster", "1")])?.status, 303);
    assert_eq!(table.get(table.taster(1))?.status, 404, "the lost link still opens");
    assert_eq!(table.get(table.taster(0))?.status, 200, "another link was lost with it");
    table.kill()?;
    let again = ServedTable::start(&bench)?;
    let page = again.get(&format!("{}?at={at}", again.taster(1)))?;
    assert_eq!(page.status, 200);
    assert!(page.body.contains("on disk, line 1") && page.body.contains("value=\"6\" checked"));
    Ok(())
}

#[test]
fn a_break_is_called_and_kept() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann, bo, cy", &SCORED)?;
    let table = ServedTable::start(&bench)?;
    let called = |table: &ServedTable| -> Result<bool, Box<dyn Error>> {
        Ok(table.get(table.taster(0))?.body.contains("id=\"break\">"))
    };
    assert!(!called(&table)?);
    let path = format!("{}/break", table.host);
    assert_eq!(table.submit(&path, &[("on", "yes")])?.status, 303);
    assert!(called(&table)?);
    table.kill()?;
    let table = ServedTable::start(&bench)?;
    assert!(called(&table)?, "the break was forgotten");
    assert_eq!(table.submit(&format!("{}/break", table.host), &[("on", "no")])?.status, 303);
    assert!(!called(&table)?);
    Ok(())
}

/// Phones send over and over while the program is killed twenty times; whatever was confirmed is in the
/// log, in the line that was named, once.
#[test]
fn a_server_killed_twenty_times_loses_and_doubles_nothing() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann, bo, cy", &[&SCORED[..], &["--rounds", "4"]].concat())?;
    let plan = plan(&bench)?;
    let mut random = StdRng::seed_from_u64(7);
    let mut confirmed: BTreeMap<(usize, String), u64> = BTreeMap::new();
    let mut links = Vec::new();
    for round in 0..20 {
        let mut table = ServedTable::start(&bench)?;
        links.push((table.host.clone(), table.tasters.clone(), table.at.clone()));
        let killed_after = random.random_range(0..30);
        let said = thread::scope(|scope| {
            let phones: Vec<_> = (0..3)
                .map(|taster| {
                    let (table, plan) = (&table, &plan);
                    scope.spawn(move || {
                        let mut said = Vec::new();
                        let name = plan.tasters.get(taster).map_or("", String::as_str);
                        for (n, (at, _)) in own(plan, name).into_iter().enumerate() {
                            let body = (n % 10).to_string();
                            let fields =
                                [("at", at.as_str()), ("seen", "0"), ("v0", &body), ("v1", "5")];
                            let Ok(reply) = sent(table, taster, &fields) else { break };
                            let Ok(data) = reply.data() else { break };
                            let line = data.get("line").and_then(Value::as_u64);
                            if let Some(line) = line.filter(|_| text(&data, "state") == "on_disk") {
                                said.push(((taster, at), line));
                            }
                        }
                        said
                    })
                })
                .collect();
            thread::sleep(std::time::Duration::from_millis(killed_after));
            let kill = std::process::Command::new("kill")
                .args(["-KILL", &table.program.id().to_string()])
                .status();
            let said: Vec<_> =
                phones.into_iter().flat_map(|p| p.join().unwrap_or_default()).collect();
            (kill, said)
        });
        let (kill, said) = said;
        assert!(kill?.success());
        table.program.wait()?;
        for (what, line) in said {
            let before = confirmed.insert(what.clone(), line);
            assert!(
                before.is_none_or(|before| before == line),
                "{what:?} has two lines, round {round}"
            );
        }
    }
    assert!(links.windows(2).all(|pair| matches!(pair, [a, b] if a == b)), "a link has changed");
    let log = log(&bench)?;
    assert!(!confirmed.is_empty() && log.lines().len() >= confirmed.len());
    for ((taster, at), line) in &confirmed {
        let entry = &log.line(*line).ok_or("a confirmed line is lost")?.line.entry;
        let Entry::Answer(Answer::Scores { taster: by, code, .. }) = entry else {
            return Err("entry".into());
        };
        assert!(plan.tasters.get(*taster) == Some(by) && at.ends_with(&code.to_string()));
    }
    let mut cups: Vec<&Entry> = log.lines().iter().map(|recorded| &recorded.line.entry).collect();
    let all = cups.len();
    cups.dedup();
    assert!(all == cups.len() && all <= 36, "a cup has two lines");
    Ok(())
}

#[test]
fn after_the_reveal_an_unsent_cup_is_refused_and_kept_out() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann, bo, cy", &SCORED)?;
    let plan = plan(&bench)?;
    let table = ServedTable::start(&bench)?;
    for taster in 0..2 {
        fill_in_all(&table, taster, &plan, None)?;
    }
    // The phone of cy says that something waits on it, and the host sees that before the reveal.
    assert_eq!(table.get(&format!("{}/state?drafts=1&waiting=2", table.taster(2)))?.status, 200);
    let reveal = format!("{}/reveal", table.host);
    let page = table.get(&reveal)?.body;
    assert!(page.contains("3 answers are missing"), "{page}");
    assert!(page.contains("2 answers not sent yet; 1 answer half typed"), "{page}");
    let refused = table.submit(&reveal, &[("sure", "yes")])?;
    assert!(refused.status == 409 && refused.body.contains("still missing"), "{}", refused.body);
    assert_eq!(table.submit(&reveal, &[("sure", "yes"), ("why", "cy had to go")])?.status, 303);
    let lines = log(&bench)?.lines().len();
    let cups = own(&plan, "cy");
    let (at, _) = cups.first().ok_or("no cup")?;
    let fields = [("at", at.as_str()), ("seen", "0"), ("v0", "6"), ("v1", "7")];
    let late = sent(&table, 2, &fields)?;
    let words = late.data()?;
    assert_eq!((late.status, text(&words, "state")), (409, "refused"));
    assert!(text(&words, "words").contains("too late"), "{words}");
    // What was on disk before is still confirmed to a phone that asks again.
    let cups = own(&plan, "ann");
    let (at, _) = cups.first().ok_or("no cup")?;
    let again = [
        ("at", at.as_str()),
        ("seen", "0"),
        ("v0", "3"),
        ("h0", "0.5"),
        ("v1", "3"),
        ("note", "as <b>tapped</b>"),
    ];
    assert_eq!(text(&sent(&table, 0, &again)?.data()?, "state"), "on_disk");
    assert_eq!(log(&bench)?.lines().len(), lines);
    Ok(())
}

#[test]
fn a_port_in_use_and_a_wrong_address_are_said() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann, bo, cy", &SCORED)?;
    let table = ServedTable::start(&bench)?;
    let (done, _, error) = tried(&bench, &["serve", "evening"])?;
    assert!(!done && error.contains("is in use") && error.contains("--port"), "{error}");
    for (on, why) in
        [("0.0.0.0", "every address"), ("nowhere", "no address"), ("192.0.2.7", "cannot be opened")]
    {
        let (done, _, error) = tried(&bench, &["serve", "evening", "--on", on])?;
        assert!(!done && error.contains(why), "{on}: {error}");
    }
    let (done, _, error) = tried(&bench, &["serve", "evenin"])?;
    assert!(!done && error.contains("did you mean `evening`"), "{error}");
    drop(table);
    Ok(())
}
