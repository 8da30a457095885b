//! What is left in a bottle follows from the days of what happened to it, and what a verified strength
//! makes of the bag is said where the bag is weighed.

use std::error::Error;
use std::path::Path;

use crate::common::answers::{json, one_line, run};
use crate::common::starter_bench;

type Fallible<T> = Result<T, Box<dyn Error>>;

fn weighed(bench: &Path) -> Fallible<()> {
    let made = "weighed calcium --salt 30.52g --total 1018g --date 2026-03-01";
    run(bench, &made.split(' ').collect::<Vec<_>>()).map(drop)
}

/// mL left of calcium, by `stocktake` with some more arguments.
fn left(bench: &Path, more: &[&str]) -> Fallible<f64> {
    let report = json(bench, &[&["stocktake"], more].concat())?;
    let bottles = report.pointer("/bottles").and_then(|b| b.as_array()).ok_or("no bottles")?;
    let calcium = bottles.iter().find(|b| b["stock"] == "calcium").ok_or("no calcium")?;
    calcium["left_ml"].as_f64().ok_or_else(|| "nothing is said to be left".into())
}

#[test]
fn what_was_found_on_a_day_is_less_by_what_was_taken_later() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    weighed(&bench)?;
    let full = left(&bench, &[])?;
    run(&bench, &["bottle", "calcium", "--spilled", "50 mL", "--date", "2026-03-05"])?;
    // Entered after, and found before.
    run(&bench, &["bottle", "calcium", "--left", "500 mL", "--date", "2026-03-04"])?;
    assert!((left(&bench, &[])? - 450.0).abs() < 1e-6);
    for (day, want) in [("2026-03-02", full), ("2026-03-04", 500.0), ("2026-03-05", 450.0)] {
        let found = left(&bench, &["--on", day])?;
        assert!((found - want).abs() < 1e-6, "{day}: {found}");
    }
    // What takes the place of the finding stands where it stood, also among those of one day.
    run(&bench, &["bottle", "calcium", "--spilled", "10 mL", "--date", "2026-03-04"])?;
    assert!((left(&bench, &[])? - 440.0).abs() < 1e-6);
    let instead = "bottle calcium --left 400mL --date 2026-03-04 --instead-of 3";
    run(&bench, &instead.split(' ').collect::<Vec<_>>())?;
    assert!((left(&bench, &[])? - 340.0).abs() < 1e-6);
    Ok(())
}

#[test]
fn a_bag_taken_to_be_weak_is_said_to_be() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    weighed(&bench)?;
    let batch = ["batch", "middle", "--make", "100 L"];
    let before = json(&bench, &batch)?;
    assert!(!one_line(&bench, &batch)?.contains("its bag is taken to hold"));
    let read = ["verify", "calcium", "--read", "217 µS/cm", "--record", "--date", "2026-03-02"];
    run(&bench, &read)?;
    let after = json(&bench, &batch)?;
    let grams = |report: &serde_json::Value| {
        let salts = report["salts"].as_array().cloned().unwrap_or_default();
        salts.iter().find(|s| s["name"] == "calcium").and_then(|s| s["g_without_steps"].as_f64())
    };
    let (good, weak) = (grams(&before).ok_or("none")?, grams(&after).ok_or("none")?);
    // On the first screen, and with the factor that leads back to what the bag says.
    let screen = run(&bench, &batch)?.split_whitespace().collect::<Vec<_>>().join(" ");
    let (_, behind) = screen.split_once("and the bag is right, weigh ").ok_or(screen.clone())?;
    let factor: f64 = behind.split(' ').next().ok_or("no factor")?.parse()?;
    // Within its tolerances the water may take a little more of it, or less.
    assert!((factor * weak / good - 1.0).abs() < 0.12, "{factor} {weak} {good}");
    assert!(weak > 1.05 * good, "{factor} {weak} {good}");
    let bottle = ["concentrate", "middle", "--total", "500 mL", "--dose", "4 mL"];
    assert!(one_line(&bench, &bottle)?.contains("calcium: its bag is taken to hold"));
    Ok(())
}

/// What was verified of a lot holds for the next batch of it, and not for one of another bag.
#[test]
fn a_weak_bag_is_weak_for_its_next_batch_too() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    let made = |lot: &'static str| {
        ["weighed", "calcium", "--salt", "30.52 g", "--total", "1018 g", "--lot", lot]
    };
    let batch = ["batch", "middle", "--make", "100 L"];
    let grams = |report: &serde_json::Value| {
        let salts = report["salts"].as_array().cloned().unwrap_or_default();
        salts.iter().find(|s| s["name"] == "calcium").and_then(|s| s["g"].as_f64())
    };
    run(&bench, &made("A17"))?;
    let read = ["verify", "calcium", "--read", "217 µS/cm", "--record"];
    run(&bench, &read)?;
    let weak = grams(&json(&bench, &batch)?).ok_or("no calcium")?;
    let said = one_line(&bench, &made("A17"))?;
    assert!(
        said.contains("of the same lot, A17, batch 1 was verified to hold 18 % less"),
        "{said}"
    );
    let again = grams(&json(&bench, &batch)?).ok_or("no calcium")?;
    assert!((again / weak - 1.0).abs() < 0.01, "{again} {weak}");
    assert!(one_line(&bench, &batch)?.contains("as batch 1 was verified"));
    assert!(!one_line(&bench, &made("B22"))?.contains("of the same lot"));
    assert!(!one_line(&bench, &batch)?.contains("its bag is taken to hold"));
    Ok(())
}

#[test]
fn a_pour_of_an_earlier_day_is_of_the_bottles_of_that_day() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    let poured =
        |more: &[&str]| json(&bench, &[&["poured", "--date", "2026-03-04"], more].concat());
    let of_calcium = |report: &serde_json::Value| {
        let taken = report["taken"].as_array().cloned().unwrap_or_default();
        let calcium = taken.iter().find(|t| t["stock"] == "calcium").cloned();
        calcium.and_then(|t| Some((t.get("batch")?.as_u64()?, t.get("ml")?.as_f64()?)))
    };
    weighed(&bench)?;
    let first = of_calcium(&poured(&[])?).ok_or("no calcium")?;
    assert_eq!(first.0, 1);
    // Half as strong, so that its doses are others from its day on.
    let weaker = "weighed calcium --salt 15.26g --total 1018g --date 2026-03-10";
    run(&bench, &weaker.split(' ').collect::<Vec<_>>())?;
    let again = poured(&["--instead-of", "2"])?;
    assert_eq!(of_calcium(&again), Some(first));
    assert!(again.to_string().contains("taken from batch 1"), "{again}");
    let after = json(&bench, &["poured", "--date", "2026-03-10"])?;
    let (batch, ml) = of_calcium(&after).ok_or("no calcium")?;
    assert_eq!(batch, 2);
    assert!((ml / first.1 - 1.0).abs() > 0.1, "{ml} and {}", first.1);
    // What was verified later was not known either.
    let of_day = |day: &str| -> Fallible<_> {
        Ok(of_calcium(&json(&bench, &["poured", "--date", day])?).ok_or("no calcium")?.1)
    };
    let before = of_day("2026-03-11")?;
    let read = ["verify", "calcium", "--read", "109 µS/cm", "--record", "--date", "2026-03-12"];
    let found = run(&bench, &read)?;
    let verified = of_day("2026-03-12")?;
    assert!((verified / before - 1.0).abs() > 1e-3, "{found}: {before} and {verified}");
    assert!((of_day("2026-03-11")? - before).abs() < 1e-9);
    Ok(())
}

#[test]
fn a_pour_before_the_first_batch_says_what_it_counts() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    weighed(&bench)?;
    let said = one_line(&bench, &["poured", "--date", "2026-02-01"])?;
    assert!(
        said.contains(
            "calcium: batch 1 was made on 2026-03-01, after this pour, and none before it"
        ),
        "{said}"
    );
    assert!(!said.contains("calcium: no batch was recorded"), "{said}");
    Ok(())
}
