//! One flight has one verdict: what `mix` can make is in reach for every command, and what it cannot
//! make is not, whether the salts, the dispenser, the stocks left or their number keep it out.
#![expect(
    clippy::indexing_slicing,
    reason = "a key that an answer of the program lacks is null, and fails its test"
)]

use std::error::Error;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::common::{answers, starter_bench};

type Fallible = Result<(), Box<dyn Error>>;

/// A starter bench whose one flight is this one.
fn bench_of(flight: &str) -> Result<(tempfile::TempDir, PathBuf), Box<dyn Error>> {
    let (folder, bench) = starter_bench()?;
    std::fs::write(bench.join("flights/first-flight.ron"), flight)?;
    Ok((folder, bench))
}

/// What a command says, whether or not all waters have an answer.
fn said(bench: &Path, arguments: &[&str]) -> Result<String, Box<dyn Error>> {
    let (_, text) = answers::said(bench, arguments)?;
    Ok(text.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// The document of a command, whether or not all waters have an answer.
fn json(bench: &Path, arguments: &[&str]) -> Result<Value, Box<dyn Error>> {
    let (_, out, _) = answers::tried(bench, &[arguments, &["--json"]].concat())?;
    Ok(serde_json::from_str(&out)?)
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
    assert!(!binding && (before - 12.0).abs() < 1e-9 && (before - used - after).abs() < 0.01);
    let (binding, before, after, used) = left(&["--for", "3"])?;
    assert!(binding, "29 mL are not in 12");
    assert!(
        (before - 12.0).abs() < 1e-9 && used <= 12.0 + 1e-6 && (before - used - after).abs() < 0.01
    );
    // In steps as well, and as it is recorded.
    let (binding, _, after, used) = left(&["--for", "3", "--dispenser", "syringe"])?;
    assert!(binding && used <= 12.0 + 1e-6 && after >= 0.0, "{used} of 12 mL");
    Ok(())
}

/// Little of a strong stock is no dose of a syringe; the goals alone are easily kept.
const TOO_COARSE: &str = r#"Flight(title: "f", base: ["distilled"], bottle: "500 mL", dispenser: "syringe",
    targets: [
        Target(name: "a", goals: (magnesium: "0.5 ± 0.1 mg/L")),
        Target(name: "c", goals: (magnesium: "20 ± 0.01 mg/L")),
    ])"#;

#[test]
fn steps_keep_a_water_out_everywhere() -> Fallible {
    let (_folder, bench) = bench_of(TOO_COARSE)?;
    let mixed = json(&bench, &["mix"])?;
    assert_eq!(mixed["waters"][0]["reached"], false);
    let why = json(&bench, &["why", "a"])?;
    assert_eq!(why["reached"], false);
    assert_eq!(why["kept_out"]["by"][0], "dispenser");
    let said_why = said(&bench, &["why", "a"])?;
    assert!(said_why.contains("a: out of reach"), "{said_why}");
    assert!(said_why.contains("the steps of `syringe` (0.1 mL, at least 0.5 mL)"), "{said_why}");
    let others = json(&bench, &["alternatives", "a"])?;
    assert!(others["recipes"].as_array().is_some_and(Vec::is_empty), "{others}");
    let ready = said(&bench, &["targets"])?;
    assert!(ready.contains("a: OUT OF REACH as this flight is made"), "{ready}");
    Ok(())
}

#[test]
fn a_ladder_is_planned_as_it_will_be_mixed() -> Fallible {
    let (_folder, bench) = bench_of(TOO_COARSE)?;
    let ladder = ["ladder", "a", "--vary", "magnesium=0.3..2 mg/L", "--steps", "4", "--into", "l"];
    let more = said(&bench, &[&ladder[..], &["--flight", "first-flight"]].concat())?;
    assert!(more.contains("1 magnesium 0.3: OUT OF REACH"), "{more}");
    let mixed = json(&bench, &["mix", "l"])?;
    let waters = mixed["waters"].as_array().ok_or("no waters")?;
    for (n, water) in waters.iter().enumerate() {
        let out = more.contains(&format!(
            "{} {}: OUT OF REACH",
            n + 1,
            water["target"].as_str().unwrap_or("")
        ));
        assert_eq!(water["reached"], !out, "{water}");
    }
    Ok(())
}

#[test]
fn what_is_left_and_the_number_of_stocks_keep_out() -> Fallible {
    let goals = r#"targets: [Target(name: "a", goals: (magnesium: "20 mg/L")),
        Target(name: "c", goals: (magnesium: "30 mg/L", calcium: "20 mg/L"))])"#;
    for (asked, by) in [
        (r#"left: [("magchlor", "1 mL"), ("epsom", "1 mL")]"#, "left"),
        ("stock_set: AtMost(1)", "stock_set"),
    ] {
        let (_folder, bench) = bench_of(&format!(
            r#"Flight(title: "f", base: ["distilled"], bottle: "500 mL", {asked}, {goals}"#
        ))?;
        let mixed = json(&bench, &["mix"])?;
        assert_eq!(mixed["waters"][1]["reached"], false, "{asked}");
        let why = json(&bench, &["why", "c"])?;
        assert_eq!((&why["reached"], &why["kept_out"]["by"][0]), (&false.into(), &by.into()));
        assert_eq!(why["mg_per_l"]["Mg"], mixed["waters"][1]["mg_per_l"]["Mg"]);
    }
    Ok(())
}

/// A stock that a flight keeps out stays out of a flight made around it, and is no salt to add.
#[test]
fn a_ladder_keeps_what_its_flight_asks() -> Fallible {
    let (_folder, bench) = bench_of(
        r#"Flight(title: "f", base: ["distilled"], bottle: "500 mL", left: [("epsom", "40 mL")],
        stock_set: AtMost(3), targets: [
            Target(name: "a", goals: (magnesium: "10 mg/L", sulfate: "at most 1 mg/L"), without: ["magchlor"]),
            Target(name: "c", goals: (magnesium: "10 mg/L")),
        ])"#,
    )?;
    let ladder = ["ladder", "a", "--vary", "magnesium=5..20 mg/L", "--steps", "2", "--into", "l"];
    said(&bench, &[&ladder[..], &["--flight", "first-flight"]].concat())?;
    let written = std::fs::read_to_string(bench.join("flights/l.ron"))?;
    for kept in
        ["without: [\"magchlor\"]", "left: [(\"epsom\", \"40 mL\")]", "stock_set: AtMost(3)"]
    {
        assert!(written.contains(kept), "{written}");
    }
    let mixed = json(&bench, &["mix", "l"])?;
    assert!(!mixed["stocks_used"].to_string().contains("magchlor"), "{mixed}");
    let why = json(&bench, &["why", "a", "--flight", "first-flight"])?;
    assert_eq!(why["kept_out"]["by"][0], "without");
    assert!(!why["remedies"].to_string().contains("MgCl2"), "{why}");
    Ok(())
}

/// Every set of stocks, each stock with its least dose in every water: the one that misses least is found,
/// and it is no worse than in the steps of a syringe with a larger least dose.
#[test]
fn one_style_is_searched_with_least_doses() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let plain = std::fs::read_to_string(bench.join("flights/first-flight.ron"))?;
    let styled = plain.replace("    targets: [", "    style: SameSalts,\n    targets: [");
    std::fs::write(bench.join("flights/first-flight.ron"), &styled)?;
    let missed = |mix: &Value| -> f64 {
        let waters = mix["waters"].as_array().cloned().unwrap_or_default();
        waters.iter().filter_map(|water| water["misses_beyond_tolerance"].as_f64()).sum()
    };
    let mixed = json(&bench, &["mix"])?;
    let chosen = mixed["order"]["style"]["stocks"].as_array().ok_or("no style")?.clone();
    assert!(!chosen.is_empty());
    for water in mixed["waters"].as_array().ok_or("no waters")? {
        let doses = water["doses"].as_array().ok_or("no doses")?;
        let poured = doses.iter().filter(|dose| dose["ml_per_bottle"].as_f64() > Some(0.1 - 1e-6));
        let poured: Vec<&Value> = poured.map(|dose| &dose["stock"]).collect();
        assert_eq!(poured, chosen.iter().collect::<Vec<_>>(), "{water}");
    }
    std::fs::write(bench.join("flights/first-flight.ron"), &plain)?;
    let stepped = json(&bench, &["mix", "--same", "--dispenser", "syringe"])?;
    assert!(missed(&mixed) <= missed(&stepped) + 1e-6, "{} {}", missed(&mixed), missed(&stepped));
    Ok(())
}

/// Doses with a least amount of each, in both conventions: what is not wanted is in the water with its
/// least dose and no more, and what is wanted is kept beside it.
#[test]
fn least_doses_are_the_best_allowed() -> Fallible {
    for convention in ["MadeUpToALitre", "AddedToALitre"] {
        let (_folder, bench) = bench_of(&format!(
            r#"Flight(title: "f", base: ["distilled"], bottle: "500 mL", convention: {convention},
            style: SameSalts, stocks: ["epsom", "potash"], targets: [
                Target(name: "a", goals: (magnesium: "10 mg/L", potassium: "0.5 ± 0.1 mg/L, weight 0.01")),
                Target(name: "b", goals: (magnesium: "0.1 ± 0.05 mg/L, weight 0.01", potassium: "20 mg/L")),
            ])"#
        ))?;
        let mixed = json(&bench, &["mix"])?;
        assert_eq!(mixed["order"]["style"]["stocks"].as_array().map(Vec::len), Some(2));
        for (n, at_least) in [(0, "potash"), (1, "epsom")] {
            let water = &mixed["waters"][n];
            let doses = water["doses"].as_array().ok_or("no doses")?;
            let dose = doses.iter().find(|d| d["stock"] == at_least).ok_or("not in it")?;
            let ml = dose["ml_per_bottle"].as_f64().ok_or("no dose")?;
            // More of it only misses more, so the best is its least dose; the other goal is kept.
            assert!((ml - 0.1).abs() < 1e-6, "{convention}: {ml}");
            assert_eq!(water["reached"], false);
            assert_eq!(water["goals"][n]["reached"], true);
            let why = json(&bench, &["why", water["target"].as_str().unwrap_or("")])?;
            assert_eq!(why["kept_out"]["by"][0], "style", "{why}");
        }
        let screen = said(&bench, &["mix"])?;
        assert!(!screen.contains("NOT one style"), "{screen}");
    }
    // No set is allowed in both waters: that is said on the first screen.
    let (_folder, bench) = bench_of(
        r#"Flight(title: "f", base: ["distilled"], bottle: "500 mL", style: SameSalts, stocks: ["epsom"],
        targets: [Target(name: "a", goals: (magnesium: "10 mg/L")),
            Target(name: "b", goals: (magnesium: "0 mg/L"), without: ["epsom"])])"#,
    )?;
    let screen = said(&bench, &["mix"])?;
    assert!(screen.contains("NOT one style"), "{screen}");
    Ok(())
}

/// What the report advises can be done.
#[test]
fn the_advised_style_is_read() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let advice = said(&bench, &["mix", "--full"])?;
    assert!(advice.contains("not one style"), "{advice}");
    assert!(!advice.contains("`style: SameRatios` in the flight makes it"), "{advice}");
    assert!(
        advice.contains("`ratios: [(of: \"calcium\", to: \"magnesium\", goal: \"…\")]`"),
        "{advice}"
    );
    Ok(())
}

/// What must be in a later water is kept for it, and what is not proved of the whole flight is said.
#[test]
fn what_is_left_is_shared_by_all_waters() -> Fallible {
    let (_folder, bench) = bench_of(
        r#"Flight(title: "f", base: ["distilled"], bottle: "500 mL", dispenser: "syringe",
        stocks: ["epsom"], left: [("epsom", "0.9 mL")], targets: [
            Target(name: "a", goals: (magnesium: "20 mg/L")),
            Target(name: "b", goals: (magnesium: "0 mg/L"), with: ["epsom"]),
        ])"#,
    )?;
    let mixed = json(&bench, &["mix"])?;
    assert_eq!(mixed["waters"].as_array().map(Vec::len), Some(2), "{}", mixed["unanswered"]);
    let doses = |n: usize| mixed["order"]["dispenser"]["waters"][n]["doses"][0]["amount"].as_f64();
    assert_eq!(doses(1), Some(0.5), "the least that must be in it");
    assert!(doses(0).is_none_or(|ml| ml <= 0.4 + 1e-9));
    assert_eq!(mixed["order"]["left"]["proved"], false);
    for water in mixed["order"]["dispenser"]["waters"].as_array().ok_or("no waters")? {
        assert_eq!(water["proved"], false);
    }
    let gap = mixed["order"]["left"]["misses_beyond"].as_array().ok_or("no gap")?;
    let (value, bound) = (gap[0].as_f64().ok_or("value")?, gap[1].as_f64().ok_or("bound")?);
    let screen = said(&bench, &["mix"])?;
    assert!(screen.contains("NOT PROVED to be the best way to share what is left"), "{screen}");
    // Without steps the flight misses what the bound says, or more.
    let all = |mix: &Value| -> f64 {
        let waters = mix["waters"].as_array().cloned().unwrap_or_default();
        waters.iter().filter_map(|water| water["misses_beyond_tolerance"].as_f64()).sum()
    };
    assert!((all(&mixed) - value).abs() < 1e-3 && bound <= value, "{gap:?}");
    Ok(())
}

/// The doses that `advise` says of other strengths are those that `mix` gives once they are made, whatever
/// a water must not have.
#[test]
fn advised_strengths_are_planned_as_they_will_be_mixed() -> Fallible {
    let target = |name: &str, hardness: u32, without: &str| {
        format!(
            "Target(name: \"{name}\", goals: (hardness: \"{hardness} mg/L as CaCO3\", alkalinity: \"40 \
             mg/L as CaCO3\"), without: [\"{without}\"])"
        )
    };
    let (mut tried, mut came_in) = (0, 0);
    for (style, second) in [("", 60), ("", 30), ("", 150), ("style: SameRatios,", 80)] {
        let waters = [target("a", 60, "calcium"), target("b", second, "epsom")].join(", ");
        let (_folder, bench) = bench_of(&format!(
            "Flight(title: \"f\", base: [\"distilled\"], bottle: \"500 mL\", {style} targets: [{waters}])"
        ))?;
        let advised = json(&bench, &["advise"])?;
        for line in advised["stocks"].as_array().ok_or("no stocks")? {
            let made = line["make"].as_array().and_then(|make| make.first());
            let Some(make) = made.filter(|_| line["now_will_do"] == false) else { continue };
            let stock = line["stock"].as_str().ok_or("no name")?;
            let file = bench.join(format!("stocks/{stock}.ron"));
            let text = std::fs::read_to_string(&file)?;
            let (before, made) = text.split_once("made: ").ok_or("nothing was made")?;
            let (_, after) = made.split_once(')').ok_or("no end")?;
            let [salt, total] = [&make["salt_g"], &make["total_g"]];
            let made = format!("ToTotalMass(salt: \"{salt} g\", total: \"{total} g\")");
            std::fs::write(&file, format!("{before}made: {made}{after}"))?;
            tried += 1;
        }
        // A stronger stock that stays as it is may come in, which is said with what keeps it out.
        let names = advised["stocks"].as_array().into_iter().flatten();
        let names: Vec<&str> = names.filter_map(|line| line["stock"].as_str()).collect();
        let taken = |report: &Value| -> Vec<String> {
            let used = report["stocks_used"].as_array().into_iter().flatten();
            let used = used.filter_map(|used| used["stock"].as_str());
            used.filter(|stock| !names.contains(stock)).map(str::to_owned).collect()
        };
        let others: Vec<String> = serde_json::from_value(advised["others_taken"].clone())?;
        let free = taken(&json(&bench, &["mix"])?);
        assert!(free.iter().all(|stock| others.contains(stock)), "{style} {second}: {free:?}");
        assert_eq!(free.is_empty(), others.is_empty(), "{style} {second}");
        came_in += others.len();
        let without = others.iter().flat_map(|stock| ["--without", stock.as_str()]);
        let mixed = json(&bench, &std::iter::once("mix").chain(without).collect::<Vec<_>>())?;
        assert!(taken(&mixed).is_empty(), "{style} {second}");
        let doses = mixed["waters"].as_array().into_iter().flatten();
        let doses = doses.flat_map(|water| water["doses"].as_array().into_iter().flatten());
        let ml: Vec<f64> = doses.filter_map(|dose| dose["ml_per_bottle"].as_f64()).collect();
        let checked = advised["checked_ml"].as_array().ok_or("nothing was planned again")?;
        let ends = [
            ml.iter().copied().fold(f64::INFINITY, f64::min),
            ml.iter().copied().fold(0.0, f64::max),
        ];
        for (said, found) in checked.iter().zip(ends) {
            let said = said.as_f64().ok_or("no number")?;
            assert!(
                (said / found - 1.0).abs() < 2e-3,
                "{style} {second}: {said} said, {found} mixed"
            );
        }
    }
    assert!(tried > 3 && came_in > 0, "{tried}, {came_in}");
    Ok(())
}

/// What `mix --nearest-to` would not keep of a flight it does not take up.
#[test]
fn a_nearest_water_is_refused_what_it_would_not_keep() -> Fallible {
    let target =
        "Target(name: \"a\", goals: (hardness: \"60 mg/L as CaCO3\"), without: [\"calcium\"])";
    let kept =
        ["", "dispenser: \"syringe\",", "stock_set: Fewest,", "left: [(\"epsom\", \"80 mL\")],"];
    for asked in kept {
        let (_folder, bench) = bench_of(&format!(
            "Flight(title: \"f\", base: [\"distilled\"], bottle: \"500 mL\", {asked} targets: [{target}])"
        ))?;
        let (done, _, wrong) = answers::tried(&bench, &["mix", "--nearest-to", "a"])?;
        assert_eq!(done, asked.is_empty(), "{asked}: {wrong}");
        assert_eq!(wrong.contains("doses without steps"), !asked.is_empty(), "{asked}: {wrong}");
    }
    Ok(())
}
