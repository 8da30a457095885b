//! What a shell offers where a name is typed.

use std::error::Error;
use std::path::Path;

use crate::common::answers::run;
use crate::common::starter_bench;

type Fallible = Result<(), Box<dyn Error>>;

fn offered(bench: &Path, words: &[&str]) -> Result<Vec<String>, Box<dyn Error>> {
    let names = run(bench, &[&["names", "--"][..], words].concat())?;
    Ok(names.lines().map(str::to_owned).collect())
}

#[test]
fn each_command_is_offered_what_it_is_about() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo", "--name", "autumn"];
    run(&bench, &plan)?;
    for (words, has, has_not) in [
        (&["weigh"][..], &["epsom", "table salt"][..], &["first-flight", "soft"][..]),
        (&["mix", "--full"], &["first-flight", "first-flight/soft"], &["epsom", "soft"]),
        (&["mix", "--dispenser"], &["syringe"], &["first-flight"]),
        (&["session", "sheet"], &["autumn"], &["first-flight"]),
        (&["session", "plan"], &["first-flight"], &["autumn"]),
        (&["poured", "first-flight", "--water"], &["soft", "sulfate side"], &["harbour tap"]),
        (
            &["water"],
            &["harbour tap", "soft", "first-flight/sulfate side", "autumn/soft"],
            &["epsom", "first-flight"],
        ),
        (&["targets"], &["EPA soft", "first-flight/soft"], &["soft"]),
        (&["sources"], &[], &["epsom"]),
    ] {
        let names = offered(&bench, words)?;
        for name in has {
            assert!(names.iter().any(|n| n == name), "{words:?} lacks {name}: {names:?}");
        }
        for name in has_not {
            assert!(names.iter().all(|n| n != name), "{words:?} has {name}");
        }
    }
    // Without a bench there is nothing to offer, and no mistake either.
    let empty = tempfile::tempdir()?;
    assert!(offered(empty.path(), &["weigh"])?.is_empty());
    Ok(())
}

#[test]
fn scripts_of_other_shells_ask_for_names() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let zsh = run(&bench, &["completions", "zsh"])?;
    assert!(zsh.starts_with("#compdef waterflight\n"), "{zsh}");
    assert!(zsh.contains("waterflight names --") && zsh.contains(":_waterflight_names"));
    assert!(!zsh.contains(":_default"), "a place is left without names");
    let fish = run(&bench, &["completions", "fish"])?;
    assert!(fish.contains("waterflight names -- (commandline -opc)"));
    Ok(())
}

/// In a real bash: what Tab would offer behind these words.
#[cfg(unix)]
#[test]
fn bash_completes_names() -> Fallible {
    use std::process::Command;

    let (folder, bench) = starter_bench()?;
    let script = folder.path().join("completion.bash");
    std::fs::write(&script, run(&bench, &["completions", "bash"])?)?;
    let program = assert_cmd::cargo::cargo_bin("waterflight");
    let beside = program.parent().ok_or("no folder")?;
    let path = std::env::var("PATH")?;
    for (words, wanted) in [
        ("waterflight weigh tab", "table\\ salt"),
        ("waterflight weigh \"tab", "table salt"),
        ("waterflight weigh ep", "epsom"),
        ("waterflight mix fir", "first-flight"),
        ("waterflight mix --dispenser sy", "syringe"),
        ("waterflight water first-flight/sul", "first-flight/sulfate\\ side"),
        ("waterflight mix first-flight/sul", "first-flight/sulfate\\ side"),
        ("waterflight mix --dispenser s", "syringe"),
        ("waterflight session plan --water s", "soft"),
        ("waterflight targets first-flight/s", "first-flight/soft"),
    ] {
        // The words as bash splits them: blanks, and a quote that is still open.
        let list: Vec<String> = words.split(' ').map(|w| format!("'{w}'")).collect();
        let typed = format!(
            "source '{}'; COMP_WORDS=({}); COMP_CWORD=$((${{#COMP_WORDS[@]}} - 1)); \
             _waterflight_with_names waterflight; printf '%s\\n' \"${{COMPREPLY[@]}}\"",
            script.display(),
            list.join(" ")
        );
        let output = Command::new("bash")
            .args(["--norc", "-c", &typed])
            .current_dir(&bench)
            .env("PATH", format!("{}:{path}", beside.display()))
            .output()?;
        let offered = String::from_utf8(output.stdout)?;
        let errors = String::from_utf8(output.stderr)?;
        assert!(offered.lines().any(|line| line == wanted), "{words}: {offered}{errors}");
        // The folders of the bench are no names of anything.
        let is_folder = |line: &str| ["stocks", "flights", "waters"].contains(&line);
        assert!(!offered.lines().any(is_folder), "{words}: {offered}");
    }
    Ok(())
}
