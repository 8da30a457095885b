//! The index of a bench: what is said is the same with it, without it and with a damaged one; and
//! what was worked out once is not worked out again.

use std::error::Error;
use std::fs::{self, File};
use std::path::Path;

use crate::common::answers::run;
use crate::common::starter_bench;
use waterflight::bench::index;
use waterflight::bench::past::readable_sessions;
use waterflight::bench::session_folder::SessionFolder;
use waterflight::journal::Journal;

type Fallible = Result<(), Box<dyn Error>>;

const INDEX: &str = "sessions/.index";

/// A revealed session in which waters differ; `seed` decides orders and scores.
fn tasted(bench: &Path, name: &str, seed: usize) -> Fallible {
    let seed_text = seed.to_string();
    let plan = ["session", "plan", "--name", name, "--tasters", "ann,bo,cy", "--seed", &seed_text];
    let what = ["--attribute", "liking, 0 to 10", "--rounds", "2"];
    run(bench, &[plan.as_slice(), &what].concat())?;
    let session = SessionFolder::open(bench, name).map_err(|d| d.details().title.clone())?;
    let mut rows = "taster,code,liking\n".to_owned();
    for tray in &session.plan.trays {
        for (place, code) in tray.cups.iter().enumerate() {
            let score =
                (code.to_string().bytes().map(usize::from).sum::<usize>() + seed + place) % 9;
            rows += &format!("{},{code},{score}\n", tray.taster);
        }
    }
    let file = bench.join("rows.csv");
    fs::write(&file, rows)?;
    run(bench, &["session", "score", name, "--csv", "rows.csv"])?;
    fs::remove_file(file)?;
    run(bench, &["session", "reveal", name])?;
    Ok(())
}

/// Everything that is worked out of all sessions.
fn everything(bench: &Path) -> Result<[String; 2], Box<dyn Error>> {
    Ok([run(bench, &["journal", "--json"])?, run(bench, &["next", "--json"])?])
}

#[test]
fn a_damaged_index_is_made_again_and_says_nothing_else() -> Fallible {
    let (_keep, bench) = starter_bench()?;
    for (name, seed) in [("one", 1), ("two", 2)] {
        tasted(&bench, name, seed)?;
    }
    let fresh = everything(&bench)?;
    assert!(bench.join(INDEX).is_file());
    let whole = fs::read(bench.join(INDEX))?;
    assert_eq!(everything(&bench)?, fresh);
    assert_eq!(fs::read(bench.join(INDEX))?, whole, "nothing new, nothing written");
    let mut other_answer = whole.clone();
    let at = whole.windows(7).position(|piece| piece == b"value:6" || piece == b"value:5");
    if let Some(digit) = at.and_then(|at| other_answer.get_mut(at + 6)) {
        *digit = b'9';
    }
    assert_ne!(other_answer, whole);
    let half = whole.get(..whole.len() / 2).unwrap_or_default().to_vec();
    for damage in [Vec::new(), half, other_answer, b"\xff\xfe\n".to_vec()] {
        fs::write(bench.join(INDEX), &damage)?;
        assert_eq!(everything(&bench)?, fresh);
        assert_ne!(fs::read(bench.join(INDEX))?, damage);
    }
    // Where it cannot be written at all, it is done without.
    fs::remove_file(bench.join(INDEX))?;
    fs::create_dir(bench.join(INDEX))?;
    assert_eq!(everything(&bench)?, fresh);
    let left = fs::read_dir(bench.join("sessions"))?.filter_map(Result::ok);
    let names: Vec<String> =
        left.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
    assert!(names.iter().all(|name| !name.starts_with(".tmp")), "{names:?}");
    Ok(())
}

#[test]
fn a_score_changed_behind_its_back_is_seen() -> Fallible {
    let (_keep, bench) = starter_bench()?;
    tasted(&bench, "one", 1)?;
    let before = everything(&bench)?;
    let log = bench.join("sessions/one/scores.jsonl");
    let written = fs::metadata(&log)?.modified()?;
    let text = fs::read_to_string(&log)?;
    let changed = text.replacen("\"liking\":1.0", "\"liking\":9.0", 1);
    assert_ne!(changed, text);
    fs::write(&log, &changed)?;
    // Length and time say that nothing changed.
    File::options().write(true).open(&log)?.set_modified(written)?;
    let after = everything(&bench)?;
    assert_ne!(after, before);
    fs::remove_file(bench.join(INDEX))?;
    assert_eq!(everything(&bench)?, after);
    Ok(())
}

#[test]
fn only_a_new_session_is_worked_out() -> Fallible {
    // The program that makes the sessions keeps an index of its own in its own bench.
    let (_keep, workshop) = starter_bench()?;
    let (_too, bench) = starter_bench()?;
    let add = |name: &str, seed| -> Fallible {
        tasted(&workshop, name, seed)?;
        fs::create_dir_all(bench.join("sessions"))?;
        let folder = |of: &Path| of.join("sessions").join(name);
        Ok(fs::rename(folder(&workshop), folder(&bench))?)
    };
    let worked_out = || -> Result<usize, Box<dyn Error>> {
        let (past, _) = readable_sessions(&bench).map_err(|d| d.details().title.clone())?;
        let known = index::read(&bench);
        let _ = Journal::new(&past, &[], &known, None);
        index::keep(&bench, &known);
        Ok(known.made())
    };
    for (name, seed) in [("one", 1), ("two", 2), ("three", 3)] {
        add(name, seed)?;
    }
    assert_eq!(worked_out()?, 3);
    assert_eq!(worked_out()?, 0);
    add("four", 4)?;
    assert_eq!(worked_out()?, 1);
    fs::remove_dir_all(bench.join("sessions/two"))?;
    assert_eq!(worked_out()?, 0);
    Ok(())
}
