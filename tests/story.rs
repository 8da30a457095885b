//! The README and the handbook as a newcomer would follow them: every `console` block is run, in order, and
//! what it shows must be what the program prints. A line `…` stands for any lines left out. An `sh` block is typed
//! as it stands: files written by `cat`, and commands that must end well.

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::words;
use crate::common::program;

type Fallible = Result<(), Box<dyn Error>>;

/// A command of a page with the lines it is said to print, or a file that is typed.
struct Step {
    command: String,
    /// `None` where it only has to end well.
    shown: Option<Vec<String>>,
}

/// Between this and a line `END` stands a file.
const FILE: &str = "cat > ";

fn steps(page: &str) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::new();
    let mut block = "";
    let mut in_a_file = false;
    for line in page.lines() {
        if line.starts_with("```") {
            block = line;
        } else if block == "```sh" {
            match steps.last_mut().filter(|_| in_a_file) {
                Some(_) if line == "END" => in_a_file = false,
                Some(file) => file.command.push_str(&format!("{line}\n")),
                None => {
                    in_a_file = line.starts_with(FILE);
                    let command = line.replace(" <<'END'", "\n");
                    steps.push(Step { command, shown: None });
                }
            }
        } else if block == "```console" {
            match (line.strip_prefix("$ "), steps.last_mut().and_then(|s| s.shown.as_mut())) {
                (Some(command), _) => {
                    steps.push(Step { command: command.to_owned(), shown: Some(Vec::new()) });
                }
                (None, Some(shown)) => shown.push(line.to_owned()),
                (None, None) => {}
            }
        }
    }
    steps
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
    is_true("README.md")
}

#[test]
fn the_handbook_is_true() -> Fallible {
    is_true("src/handbook.md")
}

/// Follows a page from its first line, in an empty folder.
fn is_true(page: &str) -> Fallible {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(page))?;
    let folder = tempfile::tempdir()?;
    let mut run = 0;
    for step in steps(&text) {
        if let Some((name, text)) = step.command.strip_prefix(FILE).and_then(|s| s.split_once('\n'))
        {
            fs::write(folder.path().join(name), text)?;
            continue;
        }
        let words = words(&step.command);
        let mut words = words.iter().map(String::as_str).peekable();
        let mut place = folder.path();
        match words.next() {
            Some("waterflight") => {}
            Some("cargo") => {
                // `cargo run --release -- …` is the program, run where the page lies;
                // `cargo test` is this very run.
                place = Path::new(env!("CARGO_MANIFEST_DIR"));
                if words.next() != Some("run") {
                    continue;
                }
                while words.next_if(|w| *w != "--").is_some() {}
                words.next();
            }
            other => return Err(format!("{page} shows `{other:?}`").into()),
        }
        let output = program()?.current_dir(place).args(words).output()?;
        let printed = String::from_utf8([output.stdout, output.stderr].concat())?;
        let printed: Vec<&str> = printed.lines().collect();
        let agreed = match &step.shown {
            Some(shown) => agrees(shown, &printed),
            None => output.status.success(),
        };
        assert!(agreed, "{page}: `{}` prints\n{}", step.command, printed.join("\n"));
        run += 1;
    }
    assert!(run >= 5, "only {run} steps");
    Ok(())
}
