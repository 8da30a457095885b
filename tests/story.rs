//! The README as a newcomer would follow it: every `console` block is run, in order, and what it
//! shows must be what the program prints. A line `…` stands for any lines left out.

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::program;

type Fallible = Result<(), Box<dyn Error>>;

/// A command of the README with the lines it is said to print.
struct Step {
    command: String,
    shown: Vec<String>,
}

fn steps(readme: &str) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::new();
    let mut inside = false;
    for line in readme.lines() {
        if line.starts_with("```") {
            inside = line == "```console";
        } else if inside {
            match (line.strip_prefix("$ "), steps.last_mut()) {
                (Some(command), _) => {
                    steps.push(Step { command: command.to_owned(), shown: Vec::new() });
                }
                (None, Some(step)) => step.shown.push(line.to_owned()),
                (None, None) => {}
            }
        }
    }
    steps
}

/// Words of a command line; quotes hold words together.
fn words(command: &str) -> Vec<String> {
    command
        .split('"')
        .enumerate()
        .flat_map(|(n, piece)| match n % 2 {
            0 => piece.split_whitespace().map(str::to_owned).collect(),
            _ => vec![piece.to_owned()],
        })
        .collect()
}

/// Whether the shown lines are the printed ones, `…` standing for any number of them.
fn agrees(shown: &[String], printed: &[&str]) -> bool {
    match shown.split_first() {
        None => printed.is_empty(),
        Some((line, rest)) if line == "…" => {
            (0..=printed.len()).any(|n| printed.get(n..).is_some_and(|p| agrees(rest, p)))
        }
        Some((line, rest)) => {
            printed.split_first().is_some_and(|(p, more)| line == p && agrees(rest, more))
        }
    }
}

#[test]
fn the_readme_is_true() -> Fallible {
    let readme = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md"))?;
    let folder = tempfile::tempdir()?;
    let mut run = 0;
    for step in steps(&readme) {
        let words = words(&step.command);
        let mut words = words.iter().map(String::as_str).peekable();
        let mut place = folder.path();
        match words.next() {
            Some("waterflight") => {}
            Some("cargo") => {
                // `cargo run --release -- …` is the program, run where the README lies;
                // `cargo test` is this very run.
                place = Path::new(env!("CARGO_MANIFEST_DIR"));
                if words.next() != Some("run") {
                    continue;
                }
                while words.next_if(|w| *w != "--").is_some() {}
                words.next();
            }
            other => return Err(format!("the README shows `{other:?}`").into()),
        }
        let output = program()?.current_dir(place).args(words).output()?;
        let printed = String::from_utf8([output.stdout, output.stderr].concat())?;
        let printed: Vec<&str> = printed.lines().collect();
        assert!(agrees(&step.shown, &printed), "`{}` prints\n{}", step.command, printed.join("\n"));
        run += 1;
    }
    assert!(run >= 5, "only {run} steps");
    Ok(())
}
