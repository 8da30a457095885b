//! The program asked in a bench folder, and what it answered in JSON.

use std::error::Error;
use std::path::Path;

use crate::common::program;
use serde_json::Value;

/// A command: whether it ended well, what it printed, and its mistakes.
pub(crate) fn tried(
    bench: &Path,
    arguments: &[&str],
) -> Result<(bool, String, String), Box<dyn Error>> {
    let output = program()?.current_dir(bench).args(arguments).output()?;
    let (out, errors) = (String::from_utf8(output.stdout)?, String::from_utf8(output.stderr)?);
    Ok((output.status.success(), out, errors))
}

/// What a command prints that must end well.
pub(crate) fn run(bench: &Path, arguments: &[&str]) -> Result<String, Box<dyn Error>> {
    let (done, out, errors) = tried(bench, arguments)?;
    assert!(done, "{arguments:?}: {errors}");
    Ok(out)
}

/// Whether a command ended well, and all that it printed, its mistakes behind.
pub(crate) fn said(bench: &Path, arguments: &[&str]) -> Result<(bool, String), Box<dyn Error>> {
    let (done, out, errors) = tried(bench, arguments)?;
    Ok((done, out + &errors))
}

/// All that a command prints that must end well.
pub(crate) fn done(bench: &Path, arguments: &[&str]) -> Result<String, Box<dyn Error>> {
    let (done, text) = said(bench, arguments)?;
    if done { Ok(text) } else { Err(text.into()) }
}

/// A line of a command split at blanks; single quotes hold words together.
pub(crate) fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '\'' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().into_iter().for_each(|word| word.push(c)),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

/// The whole of it with its words on one line, so that where a line breaks does not count.
pub(crate) fn one_line(bench: &Path, arguments: &[&str]) -> Result<String, Box<dyn Error>> {
    let full: &[&str] = if arguments.contains(&"--full") { &[] } else { &["--full"] };
    Ok(run(bench, &[arguments, full].concat())?.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// The JSON document of a command that must end well.
pub(crate) fn json(bench: &Path, arguments: &[&str]) -> Result<Value, Box<dyn Error>> {
    let mut command = program()?;
    let output = command.current_dir(bench).args(arguments).arg("--json").output()?;
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    Ok(serde_json::from_slice(&output.stdout)?)
}

/// The number at a place of an answer.
pub(crate) fn number(of: &Value, path: &str) -> Result<f64, Box<dyn Error>> {
    of.pointer(path).and_then(Value::as_f64).ok_or_else(|| format!("no number at {path}").into())
}
