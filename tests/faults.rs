//! Disks, systems and clocks that fail, and runs that are killed at every change that they make to the
//! disk: what was confirmed is there, what was not is not, and the next run goes on.
//!
//! `faults/faults.c` stands between the program and the C library; each test says what is to fail.
//!
//! Above 400 lines: every command that writes, under the same faults.
#![expect(clippy::indexing_slicing, reason = "a missing value is an error of the check")]

use std::collections::BTreeSet;
use std::error::Error;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use assert_cmd::cargo::cargo_bin;
use serde_json::Value;

use crate::common::answers::words;
use crate::common::{starter_bench, state};

type Fallible = Result<(), Box<dyn Error>>;

/// The library of faults, compiled once.
fn faults() -> Result<&'static Path, Box<dyn Error>> {
    static LIBRARY: OnceLock<PathBuf> = OnceLock::new();
    if let Some(library) = LIBRARY.get() {
        return Ok(library);
    }
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/faults/faults.c");
    let name = format!("faults-{}.so", std::process::id());
    let library = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let partial = tempfile::NamedTempFile::new_in(env!("CARGO_TARGET_TMPDIR"))?;
    let built = Command::new("cc")
        .args(["-shared", "-fPIC", "-O1", "-o"])
        .arg(partial.path())
        .arg(&source)
        .args(["-ldl", "-lpthread"])
        .output()?;
    assert!(built.status.success(), "{}", String::from_utf8_lossy(&built.stderr));
    partial.persist(&library)?;
    Ok(LIBRARY.get_or_init(|| library))
}

/// The program with faults, in a bench.
fn program(bench: &Path, line: &str, faulty: &[(&str, &str)]) -> Result<Command, Box<dyn Error>> {
    let mut command = Command::new(cargo_bin("waterflight"));
    command.current_dir(bench).args(words(line)).env("XDG_STATE_HOME", state());
    if !faulty.is_empty() {
        command.env("LD_PRELOAD", faults()?).envs(faulty.iter().copied());
    }
    Ok(command)
}

fn run(bench: &Path, line: &str, faulty: &[(&str, &str)]) -> Result<Output, Box<dyn Error>> {
    Ok(program(bench, line, faulty)?.stdin(Stdio::null()).output()?)
}

fn errors(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn done(bench: &Path, line: &str) -> Result<String, Box<dyn Error>> {
    let output = run(bench, line, &[])?;
    assert!(output.status.success(), "{line}: {}", errors(&output));
    Ok(String::from_utf8(output.stdout)?)
}

fn json(bench: &Path, line: &str) -> Result<Value, Box<dyn Error>> {
    let output = run(bench, &format!("{line} --json"), &[])?;
    Ok(serde_json::from_slice(&output.stdout)?)
}

fn lines(file: &Path) -> usize {
    fs::read_to_string(file).unwrap_or_default().lines().count()
}

/// Every file below a folder, by its name from there.
fn files(folder: &Path) -> Result<BTreeSet<String>, Box<dyn Error>> {
    let mut found = BTreeSet::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(at) = folders.pop() {
        for entry in fs::read_dir(&at)? {
            let path = entry?.path();
            if path.is_dir() {
                folders.push(path.clone());
            }
            found.insert(path.strip_prefix(folder)?.display().to_string());
        }
    }
    Ok(found)
}

fn copied(from: &Path, to: &Path) -> Fallible {
    fs::create_dir_all(to)?;
    for entry in fs::read_dir(from)? {
        let entry = entry?;
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copied(&entry.path(), &target)?;
        } else {
            fs::copy(entry.path(), target)?;
        }
    }
    Ok(())
}

/// A bench with a session of three waters, two tasters, and the table of all their scores.
fn session_bench() -> Result<(tempfile::TempDir, PathBuf), Box<dyn Error>> {
    let (folder, bench) = starter_bench()?;
    done(
        &bench,
        "session plan --name night --tasters ann,bo --water soft --water hard --water middle \
         --attribute body --attribute liking",
    )?;
    let plan: Value = serde_json::from_slice(&fs::read(bench.join("sessions/night/plan.json"))?)?;
    let mut table = "taster;code;body;liking\n".to_owned();
    for tray in plan.pointer("/trays").and_then(Value::as_array).ok_or("no trays")? {
        let taster = tray.pointer("/taster").and_then(Value::as_str).ok_or("no taster")?;
        for code in tray.pointer("/cups").and_then(Value::as_array).ok_or("no cups")? {
            table += &format!("{taster};{code};4;6\n");
        }
    }
    fs::write(folder.path().join("scores.csv"), table)?;
    fs::write(
        folder.path().join("waters.csv"),
        "name,calcium [mg/L],alkalinity [mg/L as CaCO3]\nnorth,20,40\nsouth,30,60\neast,1,2\n",
    )?;
    Ok((folder, bench))
}

const SYNC: &str = "FAULT_SYNC";

#[test]
fn what_the_disk_does_not_confirm_is_taken_back() -> Fallible {
    let (_folder, bench) = session_bench()?;
    for (line, log) in [
        ("poured --bottles 1", "records/pours.jsonl"),
        ("weighed epsom --salt '40 g' --total '1000 g'", "records/batches.jsonl"),
        ("session note night 'the second kettle'", "sessions/night/scores.jsonl"),
        ("session score night --csv ../scores.csv", "sessions/night/scores.jsonl"),
    ] {
        let file = bench.join(log);
        for before in [lines(&file), lines(&file)] {
            let output = run(&bench, line, &[(SYNC, log)])?;
            assert!(!output.status.success(), "{line}");
            assert!(errors(&output).contains("nothing was recorded"), "{}", errors(&output));
            assert_eq!(lines(&file), before, "{line}: it counts though it was not confirmed");
        }
        let before = lines(&file);
        done(&bench, line)?;
        assert_eq!(lines(&file), before + 1, "{line}");
    }
    Ok(())
}

/// What has its name already when the disk fails loses it again: what is said of it is true, and the
/// same command succeeds once the disk works.
#[test]
fn what_has_its_name_but_is_not_confirmed_is_taken_back() -> Fallible {
    let (folder, bench) = session_bench()?;
    let around = folder.path().display().to_string();
    let plan = "session plan first-flight --tasters ann";
    let named = format!("{plan} --name one");
    for (line, at, written) in [
        (plan, "/sessions", "sessions/first-flight-1/plan.json"),
        (named.as_str(), "/sessions", "sessions/one/plan.json"),
        ("import analyses ../waters.csv", "/waters", "waters/north.ron"),
        ("pack ../one.bench", around.as_str(), "../one.bench"),
        ("new ../started", "/started", "../started/bench.ron"),
    ] {
        let before = files(&bench)?;
        let output = run(&bench, line, &[("FAULT_FOLDER", at)])?;
        let said = errors(&output);
        assert!(!output.status.success(), "{line}");
        assert!(said.contains("cannot be written") && said.contains("make room"), "{line}: {said}");
        assert!(!said.contains("exists already"), "{line}: {said}");
        assert_eq!(files(&bench)?, before, "{line}");
        assert!(!bench.join(written).exists(), "{line}");
        done(&bench, line)?;
        assert!(bench.join(written).exists(), "{line}");
    }
    Ok(())
}

/// Of two things that a command writes the first may stand alone: then that is said, and the same command
/// does the rest.
#[test]
fn what_stands_of_a_command_that_failed_is_said() -> Fallible {
    let (_folder, bench) = session_bench()?;
    let pour = "session poured night";
    let said = errors(&run(&bench, pour, &[(SYNC, "records/pours.jsonl")])?);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("line 1 of the session's own log stands"), "{said}");
    assert!(fs::read_to_string(bench.join("sessions/night/scores.jsonl"))?.contains("opened"));
    done(&bench, pour)?;
    let reveal = "session reveal night --force why";
    let output = run(&bench, reveal, &[("FAULT_FOLDER", "/sessions/night")])?;
    let said = errors(&output);
    assert!(!output.status.success() && said.contains("is revealed (line 3)"), "{said}");
    assert!(said.contains("type the same command again"), "{said}");
    assert!(!bench.join("sessions/night/key.json").exists());
    done(&bench, reveal)?;
    assert!(bench.join("sessions/night/key.json").is_file());
    Ok(())
}

/// A table of scores is entered whole or not at all, wherever the disk is full or the run is killed.
#[test]
fn a_table_is_entered_whole_or_not_at_all() -> Fallible {
    let (folder, bench) = session_bench()?;
    let line = "session score night --csv ../scores.csv";
    let mut seen = BTreeSet::new();
    let faulty = (0..40).map(|n| ("FAULT_FULL", n * 37)).chain((1..30).map(|n| ("FAULT_KILL", n)));
    for (number, (fault, at)) in faulty.enumerate() {
        let copy = folder.path().join(format!("copy-{number}"));
        copied(&bench, &copy)?;
        let output = run(&copy, line, &[(fault, &at.to_string())])?;
        let progress = json(&copy, "session progress night")?;
        let entered = progress.pointer("/entries").and_then(Value::as_array).ok_or("no list")?;
        assert!(matches!(entered.len(), 0 | 6), "{fault} {at}: {} rows", entered.len());
        assert!(!output.status.success() || entered.len() == 6);
        seen.insert((fault, entered.len(), output.status.success()));
        // And what follows goes on.
        done(&copy, line)?;
        assert_eq!(json(&copy, "session progress night")?["missing_answers"], 0);
        fs::remove_dir_all(&copy)?;
    }
    assert!(seen.len() >= 4, "too little was tried: {seen:?}");
    Ok(())
}

/// Every command that writes, killed before every change that it makes to the disk: the next run
/// finishes it, begins it anew, or finds it done, and nothing is left over.
#[test]
fn a_command_killed_anywhere_is_finished_by_the_next_run() -> Fallible {
    let (folder, bench) = session_bench()?;
    let secret = folder.path().join("own.secret").display().to_string();
    let plan = "session plan --tasters ann --name new";
    for (line, sign) in [
        ("import analyses ../waters.csv".to_owned(), "waters/south.ron"),
        (
            "ladder middle --vary 'hardness=20..80 mg/L as CaCO3' --flight first-flight --into rungs".to_owned(),
            "flights/rungs.ron",
        ),
        (plan.to_owned(), "sessions/new/plan.json"),
        (format!("{plan} --key {secret}"), "sessions/new/plan.json"),
        ("weighed epsom --salt '40 g' --total '1000 g'".to_owned(), "records/batches.jsonl"),
        ("poured".to_owned(), "records/pours.jsonl"),
        ("session poured night".to_owned(), "records/pours.jsonl"),
        ("session note night hello".to_owned(), "sessions/night/scores.jsonl"),
        ("session reveal night --force why".to_owned(), "sessions/night/key.json"),
        ("new ../started".to_owned(), "../started/bench.ron"),
    ] {
        let mut ended = false;
        for at in 1..200 {
            let copy = folder.path().join("copy");
            copied(&bench, &copy)?;
            let _ = fs::remove_file(&secret);
            let killed = run(&copy, &line, &[("FAULT_KILL", &at.to_string())])?;
            ended = killed.status.success();
            let again = run(&copy, &line, &[])?;
            let said = errors(&again);
            // What was done before the kill may be found done.
            let is_done = [
                "exists already",
                "was revealed in line",
                "there is a bench",
                "poured on",
            ]
            .iter()
            .any(|words| said.contains(words));
            assert!(again.status.success() || is_done, "{line}, killed at {at}: {said}");
            assert!(copy.join(sign).exists(), "{line}, killed at {at}: {sign} is not there");
            let check = json(&copy, "check")?;
            assert_eq!(check["damage"], Value::Array(Vec::new()), "{line}, killed at {at}");
            let mut left = files(&copy)?;
            for entry in fs::read_dir(folder.path())? {
                left.insert(entry?.file_name().to_string_lossy().into_owned());
            }
            left.extend(files(&folder.path().join("started")).unwrap_or_default());
            left.retain(|name| name.contains(".unfinished-") || name.contains(".tmp"));
            assert!(left.is_empty(), "{line}, killed at {at}: {left:?}");
            if line.starts_with("session poured") {
                let log = fs::read_to_string(copy.join("sessions/night/scores.jsonl"));
                assert!(log.unwrap_or_default().contains("opened"), "a pour without its opening");
            }
            fs::remove_dir_all(&copy)?;
            let _ = fs::remove_dir_all(folder.path().join("started"));
            if ended {
                break;
            }
        }
        assert!(ended, "{line} never ended");
    }
    Ok(())
}

/// Of a kill between the two, the opening of the key is what stays.
#[test]
fn no_pour_of_a_session_stands_without_the_opening_of_its_key() -> Fallible {
    let (folder, bench) = session_bench()?;
    for at in 1..60 {
        let copy = folder.path().join("copy");
        copied(&bench, &copy)?;
        let output = run(&copy, "session poured night", &[("FAULT_KILL", &at.to_string())])?;
        let log = fs::read_to_string(copy.join("sessions/night/scores.jsonl")).unwrap_or_default();
        let poured = lines(&copy.join("records/pours.jsonl")) > 0;
        assert!(!poured || log.contains("opened"), "killed at {at}");
        fs::remove_dir_all(&copy)?;
        if output.status.success() {
            return Ok(());
        }
    }
    Err("it never ended".into())
}

#[test]
fn a_file_system_that_offers_little_is_enough() -> Fallible {
    let faulty = [
        ("FAULT_NO_FLOCK", "1"),
        ("FAULT_NO_LINK", "1"),
        ("FAULT_NO_DIRSYNC", "1"),
        ("FAULT_NO_THREADS", "1"),
    ];
    let (folder, bench) = session_bench()?;
    // More waters than are planned without threads.
    let flight = fs::read_to_string(bench.join("flights/first-flight.ron"))?;
    let (head, tail) = flight.split_once("targets: [").ok_or("no targets")?;
    let target = |n: usize| {
        format!("Target(name: \"w{n}\", goals: (hardness: \"{} mg/L as CaCO3\")),", 20 + n)
    };
    let many: String = (0..90).map(target).collect();
    let end = tail.rfind(']').ok_or("no end")?;
    let text = format!("{head}targets: [{many}{}", tail.get(end..).unwrap_or_default());
    fs::write(bench.join("flights/many.ron"), text)?;
    for line in [
        "mix many",
        "new ../second",
        "import analyses ../waters.csv",
        "weighed epsom --salt '40 g' --total '1000 g'",
        "poured first-flight",
        "session plan first-flight --name other --tasters ann",
        "session score night --csv ../scores.csv",
        "session poured night",
        "session reveal night",
        "session results night",
        "mix first-flight --dispenser syringe",
    ] {
        let output = run(&bench, line, &faulty)?;
        assert!(output.status.success(), "{line}: {}", errors(&output));
    }
    assert!(folder.path().join("second/bench.ron").is_file());
    assert!(!files(&bench)?.iter().any(|name| name.contains("held")));
    // A lock that a killed run left is named, with the one way out.
    let held = bench.join("records/lock.held");
    fs::write(&held, "process 1\n")?;
    let output = run(&bench, "poured first-flight", &faulty)?;
    assert!(!output.status.success());
    assert!(errors(&output).contains("lock.held"), "{}", errors(&output));
    fs::remove_file(&held)?;
    assert!(run(&bench, "poured first-flight", &faulty)?.status.success());
    Ok(())
}

#[test]
fn a_clock_far_ahead_has_one_way_out() -> Fallible {
    let (_folder, bench) = session_bench()?;
    let before = files(&bench)?;
    for line in [
        "weighed epsom --salt '40 g' --total '1000 g'",
        "poured",
        "session note night hello",
        "session poured night",
    ] {
        let output = run(&bench, line, &[("FAULT_YEARS", "20000")])?;
        assert!(!output.status.success(), "{line}");
        assert!(errors(&output).contains("set the clock"), "{line}: {}", errors(&output));
    }
    let mut after = files(&bench)?;
    after.retain(|name| !name.ends_with("lock") && name != "records");
    assert_eq!(after, before);
    for line in ["mix", "stocktake", "session progress night", "journal"] {
        let output = run(&bench, line, &[("FAULT_YEARS", "20000")])?;
        assert!(output.status.success(), "{line}: {}", errors(&output));
    }
    // A clock that is only wrong is believed, and what it wrote is read when it is right again.
    for line in ["weighed epsom --salt '40 g' --total '1000 g'", "poured", "session poured night"] {
        assert!(run(&bench, line, &[("FAULT_YEARS", "500")])?.status.success(), "{line}");
    }
    for line in ["mix", "stocktake", "weighed epsom --salt '41 g' --total '1000 g'", "poured"] {
        done(&bench, line)?;
    }
    Ok(())
}

#[test]
fn an_answer_that_cannot_be_written_is_told_on_the_other_channel() -> Fallible {
    let (_folder, bench) = session_bench()?;
    let full = || fs::OpenOptions::new().write(true).open("/dev/full");
    for line in ["poured", "session note night hello", "weighed epsom --salt '40 g' --total '1 kg'"]
    {
        let output = program(&bench, line, &[])?.stdout(full()?).output()?;
        assert_eq!(output.status.code(), Some(73), "{line}");
        assert!(errors(&output).contains("is done and on disk"), "{line}: {}", errors(&output));
        // A pipe whose reader has gone.
        let (reader, writer) = std::io::pipe()?;
        drop(reader);
        let output = program(&bench, line, &[])?.stdout(writer).output()?;
        assert!(errors(&output).contains("is done and on disk"), "{line}: {}", errors(&output));
    }
    assert_eq!(lines(&bench.join("records/pours.jsonl")), 2);
    let output = program(&bench, "mix", &[])?.stdout(full()?).output()?;
    assert_eq!(output.status.code(), Some(73));
    assert!(errors(&output).contains("cannot be written"), "{}", errors(&output));
    Ok(())
}

#[test]
fn files_follow_the_umask_and_only_the_key_is_private() -> Fallible {
    let (_folder, bench) = session_bench()?;
    let line = "umask 027 && \"$0\" import analyses ../waters.csv && \"$0\" session plan --name x \
                --tasters ann --key ../x.secret && \"$0\" poured";
    let output = Command::new("sh")
        .args(["-c", line])
        .arg(cargo_bin("waterflight"))
        .current_dir(&bench)
        .output()?;
    assert!(output.status.success(), "{}", errors(&output));
    let mode = |file: &str| -> Result<u32, Box<dyn Error>> {
        Ok(fs::metadata(bench.join(file))?.permissions().mode() & 0o777)
    };
    for file in [
        "waters/north.ron",
        "sessions/x/plan.json",
        "sessions/x/waters.json",
        "records/pours.jsonl",
    ] {
        assert_eq!(mode(file)?, 0o640, "{file}");
    }
    assert_eq!(mode("sessions/x")?, 0o750);
    for file in ["sessions/x/key.sealed", "../x.secret"] {
        assert_eq!(mode(file)?, 0o600, "{file}");
    }
    Ok(())
}

/// Puts something in the place of a file.
type Maker<'a> = &'a dyn Fn(&Path) -> std::io::Result<()>;

/// A pipe, an endless file and gigabytes in the place of a file of the bench.
#[test]
fn what_is_no_file_is_refused_at_once() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let pipe = |at: &Path| Command::new("mkfifo").arg(at).status().map(|s| assert!(s.success()));
    let endless = |at: &Path| std::os::unix::fs::symlink("/dev/zero", at);
    let huge = |at: &Path| fs::File::create(at).and_then(|file| file.set_len(6_000_000_000));
    let makers: [Maker<'_>; 3] = [&pipe, &endless, &huge];
    done(&bench, "poured")?;
    for (place, line) in [
        ("stocks/x.ron", "mix"),
        ("flights/first-flight.ron", "mix"),
        ("bench.ron", "mix"),
        ("records/batches.jsonl", "mix"),
        ("records/pours.jsonl", "stocktake"),
        ("records/pours.jsonl", "poured"),
        // Numbers run through both logs: with one of them nothing is recorded.
        ("records/batches.jsonl", "poured"),
        ("records/lock", "poured"),
    ] {
        for (number, make) in makers.iter().enumerate() {
            let at = bench.join(place);
            fs::create_dir_all(bench.join("records"))?;
            let before = fs::read(&at).ok();
            let _ = fs::remove_file(&at);
            make(&at)?;
            let start = Instant::now();
            // No more memory than half a gigabyte.
            let output = Command::new("sh")
                .args(["-c", "ulimit -v 524288; exec \"$0\" \"$1\""])
                .arg(cargo_bin("waterflight"))
                .arg(line)
                .env("XDG_STATE_HOME", state())
                .current_dir(&bench)
                .output()?;
            // An empty file of any size serves as a lock.
            let serves = place.ends_with("lock") && number == 2;
            assert_eq!(output.status.success(), serves, "{place} {number}");
            assert!(start.elapsed() < Duration::from_secs(3), "{place} {number}");
            let code = output.status.code();
            assert!(
                matches!(code, Some(65 | 66 | 73)) || serves,
                "{place} {number}: {code:?} {}",
                errors(&output)
            );
            fs::remove_file(&at)?;
            if let Some(before) = before {
                fs::write(&at, before)?;
            }
        }
    }
    // As a table, an endless file ends and a pipe that nobody writes to is given up.
    let nobody = bench.join("nobody");
    pipe(&nobody)?;
    for table in ["/dev/zero", "nobody"] {
        let start = Instant::now();
        let output = run(&bench, &format!("import analyses {table}"), &[])?;
        assert!(!output.status.success() && start.elapsed() < Duration::from_secs(3), "{table}");
    }
    Ok(())
}

#[test]
fn every_table_may_come_through_a_pipe_in_every_dialect() -> Fallible {
    let (_folder, bench) = session_bench()?;
    let shell = |line: &str| {
        Command::new("bash")
            .args(["-c", line])
            .arg(cargo_bin("waterflight"))
            .current_dir(&bench)
            .env("XDG_STATE_HOME", state())
            .output()
    };
    for line in [
        "\"$0\" session score night --csv /dev/stdin < ../scores.csv",
        "cat ../scores.csv | tr ';' '\\t' | \"$0\" session score night --csv /dev/stdin",
        "\"$0\" session score night --csv <(printf '\\xef\\xbb\\xbf'; tr ';' ',' < ../scores.csv)",
        "\"$0\" import analyses <(tr ',' ';' < ../waters.csv)",
        "cat ../waters.csv | sed s/north/west/ | sed s/south/centre/ | sed s/east/x/ | \"$0\" import analyses /dev/stdin",
        "\"$0\" import targets <(printf 'name\\thardness [°dH]\\nmild\\t3\\n') --into mild",
    ] {
        let output = shell(line)?;
        assert!(output.status.success(), "{line}: {}", errors(&output));
    }
    assert_eq!(json(&bench, "session progress night")?["missing_answers"], 0);
    Ok(())
}

#[test]
fn two_plans_without_a_name_at_once_both_succeed() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let start = || -> Result<std::process::Child, Box<dyn Error>> {
        let mut command = program(&bench, "session plan --tasters ann", &[])?;
        Ok(command.stdout(Stdio::null()).stderr(Stdio::piped()).spawn()?)
    };
    let running = (0..6).map(|_| start()).collect::<Result<Vec<_>, _>>()?;
    for one in running {
        let output = one.wait_with_output()?;
        assert!(output.status.success(), "{}", errors(&output));
    }
    let sessions = fs::read_dir(bench.join("sessions"))?.count();
    assert_eq!(sessions, 6);
    Ok(())
}
