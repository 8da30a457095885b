//! `water` as it is run: several side by side, details on request, waters of sessions, machines.

use std::error::Error;
use std::fs;

use crate::common::answers::{json, run};
use crate::common::{program, starter_bench};
use serde_json::Value;

type Fallible = Result<(), Box<dyn Error>>;

/// Text on one line, however it was broken.
fn joined(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn several_waters_begin_with_a_table_and_end_there_unless_asked() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let several = run(&bench, &["water"])?;
    assert!(several.starts_with("water ") && several.lines().count() <= 24, "{several}");
    assert!(!several.contains("Published values") && several.contains("--full"));
    let details = run(&bench, &["water", "soft", "middle", "--full"])?;
    assert!(details.starts_with("water ") && details.contains("Published values"));
    let one = run(&bench, &["water", "soft", "--full"])?;
    assert!(one.starts_with("soft\n") && one.contains("Published values"), "{one}");
    // For machines everything is always there.
    let all = json(&bench, &["water", "soft", "middle"])?;
    assert_eq!(all, json(&bench, &["water", "soft", "middle", "--full"])?);
    Ok(())
}

#[test]
fn a_water_without_calcium_has_its_lines() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let calcium = "without calcium no calcite, gypsum or anhydrite can precipitate";
    let carbonate = "without carbonate no calcite can precipitate";
    for (water, [closed, degassed]) in [
        ("5 mL/L soda", [calcium; 2]),
        ("middle, all magnesium", [calcium; 2]),
        // The air that it is degassed to brings a little carbonate.
        ("5 mL/L calcium", [carbonate, "saturation index (calcite) -4"]),
    ] {
        let text = joined(&run(&bench, &["water", water, "--full"])?);
        for (state, says) in [("closed", closed), ("degassed", degassed)] {
            assert!(text.contains(&format!("brew boiler, 93 °C, {state}: {says}")), "{text}");
            assert!(text.contains(&format!("steam boiler, 125 °C, {state}: ")), "{text}");
        }
    }
    // Magnesium can precipitate without calcium.
    let text = joined(&run(&bench, &["water", "middle, all magnesium", "--full"])?);
    assert!(text.contains("(brucite)"), "{text}");
    Ok(())
}

#[test]
fn a_water_of_a_session_is_looked_at_as_it_was_tasted() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo, cy, di"];
    run(&bench, &[&plan[..], &["--name", "spring", "--seed", "rehearsal"]].concat())?;
    let planned = json(&bench, &["water", "middle"])?;
    let file = bench.join("flights/first-flight.ron");
    let flight = fs::read_to_string(&file)?;
    fs::write(&file, flight.replace("\"100 mg/L as CaCO3\"", "\"125 mg/L as CaCO3\""))?;
    let tasted = json(&bench, &["water", "spring/middle"])?;
    for ion in ["Ca", "Mg", "Na", "K", "Cl", "SO4", "HCO3"] {
        let of = |water: &Value| {
            water.pointer(&format!("/0/mg_per_l/{ion}")).and_then(Value::as_f64).ok_or("no ion")
        };
        assert!((of(&planned)? - of(&tasted)?).abs() < 1e-9, "{ion}");
    }
    let text = joined(&run(&bench, &["water", "spring/middle", "--full"])?);
    assert!(text.starts_with("spring/middle as it was planned for the session spring"), "{text}");
    assert!(text.contains("gives another water today"), "{text}");
    assert!(run(&bench, &["read", "spring/middle", "373"])?.contains("agrees"));
    let output =
        program()?.current_dir(&bench).args(["water", "spring/midle", "--full"]).output()?;
    assert!(String::from_utf8(output.stderr)?.contains("did you mean `spring/middle`?"));
    Ok(())
}

#[test]
fn a_machine_is_judged_by_the_words_of_its_sheet() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let file = bench.join("bench.ron");
    let settings = fs::read_to_string(&file)?;
    let (before, _) = settings.split_once("    machine: (").ok_or("no machine")?;
    let machine = |limits: &str| {
        let text = format!(
            "{before}machine: (name: \"small one\", limits: ({limits}), not_checked: [\"no iron\"], \
             litres_a_day: \"20 L\", service_every: \"6 months\"))"
        );
        fs::write(&file, text)
    };
    machine("hardness: \"3-6 °dH\", Cl: \"max. 30 mg/L\", pH: \"6.5 to 8.2\"")?;
    let text = joined(&run(&bench, &["water", "middle", "--full"])?);
    assert!(text.contains("hardness 5.60 °dH: within (3 to 6 °dH)"), "{text}");
    assert!(text.contains("chloride 45.0 mg/L: OUTSIDE by 15 (at most 30 mg/L)"), "{text}");
    assert!(text.contains("pH as mixed 8.14: within (6.5 to 8.2)"), "{text}");
    assert!(text.contains("not checked: no iron"), "{text}");
    assert!(text.contains("brew boiler, 20 L a day") && text.contains("(180 days)"), "{text}");
    let verdicts = json(&bench, &["water", "middle"])?;
    assert_eq!(verdicts.pointer("/0/machine/limits/1/verdict"), Some(&"outside".into()));
    assert_eq!(verdicts.pointer("/0/machine/machine"), Some(&"small one".into()));
    let several = joined(&run(&bench, &["water", "--full"])?);
    assert!(several.contains("kept: limits of small one"), "{several}");
    for text in [text, several] {
        assert!(!text.to_lowercase().contains("is safe"), "{text}");
        assert!(text.contains("the maker's limits and the warranty come first"), "{text}");
    }
    // A bench without a machine has no verdict.
    fs::write(&file, format!("{before})"))?;
    assert_eq!(json(&bench, &["water", "middle"])?.pointer("/0/machine"), Some(&Value::Null));
    Ok(())
}

/// What is too strong at the cycles of the steam boiler is a water all the same, and the charge balance is
/// that of an analysis, not of what is made from it.
#[test]
fn strong_waters_are_answered_without_the_analysis_of_the_weak_one() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let soda = json(&bench, &["water", "300 mL/L soda"])?;
    assert!(soda.pointer("/0/reports/0/ph").and_then(Value::as_f64).is_some());
    let tap = json(&bench, &["water", "harbour tap", "50x harbour tap"])?;
    assert!(tap.pointer("/0/charge_balance/verdict").is_some());
    assert_eq!(tap.pointer("/1/charge_balance"), Some(&Value::Null));
    Ok(())
}
