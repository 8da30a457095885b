//! The program asked in a bench folder, and what it answered in JSON.

use std::error::Error;
use std::ffi::OsStr;
use std::path::Path;

use crate::common::program;
use serde_json::Value;

/// A command that reads what is `typed`: its exit status, what it printed, and its mistakes.
pub(crate) fn ended<Word: AsRef<OsStr>>(
    bench: &Path,
    arguments: &[Word],
    typed: &str,
) -> Result<(i32, String, String), Box<dyn Error>> {
    let output = program()?.current_dir(bench).args(arguments).write_stdin(typed).output()?;
    let status = output.status.code().ok_or("ended by a signal")?;
    Ok((status, String::from_utf8(output.stdout)?, String::from_utf8(output.stderr)?))
}

/// A command: whether it ended well, what it printed, and its mistakes.
pub(crate) fn tried(
    bench: &Path,
    arguments: &[&str],
) -> Result<(bool, String, String), Box<dyn Error>> {
    let (status, out, errors) = ended(bench, arguments, "")?;
    Ok((status == 0, out, errors))
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

/// A line of a command split at blanks; quotes hold words together.
pub(crate) fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quote = None;
    for c in line.chars() {
        match c {
            '\'' | '"' if quote.is_none_or(|open| open == c) => {
                quote = if quote.is_none() { Some(c) } else { None };
            }
            ' ' if quote.is_none() => words.push(String::new()),
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
    Ok(serde_json::from_str(&run(bench, &[arguments, &["--json"]].concat())?)?)
}

/// The number at a place of an answer.
pub(crate) fn number(of: &Value, path: &str) -> Result<f64, Box<dyn Error>> {
    of.pointer(path).and_then(Value::as_f64).ok_or_else(|| format!("no number at {path}").into())
}

/// The text there.
pub(crate) fn text<'a>(of: &'a Value, path: &str) -> Result<&'a str, Box<dyn Error>> {
    of.pointer(path).and_then(Value::as_str).ok_or_else(|| format!("no text at {path}").into())
}

/// The list there.
pub(crate) fn list<'a>(of: &'a Value, path: &str) -> Result<&'a Vec<Value>, Box<dyn Error>> {
    of.pointer(path).and_then(Value::as_array).ok_or_else(|| format!("no list at {path}").into())
}
