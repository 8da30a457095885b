//! The program asked in a bench folder, and what it answered in JSON.

use std::error::Error;
use std::path::Path;

use crate::common::program;
use serde_json::Value;

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
