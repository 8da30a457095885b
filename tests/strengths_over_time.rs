//! How strong a stock was at each batch and verification, against strengths drawn by chance and days of
//! another calendar, and the picture of it against the JSON.
//!
//! `oracle/strength_history.json` is made by `oracle/strength_history.py`; see `oracle/README.md`.

use std::error::Error;
use std::fs;

use serde_json::Value;

use crate::common::answers::number;
use crate::common::pages::{json, run};
use crate::common::starter_bench;

type Fallible = Result<(), Box<dyn Error>>;

#[test]
fn strengths_over_time_are_those_of_draws_and_of_another_calendar() -> Fallible {
    let wanted: Value = serde_json::from_str(include_str!("oracle/strength_history.json"))?;
    let (folder, bench) = starter_bench()?;
    let none = json(&bench, &["stock", "calcium"])?;
    assert!(none.pointer("/0/strength_history").is_none(), "a history without a batch");
    let batches = wanted.pointer("/batches").and_then(Value::as_array).ok_or("no batches")?;
    let text = |of: &Value, key: &str| -> Result<String, Box<dyn Error>> {
        let found = of.get(key).ok_or(format!("no {key}"))?;
        Ok(found.as_str().map_or_else(|| found.to_string(), str::to_owned))
    };
    let mut verified_g_per_kg = 0.0;
    for (n, batch) in batches.iter().enumerate() {
        let (salt, total) = (text(batch, "salt_g")? + " g", text(batch, "total_g")? + " g");
        let day = text(batch, "day")?;
        run(&bench, &["weighed", "calcium", "--salt", &salt, "--total", &total, "--date", &day])?;
        if n == 1 {
            let day = wanted.pointer("/verified/day").and_then(Value::as_str).ok_or("no day")?;
            let told = ["verify", "calcium", "--read", "350 µS/cm", "--record", "--date", day];
            run(&bench, &told)?;
            let now = json(&bench, &["stock", "calcium"])?;
            verified_g_per_kg = number(&now, "/0/g_per_kg")?;
        }
    }
    let path = folder.path().join("strength.svg");
    let target = path.to_str().ok_or("a path that is no text")?;
    let report = json(&bench, &["stock", "calcium", "--svg", target])?;
    let points = report.pointer("/0/strength_history/points").and_then(Value::as_array);
    let points = points.ok_or("no history in the JSON")?;
    let is_verified = |p: &&Value| p.get("verified").and_then(Value::as_bool) == Some(true);
    let weighed: Vec<&Value> = points.iter().filter(|p| !is_verified(p)).collect();
    assert_eq!((points.len(), weighed.len()), (4, 3));
    for (point, batch) in weighed.into_iter().zip(batches) {
        let days = number(point, "/days_after_the_first")?;
        assert!((days - number(batch, "/days")?).abs() < 1e-9, "{days} days");
        let (got, want) = (number(point, "/g_per_kg")?, number(batch, "/g_per_kg")?);
        assert!((got / want - 1.0).abs() < 1e-9, "{got} for {want} g/kg");
        let (got, want) =
            (number(point, "/expanded_g_per_kg")?, number(batch, "/expanded_g_per_kg")?);
        // Two million draws leave 0.1 %, the first-order propagation little more.
        assert!((got / want - 1.0).abs() < 0.005, "± {got} for {want} g/kg");
    }
    let verified = points.iter().find(is_verified).ok_or("no verification")?;
    let days = number(verified, "/days_after_the_first")?;
    assert!((days - number(&wanted, "/verified/days")?).abs() < 1e-9, "{days} days");
    let strength = number(verified, "/g_per_kg")?;
    assert!((strength / verified_g_per_kg - 1.0).abs() < 1e-9, "{strength}, {verified_g_per_kg}");
    // Every strength stands in the description of the picture.
    let picture = fs::read_to_string(&path)?;
    for point in points {
        let shown = waterflight::quantities::show::three_figures(number(point, "/g_per_kg")?);
        let days = number(point, "/days_after_the_first")?;
        assert!(picture.contains(&format!("{shown} at {days}")), "{shown} at {days}");
    }
    Ok(())
}
