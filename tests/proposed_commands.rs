//! Commands that the program proposes do as they are typed into a shell.
#![cfg(unix)]

use std::error::Error;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use crate::common::answers::{done, said};
use crate::common::{program, starter_bench};

type Fallible<T> = Result<T, Box<dyn Error>>;

fn words(output: &Output) -> String {
    format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    )
}

/// A proposal as a shell of this computer runs it, in a folder that is no bench.
fn typed(command: &str, folder: &Path) -> Fallible<Output> {
    let program = program()?;
    let own = Path::new(program.get_program()).parent().ok_or("no folder")?.to_owned();
    let path = format!("{}:{}", own.display(), std::env::var("PATH").unwrap_or_default());
    Ok(Command::new("sh")
        .args(["-c", command])
        .env("PATH", path)
        .env("XDG_STATE_HOME", crate::common::state())
        .current_dir(folder)
        .output()?)
}

/// What stands behind `Next: `, in one line.
fn next(text: &str) -> Fallible<String> {
    let at = text.find("Next: ").ok_or_else(|| format!("nothing is next: {text}"))?;
    Ok(text.get(at + 6..).and_then(|rest| rest.lines().next()).ok_or("no line")?.to_owned())
}

/// A bench, a flight of ready targets and a ladder whose names need quotes.
#[test]
fn names_that_need_quotes_have_them() -> Fallible<()> {
    let elsewhere = tempfile::tempdir()?;
    let bench = elsewhere.path().join("my b'ench $HOME");
    let made = program()?.arg("new").arg(&bench).output()?;
    let command = next(&words(&made))?;
    let run = typed(&command, elsewhere.path())?;
    assert!(run.status.success(), "{command}: {}", words(&run));
    let ladder = ["ladder", "middle", "--vary", "hardness=40..80 mg/L as CaCO3", "--steps", "3"];
    let ready = ["targets", "EPA soft"];
    for (made_by, into) in [(ladder.to_vec(), "har d ness"), (ready.to_vec(), "cl as")] {
        let made =
            program()?.args(made_by).args(["--into", into, "--bench"]).arg(&bench).output()?;
        let command = next(&words(&made))?;
        let run = typed(&command, elsewhere.path())?;
        assert!(run.status.success(), "{command}: {}", words(&run));
    }
    Ok(())
}

/// What is between backticks names the flight, where there are several, and the bench.
#[test]
fn hints_name_the_flight_and_the_bench() -> Fallible<()> {
    let (folder, bench) = starter_bench()?;
    fs::copy(bench.join("flights/first-flight.ron"), bench.join("flights/another.ron"))?;
    let weighed =
        ["weighed", "epsom", "--salt", "40 g", "--total", "1000 g", "--date", "2026-03-02"];
    for command in [vec!["mix", "first-flight", "--full"], weighed.to_vec()] {
        let said = words(&program()?.args(command).arg("--bench").arg(&bench).output()?);
        let proposed: Vec<&str> =
            said.split('`').skip(1).step_by(2).filter(|c| c.starts_with("waterflight ")).collect();
        let verbs = ["waterflight why", "waterflight undo"];
        let proposed: Vec<&&str> =
            proposed.iter().filter(|c| verbs.iter().any(|verb| c.starts_with(verb))).collect();
        assert!(!proposed.is_empty(), "{said}");
        for command in proposed {
            let run = typed(command, folder.path())?;
            assert!(run.status.success(), "{command}: {}", words(&run));
        }
    }
    Ok(())
}

/// A reading of a flight that was poured with another batch says so.
#[test]
fn a_reading_tells_of_another_batch_since_the_pour() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    let run = |command: &[&str]| -> Fallible<String> { Ok(said(&bench, command)?.1) };
    run(&["weighed", "calcium", "--salt", "30 g", "--total", "1000 g", "--date", "2026-03-01"])?;
    run(&["poured", "--date", "2026-03-02"])?;
    let said = run(&["read", "sulfate side", "300"])?;
    assert!(!said.contains("another strength"), "{said}");
    run(&["weighed", "calcium", "--salt", "15 g", "--total", "1000 g", "--date", "2026-03-10"])?;
    let said = run(&["read", "sulfate side", "300"])?;
    assert!(said.contains("today's plan"), "{said}");
    assert!(said.contains("calcium had another strength then"), "{said}");
    Ok(())
}

/// A water of a session is the one that its flight pours, and where doses are not known no slip is
/// denied.
#[test]
fn a_reading_is_explained_where_the_doses_are_known() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    let run = |command: &[&str]| -> Fallible<String> { Ok(said(&bench, command)?.1) };
    run(&["session", "plan", "first-flight", "--tasters", "ann, bo, cy", "--name", "autumn"])?;
    for name in ["middle", "autumn/middle"] {
        let said = run(&["read", name, "330"])?;
        assert!(said.contains("forgotten"), "{said}");
    }
    for (name, words) in [("2x middle", "doses are not"), ("distilled", "Nothing is poured")] {
        let said = run(&["read", name, "330"])?;
        assert!(said.contains(words) && !said.contains("No single slip"), "{said}");
    }
    // Other stocks would make another water of those doses: what is not known is not guessed.
    run(&["weighed", "calcium", "--salt", "15 g", "--total", "1000 g"])?;
    let said = run(&["read", "autumn/middle", "330"])?;
    assert!(said.contains("doses are not"), "{said}");
    Ok(())
}

/// Water that is not priced counts as nothing, and the first screen says so.
#[test]
fn what_counts_as_nothing_is_said_on_the_first_screen() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    let file = bench.join("bench.ron");
    let priced = fs::read_to_string(&file)?;
    let lines = priced.lines().filter(|line| !line.contains("distilled_price"));
    fs::write(&file, lines.collect::<Vec<_>>().join("\n"))?;
    let flight = "Flight(title: \"f\", base: [\"distilled\"], bottle: \"500 mL\", prefer: LeastCost, \
                  targets: [Target(name: \"a\", goals: (hardness: \"60 mg/L as CaCO3\"))])";
    fs::write(bench.join("flights/f.ron"), flight)?;
    let said = done(&bench, &["mix", "f"])?;
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("no price is stated for distilled: counted as nothing"), "{said}");
    assert!(said.contains("`distilled_price: \"0.40 per L\"` in bench.ron"), "{said}");
    Ok(())
}
