//! One flight has one verdict: what `mix` can make is in reach for every command, and what it cannot
//! make is not, whether the salts, the dispenser, the stocks left or their number keep it out.

use std::error::Error;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::common::{program, starter_bench};

type Fallible = Result<(), Box<dyn Error>>;

/// A starter bench whose one flight is this one.
fn bench_of(flight: &str) -> Result<(tempfile::TempDir, PathBuf), Box<dyn Error>> {
    let (folder, bench) = starter_bench()?;
    std::fs::write(bench.join("flights/first-flight.ron"), flight)?;
    Ok((folder, bench))
}

/// What a command says, whether or not all waters have an answer.
fn said(bench: &Path, arguments: &[&str]) -> Result<String, Box<dyn Error>> {
    let output = program()?.args(arguments).arg("--bench").arg(bench).output()?;
    let text = String::from_utf8(output.stdout)? + &String::from_utf8(output.stderr)?;
    Ok(text.split_whitespace().collect::<Vec<_>>().join(" "))
}

fn json(bench: &Path, arguments: &[&str]) -> Result<Value, Box<dyn Error>> {
    let output = program()?.args(arguments).args(["--json", "--bench"]).arg(bench).output()?;
    Ok(serde_json::from_slice(&output.stdout)?)
}

/// Three bottles of each water take three times as much of what is left.
#[test]
fn what_is_left_is_for_all_bottles() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let left = |more: &[&str]| -> Result<(bool, f64, f64, f64), Box<dyn Error>> {
        let report = json(&bench, &[&["mix", "--left", "calcium=12 mL"], more].concat())?;
        let left = &report["order"]["left"];
        let stock = &left["stocks"][0];
        let used = report["stocks_used"].as_array().ok_or("no stocks")?;
        let used = used.iter().find(|s| s["stock"] == "calcium").ok_or("no calcium")?;
        Ok((
            left["binding"].as_bool().ok_or("binding")?,
            stock["ml_before"].as_f64().ok_or("before")?,
            stock["ml_after"].as_f64().ok_or("after")?,
            used["ml"].as_f64().ok_or("used")?,
        ))
    };
    // One bottle of each takes 9.67 mL.
    let (binding, before, after, used) = left(&[])?;
    assert!(!binding && before == 12.0 && (before - used - after).abs() < 0.01);
    let (binding, before, after, used) = left(&["--for", "3"])?;
    assert!(binding, "29 mL are not in 12");
    assert!(before == 12.0 && used <= 12.0 + 1e-6 && (before - used - after).abs() < 0.01);
    // In steps as well, and as it is recorded.
    let (binding, _, after, used) = left(&["--for", "3", "--dispenser", "syringe"])?;
    assert!(binding && used <= 12.0 + 1e-6 && after >= 0.0, "{used} of 12 mL");
    Ok(())
}
