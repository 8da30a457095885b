//! Every command that takes a name takes it in every spelling: in any case, with hyphens or blanks, by the
//! name of its file, with the name of its flight or session before it.

use std::error::Error;
use std::path::{Path, PathBuf};

use crate::common::starter_bench;

type Fallible = Result<(), Box<dyn Error>>;

/// What a command answers, as one document where it gives one.
fn answer(bench: &Path, arguments: &[&str]) -> Result<String, Box<dyn Error>> {
    let json: &[&str] = if arguments.first() == Some(&"export") { &[] } else { &["--json"] };
    let output =
        crate::common::program()?.current_dir(bench).args(arguments).args(json).output()?;
    if output.status.success() {
        return Ok(String::from_utf8(output.stdout)?);
    }
    Err(format!("{arguments:?}: {}", String::from_utf8(output.stderr)?).into())
}

/// A bench with two flights and two revealed sessions.
fn bench() -> Result<(tempfile::TempDir, PathBuf), Box<dyn Error>> {
    let (folder, bench) = starter_bench()?;
    let vary = "hardness=20..60 mg/L as CaCO3";
    let ladder = ["ladder", "soft", "--vary", vary, "--steps", "2", "--into", "Second Flight"];
    answer(&bench, &ladder)?;
    let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo", "--seed", "one"];
    let of = ["--name", "Autumn", "--water", "soft", "--water", "hard", "--attribute", "liking"];
    answer(&bench, &[&plan[..], &of].concat())?;
    answer(&bench, &["session", "reveal", "Autumn", "--force", "a test"])?;
    answer(&bench, &["session", "plan", "first-flight", "--tasters", "ann", "--seed", "two"])?;
    Ok((folder, bench))
}

/// The command with the name as it stands in the file, and with others that mean the same.
fn alike(bench: &Path, command: &[&str], name: &str, others: &[&str]) -> Fallible {
    let with = |name: &str| -> Vec<String> {
        command.iter().map(|word| word.replace("NAME", name)).collect()
    };
    let said = |name: &str| {
        let words = with(name);
        answer(bench, &words.iter().map(String::as_str).collect::<Vec<_>>())
    };
    let wanted = said(name)?;
    for other in others {
        let found = said(other)?;
        assert!(found == wanted, "{command:?} with `{other}`:\n{found}\ninstead of\n{wanted}");
    }
    Ok(())
}

#[test]
fn stocks_flights_and_sessions() -> Fallible {
    let (_folder, bench) = bench()?;
    for command in [&["stock", "NAME"][..], &["weigh", "NAME"], &["verify", "NAME"]] {
        let others = ["Table Salt", "table-salt", "TABLE-SALT.ron", " table salt "];
        alike(&bench, command, "table salt", &others)?;
    }
    for command in [
        &["mix", "NAME"][..],
        &["mix", "NAME", "--nearest-to", "NAME/soft"],
        &["advise", "NAME"],
        &["export", "targets", "NAME"],
        &["export", "planned", "NAME"],
        &["next", "NAME", "--over", "hardness", "--waters", "2"],
        &["why", "soft", "--flight", "NAME"],
        &["alternatives", "soft", "--flight", "NAME"],
    ] {
        alike(
            &bench,
            command,
            "first-flight",
            &["First-Flight", "first flight", "first-flight.ron"],
        )?;
    }
    for command in [
        &["session", "sheet", "NAME", "--for", "server"][..],
        &["session", "sheet", "NAME", "--for", "pourer"],
        &["session", "progress", "NAME"],
        &["session", "results", "NAME"],
    ] {
        alike(&bench, command, "Autumn", &["autumn", "AUTUMN", " Autumn"])?;
    }
    Ok(())
}

#[test]
fn waters_of_flights_and_sessions() -> Fallible {
    let (_folder, bench) = bench()?;
    let target = ["SOFT", "first-flight/soft", "First Flight/Soft", "first-flight.ron/soft"];
    for command in [
        &["why", "NAME"][..],
        &["alternatives", "NAME"],
        &["batch", "NAME", "--make", "20 L"],
        &["concentrate", "NAME"],
        &["water", "NAME"],
        &["read", "NAME", "120"],
    ] {
        alike(&bench, command, "soft", &target)?;
    }
    // A number is the place in a flight, where one is named.
    alike(&bench, &["why", "NAME"], "first-flight/soft", &["first-flight/1"])?;
    for command in [&["water", "NAME"][..], &["read", "NAME", "53"], &["concentrate", "NAME"]] {
        alike(&bench, command, "hill spring", &["Hill Spring", "hill-spring", "HILL-SPRING.ron"])?;
    }
    for command in [
        &["batch", "NAME", "--make", "20 L"][..],
        &["concentrate", "NAME"],
        &["water", "NAME"],
        &["read", "NAME", "120"],
    ] {
        // A water is called as it was asked for.
        let called = |text: String| text.replace("autumn/SOFT", "Autumn/soft");
        let words = |name: &str| -> Vec<String> {
            command.iter().map(|word| word.replace("NAME", name)).collect()
        };
        let said = |name: &str| {
            let words = words(name);
            answer(&bench, &words.iter().map(String::as_str).collect::<Vec<_>>())
        };
        assert_eq!(called(said("autumn/SOFT")?), said("Autumn/soft")?, "{command:?}");
    }
    Ok(())
}

/// What is recorded or written is the same, whatever the spelling; each in a bench of its own.
#[test]
fn what_is_recorded() -> Fallible {
    let salt = ["--salt", "40 g", "--total", "1 kg", "--date", "2026-03-01"];
    let plan = |name: &'static str, water: &'static str| {
        let tasters = ["--tasters", "ann, bo", "--seed", "one", "--name", "spring"];
        let mut words = vec!["session", "plan"];
        if !name.is_empty() {
            words.push(name);
        }
        words.extend(tasters);
        words.extend(["--water", water, "--water", "hard", "--attribute", "liking"]);
        words
    };
    let pour = |name: &'static str, water: &'static str| {
        vec!["poured", name, "--water", water, "--date", "2026-03-01"]
    };
    let step = |more: [&'static str; 2]| {
        let mut words = vec!["ladder", more[0], "--vary", "hardness=20..60 mg/L as CaCO3"];
        words.extend(["--steps", "2", "--into", "rungs"]);
        if !more[1].is_empty() {
            words.extend(["--flight", more[1]]);
        }
        words
    };
    let weighed = |name: &'static str| [&["weighed", name][..], &salt].concat();
    for (wanted, others) in [
        (weighed("epsom"), vec![weighed("EPSOM"), weighed("epsom.ron")]),
        (
            plan("first-flight", "soft"),
            vec![
                plan("First-Flight", "SOFT"),
                plan("", "first-flight/soft"),
                plan("first-flight", "first flight/Soft"),
                plan("first-flight", "1"),
            ],
        ),
        (
            pour("first-flight", "soft"),
            vec![pour("FIRST-FLIGHT", "Soft"), pour("first-flight", "first-flight/soft")],
        ),
        (
            step(["soft", "first-flight"]),
            vec![step(["SOFT", ""]), step(["first-flight/soft", ""]), step(["1", "First Flight"])],
        ),
    ] {
        let said = |words: &[&str]| -> Result<String, Box<dyn Error>> {
            let (_folder, bench) = bench()?;
            let said = answer(&bench, words)?;
            // The folder is another one each time.
            Ok(said.replace(&bench.display().to_string(), "BENCH"))
        };
        let first = said(&wanted)?;
        for other in others {
            let found = said(&other)?;
            assert!(same(&found, &first), "{other:?}:\n{found}\ninstead of\n{first}");
        }
    }
    Ok(())
}

/// The same document, but for what is drawn anew or named after the folder.
fn same(found: &str, wanted: &str) -> bool {
    let lines = |text: &str| -> Vec<String> {
        let kept =
            text.lines().filter(|line| !line.contains("\"folder\"") && !line.contains("BENCH"));
        kept.map(str::to_owned).collect()
    };
    lines(found) == lines(wanted)
}
