//! What a user waits for: CPU seconds of whole commands on large benches, the program started anew each
//! time. `SESSIONS=1000` sets how many sessions there are; making them takes most of the time.
//!
//! `cargo bench --bench command_speed`; on Linux, where the system counts the time of what was run.
#![expect(clippy::print_stdout, reason = "a bench prints what it measured")]

use std::error::Error;
use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use waterflight::bench::session_folder::SessionFolder;
use waterflight::bench::starter;

type Fallible<T> = Result<T, Box<dyn Error>>;

const PROGRAM: &str = env!("CARGO_BIN_EXE_waterflight");

/// Targets of the large flight, and lines of the large logs.
const TARGETS: usize = 10_000;
const LINES: usize = 100_000;

/// Runs of each command; the least time counts, since other work only adds to it.
const RUNS: usize = 3;

fn run(bench: &Path, arguments: &[&str]) -> Fallible<()> {
    let mut command = Command::new(PROGRAM);
    // Away from the secret of whoever runs the bench.
    command.env("XDG_STATE_HOME", env!("CARGO_TARGET_TMPDIR"));
    command.current_dir(bench).args(arguments).stdout(Stdio::null()).stderr(Stdio::null());
    if command.status()?.success() { Ok(()) } else { Err(format!("{arguments:?} failed").into()) }
}

/// CPU seconds of all finished children so far: fields 16 and 17 of proc(5), in hundredths.
fn of_children() -> Fallible<f64> {
    let stat = fs::read_to_string("/proc/self/stat")?;
    // The name of the program, which may hold blanks, is in parentheses.
    let (_, fields) = stat.rsplit_once(") ").ok_or("no stat")?;
    let ticks = |n: usize| fields.split(' ').nth(n).and_then(|t| t.parse::<f64>().ok());
    Ok((ticks(13).ok_or("no time")? + ticks(14).ok_or("no time")?) / 100.0)
}

/// Prints the least CPU time of a command.
fn measured(what: &str, runs: usize, mut work: impl FnMut() -> Fallible<()>) -> Fallible<()> {
    let mut least = f64::INFINITY;
    for _ in 0..runs {
        let before = of_children()?;
        work()?;
        least = least.min(of_children()? - before);
    }
    println!("{what:60} {least:6.2} CPU s");
    Ok(())
}

fn large_flight() -> Fallible<String> {
    let mut text = "Flight(title: \"Many\", base: [\"distilled\", \"hill spring\"], \
                    bottle: \"500 mL\", convention: MadeUpToALitre, targets: [\n"
        .to_owned();
    for n in 0..TARGETS {
        let (hardness, alkalinity) = (20 + n % 100, 10 + n / 100);
        writeln!(
            text,
            "Target(name: \"w{n}\", goals: (hardness: \"{hardness} mg/L as CaCO3\", alkalinity: \
             \"{alkalinity} mg/L as CaCO3\", sodium: \"at most 10 mg/L\")),"
        )?;
    }
    Ok(text + "])\n")
}

/// A session with its scores, made on a bench of its own, so that making a thousand stays linear.
fn add_session(bench: &Path, workshop: &Path, n: usize) -> Fallible<()> {
    let (name, seed) = (format!("first-flight-{n}"), n.to_string());
    let plan = ["session", "plan", "--name", &name, "--tasters", "ann,bo,cy,di", "--seed", &seed];
    run(workshop, &[plan.as_slice(), &["--attribute", "liking, 0 to 10"]].concat())?;
    let session = SessionFolder::open(workshop, &name).map_err(|d| d.details().title.clone())?;
    let mut rows = "taster,code,liking\n".to_owned();
    for (n, tray) in session.plan.trays.iter().enumerate() {
        for (place, code) in tray.cups.iter().enumerate() {
            let score = (code.to_string().bytes().map(usize::from).sum::<usize>() + n * place) % 9;
            writeln!(rows, "{},{code},{score}", tray.taster)?;
        }
    }
    fs::write(workshop.join("rows.csv"), rows)?;
    run(workshop, &["session", "score", &name, "--csv", "rows.csv"])?;
    run(workshop, &["session", "reveal", &name])?;
    let sessions = bench.join("sessions");
    fs::create_dir_all(&sessions)?;
    fs::rename(workshop.join("sessions").join(&name), sessions.join(&name))?;
    Ok(())
}

fn many_sessions(folder: &Path) -> Fallible<()> {
    let sessions = std::env::var("SESSIONS").ok().and_then(|n| n.parse().ok()).unwrap_or(100);
    let (bench, workshop) = (folder.join("sessions"), folder.join("workshop"));
    starter::start(&bench)?;
    starter::start(&workshop)?;
    for n in 1..=sessions {
        add_session(&bench, &workshop, n)?;
    }
    let of = |what: &str| format!("{what}, {sessions} revealed sessions");
    measured(&of("journal for the first time"), 1, || run(&bench, &["journal"]))?;
    measured(&of("journal"), RUNS, || run(&bench, &["journal"]))?;
    measured(&of("next for the first time"), 1, || run(&bench, &["next"]))?;
    measured(&of("next"), RUNS, || run(&bench, &["next"]))?;
    let plan = ["session", "plan", "--tasters", "ann,bo", "--attribute", "liking, 0 to 10"];
    measured(&of("session plan for the first time"), 1, || run(&bench, &plan))?;
    measured(&of("session plan"), RUNS, || run(&bench, &plan))
}

fn main() -> Fallible<()> {
    let folder = tempfile::tempdir()?;
    let flight = folder.path().join("flight");
    starter::start(&flight)?;
    measured("mix --json, a flight of eight", RUNS, || run(&flight, &["mix", "--json"]))?;
    fs::write(flight.join("flights/many.ron"), large_flight()?)?;
    let what = format!("mix --json, {TARGETS} targets");
    measured(&what, RUNS, || run(&flight, &["mix", "many", "--json"]))?;
    many_sessions(folder.path())?;
    let logs = folder.path().join("logs");
    starter::start(&logs)?;
    let weighed = ["weighed", "calcium", "--salt", "150 g", "--water", "850 g"];
    run(&logs, &weighed)?;
    let file = logs.join("records/batches.jsonl");
    let first = fs::read_to_string(&file)?;
    // Formats of today are read whatever else their lines gain: number and batch alone differ.
    let mut lines = String::new();
    for n in 1..=LINES {
        let line = first.replacen("\"batch\":1,", &format!("\"batch\":{n},"), 1);
        lines += &line.replacen("\"n\":1,", &format!("\"n\":{n},"), 1);
    }
    fs::write(file, lines)?;
    let what = format!("stocktake, {LINES} batches on record");
    measured(&what, RUNS, || run(&logs, &["stocktake"]))
}
