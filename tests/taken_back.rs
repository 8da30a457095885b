//! Every record has a number, can be taken back or replaced, and stays in the history.
#![expect(
    clippy::indexing_slicing,
    reason = "a key that an answer lacks is null, and fails its test"
)]

use std::error::Error;
use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::common::answers::{done, said};
use crate::common::starter_bench;

type Fallible = Result<(), Box<dyn Error>>;

fn strength(bench: &Path, stock: &str) -> Result<f64, Box<dyn Error>> {
    let all: Value = serde_json::from_str(&done(bench, &["stock", "--json"])?)?;
    let stocks = all.as_array().ok_or("no list")?;
    let one = stocks.iter().find(|s| s["name"] == stock).ok_or("no such stock")?;
    one["g_per_kg"].as_f64().ok_or_else(|| "no number".into())
}

fn left_ml(bench: &Path, stock: &str) -> Result<f64, Box<dyn Error>> {
    let all: Value = serde_json::from_str(&done(bench, &["stocktake", "--json"])?)?;
    let bottles = all["bottles"].as_array().ok_or("no bottles")?;
    let one = bottles.iter().find(|b| b["stock"] == stock).ok_or("no such stock")?;
    one["left_ml"].as_f64().ok_or_else(|| "no number".into())
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6 * b.abs().max(1.0)
}

#[test]
fn a_mistyped_batch_is_replaced_or_taken_back_and_stays_in_the_log() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let weigh = |salt: &str, more: &[&str]| {
        let mut arguments = vec!["weighed", "epsom", "--salt", salt, "--total", "1000 g"];
        arguments.extend(["--date", "2031-03-01"]);
        arguments.extend(more);
        done(&bench, &arguments)
    };
    assert!(weigh("40 g", &[])?.contains("Record 1;"));
    // A slip of the hand: four grams instead of forty.
    assert!(weigh("4 g", &[])?.contains("batch 2"));
    assert!(near(strength(&bench, "epsom")?, 4.0));
    // Replaced: it is batch 2 still, with the amount that was meant.
    let replaced = weigh("42 g", &["--instead-of", "2"])?;
    assert!(replaced.contains("batch 2 of") && replaced.contains("Record 3;"), "{replaced}");
    assert!(near(strength(&bench, "epsom")?, 42.0));
    // Taken back: the record that was replaced stands again.
    done(&bench, &["undo", "3"])?;
    assert!(near(strength(&bench, "epsom")?, 4.0));
    done(&bench, &["undo", "2", "--why", "a slip of the hand"])?;
    assert!(near(strength(&bench, "epsom")?, 40.0));
    // What takes back can be taken back.
    done(&bench, &["undo", "4"])?;
    assert!(near(strength(&bench, "epsom")?, 42.0));
    let log = done(&bench, &["log"])?;
    let joined = log.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in ["4 g of salt, 1000 g together", "instead of record 2", "a slip of the hand"] {
        assert!(joined.contains(words), "{words}: {log}");
    }
    assert!(log.lines().filter(|l| l.starts_with("  ")).count() >= 6, "{log}");
    let numbers: Vec<u64> = serde_json::from_str::<Value>(&done(&bench, &["log", "--json"])?)?
        .as_array()
        .ok_or("no list")?
        .iter()
        .filter_map(|line| line["record"].as_u64())
        .collect();
    assert_eq!(numbers.len(), 6);
    // The next batch has a number that no batch had.
    assert!(weigh("41 g", &[])?.contains("batch 3 of"));
    Ok(())
}

#[test]
fn a_bottle_is_poured_from_spilled_found_and_thrown_away() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    done(&bench, &["weighed", "epsom", "--salt", "40 g", "--total", "1000 g"])?;
    let full = left_ml(&bench, "epsom")?;
    let poured = done(&bench, &["poured", "first-flight", "--json"])?;
    let poured: Value = serde_json::from_str(&poured)?;
    assert_eq!(poured["record"], 2);
    let taken = poured["taken"].as_array().ok_or("none")?.iter();
    let epsom: f64 = taken.filter(|t| t["stock"] == "epsom").filter_map(|t| t["ml"].as_f64()).sum();
    assert!(near(left_ml(&bench, "epsom")?, full - epsom));
    done(&bench, &["bottle", "EPSOM", "--spilled", "20,5 mL"])?;
    assert!(near(left_ml(&bench, "epsom")?, full - epsom - 20.5));
    for more in [["--left", "5 L"], ["--spilled", "2 L"]] {
        let (ok, text) = said(&bench, &[&["bottle", "epsom"][..], &more].concat())?;
        assert!(!ok && text.contains("never held"), "{text}");
    }
    done(&bench, &["bottle", "epsom", "--left", "about 120 mL"])?;
    assert!(near(left_ml(&bench, "epsom")?, 120.0));
    done(&bench, &["poured", "first-flight", "--water", "Sulfate Side", "--bottle", "250 mL"])?;
    // 4.085 mL in a litre, as the README prints it.
    assert!((left_ml(&bench, "epsom")? - (120.0 - 4.085 / 4.0)).abs() < 1e-3);
    // The pour before the level was found changes nothing of what was found.
    done(&bench, &["undo", "2"])?;
    assert!((left_ml(&bench, "epsom")? - (120.0 - 4.085 / 4.0)).abs() < 1e-3);
    // Without the level the spill counts again, and the pour does not.
    done(&bench, &["undo", "4"])?;
    assert!((left_ml(&bench, "epsom")? - (full - 20.5 - 4.085 / 4.0)).abs() < 1e-3);
    done(&bench, &["bottle", "epsom", "--thrown-away"])?;
    assert!(near(left_ml(&bench, "epsom")?, 0.0));
    // The newest that stands, without a number.
    done(&bench, &["undo"])?;
    assert!(left_ml(&bench, "epsom")? > 900.0);
    let (ok, text) = said(&bench, &["bottle", "soda", "--left", "10 mL"])?;
    assert!(!ok && text.contains("no batch of soda was recorded"), "{text}");
    Ok(())
}

#[test]
fn a_verified_strength_is_taken_back() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    done(&bench, &["weighed", "epsom", "--salt", "40 g", "--total", "1000 g"])?;
    let text = done(&bench, &["verify", "epsom", "--read", "150 µS/cm", "--record"])?;
    assert!(text.contains("Record 2;"), "{text}");
    let verified = strength(&bench, "epsom")?;
    assert!(verified < 39.0, "{verified}");
    // The amounts were mistyped, the reading was not: it stays with the batch.
    let again = ["weighed", "epsom", "--salt", "41 g", "--total", "1000 g", "--instead-of", "1"];
    done(&bench, &again)?;
    assert!(near(strength(&bench, "epsom")?, verified));
    done(&bench, &["undo", "2"])?;
    assert!(near(strength(&bench, "epsom")?, 41.0));
    Ok(())
}

/// Logs as programs before this one wrote them: their lines have no numbers, and get them by their days.
#[test]
fn records_of_older_programs_have_numbers_too() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::create_dir(bench.join("records"))?;
    let made = |batch: u32, day: &str, salt: f64| {
        format!(
            "{{\"kind\":\"made\",\"v\":1,\"stock\":\"epsom\",\"batch\":{batch},\"day\":\"{day}\",\
             \"salt\":\"MgSO4·7H2O\",\"made\":{{\"to_total_mass\":{{\"salt_g\":{salt},\"total_g\":1000.0}}}},\
             \"celsius\":20.0,\"purity\":1.0,\"purity_within\":null,\"moisture\":0.0,\
             \"moisture_within\":null,\"grade\":null,\"lot\":null}}\n"
        )
    };
    let batches = made(1, "2030-01-01", 40.0) + &made(2, "2030-03-01", 50.0);
    fs::write(bench.join("records/batches.jsonl"), &batches)?;
    let pour = "{\"v\":1,\"day\":\"2030-02-01\",\"flight\":\"first-flight\",\
                \"taken\":[{\"stock\":\"epsom\",\"batch\":1,\"ml\":5.0}]}\n";
    fs::write(bench.join("records/pours.jsonl"), pour)?;
    let log = done(&bench, &["log"])?;
    let heads: Vec<&str> = log.lines().filter_map(|l| l.get(..15)).collect();
    assert!(heads.iter().any(|h| h.contains("2  2030-02-01")), "{log}");
    assert!(near(strength(&bench, "epsom")?, 50.0));
    done(&bench, &["undo", "3"])?;
    assert!(near(strength(&bench, "epsom")?, 40.0));
    assert!((left_ml(&bench, "epsom")? - (1000.0 / 1.0181 - 5.0)).abs() < 0.1);
    let kept = fs::read_to_string(bench.join("records/batches.jsonl"))?;
    assert!(kept.starts_with(&batches), "lines are only ever added");
    Ok(())
}

#[test]
fn a_planned_session_and_a_remark_are_taken_back() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo, cy", "--water", "soft"];
    let rest = ["--water", "hard", "--attribute", "liking", "--seed", "x"];
    done(&bench, &[plan.as_slice(), rest.as_slice()].concat())?;
    let name = "first-flight-1";
    done(&bench, &["session", "note", name, "the kettle was cold"])?;
    assert!(done(&bench, &["session", "progress", name])?.contains("kettle"));
    done(&bench, &["undo", "first-flight-1:1"])?;
    assert!(!done(&bench, &["session", "progress", name])?.contains("kettle"));
    assert!(done(&bench, &["journal"])?.contains(name));
    done(&bench, &["undo", name, "--why", "the wrong waters"])?;
    assert!(!done(&bench, &["journal"])?.contains(name));
    let log = done(&bench, &["log"])?;
    assert!(log.contains("the wrong waters") && log.contains("taken back"), "{log}");
    let (ok, text) = said(&bench, &["undo", name])?;
    assert!(!ok && text.contains("taken back already"), "{text}");
    // Nothing more is entered in it, whatever way it would come.
    for entered in [
        &["session", "note", name, "one more"][..],
        &["session", "score", name, "ann", "100", "5"],
        &["session", "expect", name, "liking: soft > hard"],
        &["session", "poured", name],
        &["session", "reveal", name, "--force", "why"],
        &["serve", name],
    ] {
        let (ok, text) = said(&bench, entered)?;
        assert!(!ok && text.contains("was taken back"), "{entered:?}: {text}");
    }
    // It stands again.
    done(&bench, &["undo", "1"])?;
    done(&bench, &["session", "note", name, "one more"])?;
    assert!(done(&bench, &["journal"])?.contains(name));
    Ok(())
}

#[test]
fn what_cannot_be_taken_back_is_said() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for (arguments, words) in [
        (vec!["undo"], "there is nothing to take back"),
        (vec!["undo", "7"], "there is no record 7"),
        (vec!["undo", "seven"], "`seven` is no record"),
        (vec!["undo", "tuesday:4"], "there is no session `tuesday`"),
    ] {
        let (ok, text) = said(&bench, &arguments)?;
        assert!(!ok && text.contains(words), "{arguments:?}: {text}");
    }
    done(&bench, &["weighed", "epsom", "--salt", "40 g", "--total", "1000 g"])?;
    done(&bench, &["undo", "1"])?;
    let (ok, text) = said(&bench, &["undo", "1"])?;
    assert!(!ok && text.contains("taken back by record 2 already"), "{text}");
    let replace = ["weighed", "soda", "--salt", "15 g", "--total", "500 g", "--instead-of", "2"];
    let (ok, text) = said(&bench, &replace)?;
    assert!(!ok && text.contains("record 2 is something else"), "{text}");
    Ok(())
}

/// What takes the place of a record does so for every kind of record, and for none of another kind.
#[test]
fn every_kind_of_record_can_be_replaced_by_its_like() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    done(&bench, &["weighed", "epsom", "--salt", "40 g", "--total", "1000 g"])?;
    // The meter of the bench shows µS/cm: a bare number is that.
    done(&bench, &["verify", "epsom", "--read", "150", "--record"])?;
    let first = strength(&bench, "epsom")?;
    let again = ["verify", "epsom", "--read", "160 µS/cm", "--record", "--instead-of", "2"];
    assert!(done(&bench, &again)?.contains("Record 3;"));
    let second = strength(&bench, "epsom")?;
    assert!(second > first * 1.04, "{first} {second}");
    done(&bench, &["undo", "3"])?;
    assert!(near(strength(&bench, "epsom")?, first), "the first reading stands again");
    let (ok, text) =
        said(&bench, &["verify", "epsom", "--read", "150", "--record", "--instead-of", "1"])?;
    assert!(!ok && text.contains("record 1 is something else"), "{text}");

    done(&bench, &["weighed", "calcium", "--salt", "40 g", "--total", "1000 g"])?;
    let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo, cy", "--water", "soft"];
    let rest = ["--water", "hard", "--attribute", "liking", "--seed", "x"];
    done(&bench, &[plan.as_slice(), rest.as_slice()].concat())?;
    let name = "first-flight-1";
    let (ok, text) = said(&bench, &["undo"])?;
    assert!(!ok && text.contains("waterflight undo first-flight-1"), "{text}");
    done(&bench, &["session", "poured", name])?;
    let full = left_ml(&bench, "calcium")?;
    let (ok, text) = said(&bench, &["session", "poured", name])?;
    assert!(!ok && text.contains("poured on"), "{text}");
    let (ok, text) = said(&bench, &["session", "poured", name, "--instead-of", "1"])?;
    assert!(!ok && text.contains("record 1 is something else"), "{text}");
    done(&bench, &["session", "poured", name, "--spare", "50 %", "--instead-of", "6"])?;
    assert!(left_ml(&bench, "calcium")? < full);
    done(&bench, &["undo", "7"])?;
    assert!(near(left_ml(&bench, "calcium")?, full));

    done(&bench, &["session", "note", name, "the kettle was cold"])?;
    let entries = done(&bench, &["session", "progress", name, "--entries", "--json"])?;
    let lines: Value = serde_json::from_str(&entries)?;
    let lines = lines["entries"].as_array().ok_or("no entries")?.clone();
    let line = lines.last().and_then(|l| l["n"].as_u64()).ok_or("no line")?.to_string();
    done(&bench, &["session", "note", name, "the kettle was hot", "--instead-of", &line])?;
    let now = done(&bench, &["session", "progress", name])?;
    assert!(now.contains("was hot") && !now.contains("was cold"), "{now}");
    let (ok, text) = said(&bench, &["session", "note", name, "x", "--instead-of", "99"])?;
    assert!(!ok && text.contains("line 99 is no remark"), "{text}");
    Ok(())
}

/// What was recorded stands in the order in which it was, with planned sessions and remarks between.
#[test]
fn the_log_is_in_order() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    done(&bench, &["weighed", "epsom", "--salt", "40 g", "--total", "1000 g"])?;
    done(&bench, &["poured", "first-flight/soft"])?;
    let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo, cy", "--water", "soft"];
    done(&bench, &[&plan[..], &["--water", "hard", "--attribute", "liking"]].concat())?;
    done(&bench, &["session", "note", "first-flight-1", "the kettle was cold"])?;
    // The days that records name do not change their order.
    done(&bench, &["poured", "first-flight/middle", "--date", "2026-03-01"])?;
    done(&bench, &["undo", "first-flight-1:1"])?;
    let log: Value = serde_json::from_str(&done(&bench, &["log", "--json"])?)?;
    let lines: Vec<String> =
        log.as_array().into_iter().flatten().map(|line| line["what"].to_string()).collect();
    let begins =
        ["epsom, batch 1", "first-flight poured, 1 × soft", "session first-flight-1 planned"];
    let ends = [
        "session first-flight-1, line 1, taken back: the kettle",
        "first-flight poured, 1 × middle",
    ];
    for (line, wanted) in lines.iter().zip(begins.iter().chain(&ends)) {
        assert!(line.contains(wanted), "{wanted}: {lines:?}");
    }
    assert_eq!(lines.len(), 5, "{lines:?}");
    // Longer than a screen, the latest entries stand on it.
    for _ in 0..30 {
        done(&bench, &["poured", "first-flight/middle"])?;
    }
    let log = done(&bench, &["log"])?;
    assert!(log.lines().count() <= 24 && log.contains("earlier entries: --full"), "{log}");
    let full = done(&bench, &["log", "--full"])?;
    assert!(full.contains("epsom, batch 1") && !log.contains("epsom, batch 1"), "{full}");
    done(&bench, &["undo", "first-flight-1"])?;
    let progress = done(&bench, &["session", "progress", "first-flight-1"])?;
    assert!(progress.contains("it was taken back"), "{progress}");
    // What was thrown away is neither spilled nor thrown away again.
    done(&bench, &["bottle", "epsom", "--thrown-away"])?;
    for change in [&["--spilled", "20 mL"][..], &["--thrown-away"]] {
        let (ok, text) = said(&bench, &[&["bottle", "epsom"][..], change].concat())?;
        assert!(!ok && text.contains("is empty already"), "{text}");
    }
    Ok(())
}

/// One water of a flight is what it is in the flight: planned as a whole, poured alone, and named in the log.
#[test]
fn one_water_of_a_flight_is_mixed_poured_and_logged() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let whole: Value = serde_json::from_str(&done(
        &bench,
        &["mix", "--dispenser", "syringe", "--at-most", "4", "--json"],
    )?)?;
    let waters = whole["waters"].as_array().ok_or("no waters")?;
    for (place, water) in waters.iter().enumerate().take(3) {
        let name = water["target"].as_str().ok_or("no name")?;
        let typed = format!("First-Flight/{name}");
        let arguments = ["mix", &typed, "--dispenser", "syringe", "--at-most", "4", "--json"];
        let alone: Value = serde_json::from_str(&done(&bench, &arguments)?)?;
        assert_eq!(alone["waters"].as_array().map(Vec::len), Some(1));
        assert_eq!(alone["waters"][0], *water, "{name}");
        assert_eq!(alone["waters"][0]["number"], place + 1);
        for used in alone["stocks_used"].as_array().into_iter().flatten() {
            let doses = water["doses"].as_array().into_iter().flatten();
            let ml: f64 = doses
                .filter(|dose| dose["stock"] == used["stock"])
                .filter_map(|dose| dose["ml_per_bottle"].as_f64())
                .sum();
            assert!(near(used["ml"].as_f64().unwrap_or(f64::NAN), ml), "{used}");
        }
    }
    let text =
        done(&bench, &["poured", "first-flight/soft", "--bottle", "250 mL", "--bottles", "2"])?;
    assert!(text.contains("2 × soft") && !text.contains("epsom"), "{text}");
    let log = done(&bench, &["log"])?.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(log.contains("first-flight poured, 2 × soft of 250 mL:"), "{log}");
    done(&bench, &["poured"])?;
    let log = done(&bench, &["log"])?.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(log.contains("1 × each water of 500 mL:"), "{log}");
    Ok(())
}

#[test]
fn a_session_before_the_newest_record_leaves_it_clear_what_is_meant() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    done(&bench, &["weighed", "epsom", "--salt", "40 g", "--total", "1000 g"])?;
    done(&bench, &["session", "plan", "first-flight", "--name", "night", "--tasters", "ann, bo"])?;
    let (ok, text) = said(&bench, &["undo"])?;
    assert!(!ok && text.contains("not clear"), "{text}");
    done(&bench, &["bottle", "epsom", "--left", "500 mL"])?;
    assert!(done(&bench, &["undo"])?.contains("record 2,"));
    Ok(())
}

#[test]
fn a_day_to_come_and_an_older_batch_are_said() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let weigh = |date: &str| {
        done(&bench, &["weighed", "epsom", "--salt", "40 g", "--total", "1000 g", "--date", date])
    };
    assert!(!weigh("2026-03-02")?.contains("! "));
    let older = weigh("2026-03-01")?;
    assert!(older.contains("! batch 1 of 2026-03-02 was made later"), "{older}");
    let to_come = weigh("9000-01-01")?;
    assert!(to_come.contains("! 9000-01-01 is still to come"), "{to_come}");
    let spilled = ["bottle", "epsom", "--spilled", "5 mL", "--date", "9000-01-02"];
    assert!(done(&bench, &spilled)?.contains("! 9000-01-02 is still to come"));
    Ok(())
}
