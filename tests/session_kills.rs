//! Runs that enter scores, killed at random moments: every confirmed entry is in the log, what was
//! torn is kept aside, and the next entry can be written.

use std::error::Error;
use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use crate::common::starter_bench;
use assert_cmd::cargo::cargo_bin;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use waterflight::bench::session_folder::SessionFolder;
use waterflight::files::Diagnostic;
use waterflight::session::plan::Plan;
use waterflight::session::score::{Answer, Entry, ScoreLog};

type Fallible = Result<(), Box<dyn Error>>;

/// Rounds of killing for each way of entering.
const ROUNDS: usize = 25;

/// Another seed on every run, printed when a test fails; `KILL_SEED` runs one again.
fn seed() -> Result<u64, Box<dyn Error>> {
    match std::env::var("KILL_SEED") {
        Ok(seed) => Ok(seed.parse()?),
        Err(_) => Ok(u64::try_from(SystemTime::now().duration_since(UNIX_EPOCH)?.as_nanos() >> 8)?),
    }
}

fn session(bench: &Path) -> Result<SessionFolder, Diagnostic> {
    SessionFolder::open(bench, "killed")
}

fn score_log(session: &SessionFolder) -> Result<ScoreLog, Diagnostic> {
    session.score_log()
}

fn planned(bench: &Path) -> Result<(SessionFolder, Vec<String>), Box<dyn Error>> {
    let plan =
        "session plan --name killed --tasters ann,bo,cy,di --rounds 2 --attribute body --seed kill";
    let done = Command::new(cargo_bin("waterflight"))
        .env("XDG_STATE_HOME", crate::common::state())
        .current_dir(bench)
        .args(plan.split(' '))
        .output()?;
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    let session = session(bench)?;
    let lines = entries(&session.plan);
    Ok((session, lines))
}

/// One line for every cup, each with a note of its own that shows whether it is whole.
fn entries(plan: &Plan) -> Vec<String> {
    let cups = plan.trays.iter().flat_map(|t| t.cups.iter().map(move |code| (&t.taster, code)));
    cups.enumerate()
        .map(|(n, (taster, code))| format!("{taster} {code} {} whole-{n}-whole", n % 11))
        .collect()
}

fn start(bench: &Path, arguments: &[&str]) -> Result<Child, Box<dyn Error>> {
    Ok(Command::new(cargo_bin("waterflight"))
        .env("XDG_STATE_HOME", crate::common::state())
        .current_dir(bench)
        .args(["session", "score", "killed"])
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()?)
}

/// The numbers of the lines that a run confirmed, each with its words.
fn confirmed(said: &str) -> impl Iterator<Item = (u64, &str)> {
    // A piece without its line break was not yet read by anyone.
    let whole = said.split_inclusive('\n').filter(|line| line.ends_with('\n'));
    whole.filter_map(|line| {
        let (number, words) = line.strip_prefix("line ")?.split_once(" is on disk: ")?;
        Some((number.parse().ok()?, words))
    })
}

/// The note of an answer, which holds whole words or the entry is torn.
fn note(entry: &Entry) -> Option<&str> {
    match entry {
        Entry::Answer(Answer::Scores { note, .. }) => note.as_deref(),
        _ => None,
    }
}

fn check(bench: &Path, ever: &[(u64, String)]) -> Fallible {
    let session = session(bench)?;
    let score_log = score_log(&session)?;
    for (number, words) in ever {
        let entry = &score_log.line(*number).ok_or(format!("line {number} is lost"))?.line.entry;
        let note = note(entry).ok_or("another entry stands there")?;
        if !words.contains(note) {
            return Err(format!("line {number} holds {note}, confirmed was {words}").into());
        }
    }
    for recorded in score_log.lines() {
        let whole = note(&recorded.line.entry)
            .is_some_and(|n| n.starts_with("whole-") && n.ends_with("-whole"));
        if !whole {
            return Err(format!("line {} is half an entry", recorded.line.n).into());
        }
    }
    Ok(())
}

/// Some pieces are left as a power cut would, which a kill alone hardly ever does.
fn tear(random: &mut StdRng, session: &SessionFolder) -> Fallible {
    let log = session.log_path();
    if random.random_bool(0.3) && log.exists() {
        let before = fs::read_to_string(&log)?;
        let piece = "{\"v\":1,\"n\":";
        fs::write(&log, format!("{before}{piece}"))?;
    }
    Ok(())
}

/// Whatever was torn is kept aside by the next writer, and the log goes on behind whole lines.
fn finish(bench: &Path, lines: &[String]) -> Fallible {
    let before = session(bench)?;
    let torn = before.torn()?;
    // Where nothing is owed nothing is written, and the piece stays where it is.
    let torn =
        torn.filter(|_| score_log(&before).is_ok_and(|score_log| score_log.missing_answers() > 0));
    let mut run = start(bench, &[])?;
    let mut input = run.stdin.take().ok_or("no input")?;
    // A line counts with its end.
    input.write_all((lines.join("\n") + "\n").as_bytes())?;
    drop(input);
    assert!(run.wait_with_output()?.status.success());
    let session = session(bench)?;
    assert_eq!(score_log(&session)?.missing_answers(), 0, "not every cup could be entered");
    if let Some(piece) = torn {
        let aside = fs::read_to_string(session.path.join("scores.jsonl.torn"))?;
        assert!(aside.contains(&piece), "{piece} was not kept aside");
    }
    Ok(())
}

#[test]
fn a_prompt_killed_at_any_moment_loses_nothing() -> Fallible {
    let seed = seed()?;
    killed_prompts(seed).map_err(|error| format!("KILL_SEED={seed}: {error}").into())
}

fn killed_prompts(seed: u64) -> Fallible {
    let mut random = StdRng::seed_from_u64(seed);
    let (_folder, bench) = starter_bench()?;
    let (folder, lines) = planned(&bench)?;
    let mut ever: Vec<(u64, String)> = Vec::new();
    for _ in 0..ROUNDS {
        let mut run = start(&bench, &[])?;
        let mut input = run.stdin.take().ok_or("no input")?;
        // What is there already is refused, so later rounds type from another place on.
        let from = random.random_range(0..lines.len());
        let typed = lines
            .iter()
            .cycle()
            .skip(from)
            .take(lines.len())
            .fold(String::new(), |text, line| text + line + "\n");
        let typing = std::thread::spawn(move || input.write_all(typed.as_bytes()));
        std::thread::sleep(Duration::from_micros(random.random_range(0..60_000)));
        run.kill()?;
        let said = String::from_utf8(run.wait_with_output()?.stdout)?;
        // The pipe may break under the one who types; that is what a kill does.
        let _broken = typing.join();
        ever.extend(confirmed(&said).map(|(number, words)| (number, words.to_owned())));
        check(&bench, &ever)?;
        tear(&mut random, &folder)?;
    }
    check(&bench, &ever)?;
    if ever.is_empty() {
        return Err("every run was killed before its first entry".into());
    }
    finish(&bench, &lines)
}

#[test]
fn commands_killed_at_any_moment_lose_nothing() -> Fallible {
    let seed = seed()?;
    killed_commands(seed).map_err(|error| format!("KILL_SEED={seed}: {error}").into())
}

fn killed_commands(seed: u64) -> Fallible {
    let mut random = StdRng::seed_from_u64(seed);
    let (_folder, bench) = starter_bench()?;
    let (folder, lines) = planned(&bench)?;
    let mut ever: Vec<(u64, String)> = Vec::new();
    for round in 0..2 * ROUNDS {
        let line = lines.get(round).ok_or("too few cups")?;
        let words: Vec<&str> = line.split(' ').collect();
        let [taster, code, body, note] = words.as_slice() else { return Err("words".into()) };
        let mut run = start(&bench, &[taster, code, body, "--note", note])?;
        std::thread::sleep(Duration::from_micros(random.random_range(0..15_000)));
        run.kill()?;
        let said = String::from_utf8(run.wait_with_output()?.stdout)?;
        ever.extend(confirmed(&said).map(|(number, words)| (number, words.to_owned())));
        check(&bench, &ever)?;
        tear(&mut random, &folder)?;
    }
    check(&bench, &ever)?;
    finish(&bench, &lines)
}
