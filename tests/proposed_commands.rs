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

/// What stands between backticks and is a command of the program.
fn proposed(text: &str) -> Vec<&str> {
    text.split('`').skip(1).step_by(2).filter(|part| part.starts_with("waterflight ")).collect()
}

/// A session of the starter bench, and the folder from which its commands are typed with `--bench`.
fn planned(name: &str, more: &[&str]) -> Fallible<(tempfile::TempDir, std::path::PathBuf)> {
    let (folder, bench) = starter_bench()?;
    let weighed = ["weighed", "calcium", "--salt", "30 g", "--total", "1000 g"];
    done(&bench, &[&weighed[..], &["--date", "2026-03-01"]].concat())?;
    let plan = ["session", "plan", "--name", name, "--tasters", "ann, bo", "--seed", "x"];
    let waters = ["--water", "soft", "--water", "middle", "--water", "hard"];
    done(&bench, &[&plan[..], &waters[..], more].concat())?;
    Ok((folder, bench))
}

/// A way out of a mistake is for the bench that was named, and not for that of the folder.
#[test]
fn ways_out_of_mistakes_name_the_bench() -> Fallible<()> {
    let (folder, bench) = planned("night", &[])?;
    let pour = ["session", "poured", "night", "--bench"];
    let run = || Ok::<_, Box<dyn Error>>(program()?.args(pour).arg(&bench).output()?);
    assert!(run()?.status.success());
    let refused = run()?;
    assert!(!refused.status.success());
    let refused = words(&refused);
    let command = proposed(&refused).first().copied().ok_or_else(|| refused.clone())?;
    let undone = typed(command, folder.path())?;
    assert!(undone.status.success(), "{command}: {}", words(&undone));
    assert!(run()?.status.success());
    Ok(())
}

/// However wide a command is, it can be copied: no line break stands in it.
#[test]
fn a_proposed_command_stands_in_one_line() -> Fallible<()> {
    let folder = tempfile::tempdir()?;
    let bench =
        folder.path().join("a bench of coffee waters with a long name, kept somewhere else");
    assert!(program()?.arg("new").arg(&bench).output()?.status.success());
    let said = words(&program()?.args(["weigh", "calcium", "--bench"]).arg(&bench).output()?);
    let record = proposed(&said).into_iter().find(|c| c.starts_with("waterflight weighed"));
    let record = record.ok_or_else(|| said.clone())?;
    assert!(!record.contains('\n') && record.contains("somewhere else\""), "{record}");
    Ok(())
}

/// What the pourer's sheet proposes takes what the sheet says, with the secret that opened it.
#[test]
fn the_proposed_pour_takes_what_the_sheet_says() -> Fallible<()> {
    let secret = tempfile::tempdir()?;
    let file = secret.path().join("the secret").display().to_string();
    let (_folder, bench) = planned("night", &["--key", &file])?;
    let margin = ["--least", "1.1 L", "--spare", "20 %"];
    let sheet = ["session", "sheet", "night", "--for", "pourer", "--key", &file];
    let asked = done(&bench, &[&sheet[..], &margin[..]].concat())?;
    let command = proposed(&asked).into_iter().find(|c| c.contains("session poured"));
    let command = command.ok_or_else(|| asked.clone())?;
    let taken = typed(&format!("{command} --json"), &bench)?;
    assert!(taken.status.success(), "{command}: {}", words(&taken));
    let taken: serde_json::Value = serde_json::from_slice(&taken.stdout)?;
    let sheet = done(&bench, &[&sheet[..], &margin[..], &["--json"]].concat())?;
    let sheet: serde_json::Value = serde_json::from_str(&sheet)?;
    let ml = |of: &serde_json::Value, list: &str| -> Vec<String> {
        let list = of.get(list).and_then(serde_json::Value::as_array);
        list.into_iter().flatten().map(|one| one["ml"].to_string()).collect()
    };
    assert!(!ml(&taken, "taken").is_empty());
    assert_eq!(ml(&taken, "taken"), ml(&sheet, "stocks"));
    Ok(())
}

/// A name that would be read as an option is refused where it is new; one with `!` can be typed.
#[test]
fn new_names_can_be_typed_behind_a_command() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    let ready = ["targets", "EPA soft"];
    let (made, said) = said(&bench, &[&ready[..], &["--into=-evening"]].concat())?;
    assert!(!made && said.contains("the first is no -"), "{said}");
    let planned = ["session", "plan", "first-flight", "--tasters", "wow!nice", "--name"];
    let plan = |name: &str| crate::common::answers::said(&bench, &[&planned[..], &[name]].concat());
    done(&bench, &[&planned[..], &["night"]].concat())?;
    let next = done(&bench, &["session", "progress", "night"])?;
    assert!(next.contains("session score night 'wow!nice' "), "{next}");
    let (made, said) = plan("--name=-night")?;
    assert!(!made, "{said}");
    Ok(())
}

/// What belongs into a command in the place of `…` stands beside it, so that a shell reads the command.
#[test]
fn what_is_left_open_stands_beside_the_command() -> Fallible<()> {
    let (folder, bench) = planned("night", &["--method", "ranking"])?;
    let said = program()?.args(["session", "progress", "night", "--bench"]).arg(&bench).output()?;
    let said = words(&said);
    let next = said.lines().find(|line| line.starts_with("next: ")).ok_or("nothing is next")?;
    let command = next.trim_start_matches("next: ");
    assert!(!command.contains('(') && command.contains("--bench"), "{said}");
    assert!(said.contains("in the place of `…`: all of "), "{said}");
    let run = typed(command, folder.path())?;
    assert!(!words(&run).contains("yntax"), "{}", words(&run));
    Ok(())
}

/// A water that is out of reach is named in the command that says why.
#[test]
fn why_is_proposed_with_its_target() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    let flight = "Flight(title: \"f\", base: [\"distilled\"], bottle: \"500 mL\", targets: [Target(name: \
                  \"odd one\", goals: (calcium: \"0 mg/L\", hardness: \"90 mg/L as CaCO3\", magnesium: \
                  \"0 mg/L\"))])";
    fs::write(bench.join("flights/f.ron"), flight)?;
    let said = done(&bench, &["alternatives", "odd one", "--flight", "f"])?;
    let command = proposed(&said).first().copied().ok_or_else(|| said.clone())?;
    let run = typed(command, &bench)?;
    assert!(words(&run).contains("odd one"), "{command}: {}", words(&run));
    Ok(())
}
