//! What people read, word for word, on the starter bench.
//!
//! `WATERFLIGHT_BLESS=1 cargo test --test all golden` writes the texts anew; read each before it is
//! committed.

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::{number, tried};
use crate::common::starter_bench;
use serde_json::Value;

type Fallible = Result<(), Box<dyn Error>>;

const TEXTS: &[(&str, &[&str])] = &[
    ("help.txt", &["help"]),
    ("help-mix.txt", &["mix", "--help"]),
    ("salts.txt", &["--full", "salts"]),
    ("salts-calcium-chloride.txt", &["--full", "salts", "calcium chloride"]),
    ("stock.txt", &["stock"]),
    ("stock-magchlor.txt", &["stock", "magchlor"]),
    ("mix-short.txt", &["mix"]),
    ("mix.txt", &["mix", "--full"]),
    ("water.txt", &["water", "harbour tap", "middle", "--full"]),
    ("water-short.txt", &["water", "middle"]),
    ("water-several-short.txt", &["water"]),
    ("weigh-short.txt", &["weigh", "calcium", "--make", "1 L"]),
    ("batch-short.txt", &["batch", "middle", "--make", "20 L"]),
    ("concentrate-short.txt", &["concentrate", "middle"]),
    ("why-short.txt", &["why", "hard, all bicarbonate"]),
    ("targets.txt", &["targets"]),
    ("targets-full.txt", &["targets", "--full"]),
    ("water-dilution.txt", &["--full", "water", "5 mL/L epsom"]),
    ("water-concentrate.txt", &["--full", "water", "200x middle"]),
    ("read-agrees.txt", &["read", "middle", "373"]),
    ("read-forgotten.txt", &["read", "sulfate side", "200"]),
    ("help-verify.txt", &["verify", "--help"]),
    ("weigh.txt", &["--full", "weigh", "calcium", "--make", "1 L"]),
    ("stock-soda.txt", &["stock", "soda"]),
    ("verify.txt", &["verify", "calcium", "--read", "217 µS/cm", "--blank", "1 µS/cm"]),
    ("advise.txt", &["advise", "--error", "5 %"]),
    ("stocktake.txt", &["stocktake", "--on", "2026-06-01"]),
    (
        "mix-syringe.txt",
        &["mix", "--full", "--dispenser", "syringe", "--fewest", "--left", "calcium=9 mL"],
    ),
    ("why-out-of-reach.txt", &["--full", "why", "hard, all bicarbonate"]),
    ("why-in-reach.txt", &["why", "sulfate side"]),
    ("alternatives.txt", &["alternatives", "hard"]),
    ("help-ladder.txt", &["ladder", "--help"]),
    ("help-import.txt", &["import", "--help"]),
    ("export-analyses.txt", &["export", "analyses"]),
    ("sources.txt", &["sources", "--full"]),
    ("sources-short.txt", &["sources"]),
    ("help-batch.txt", &["batch", "--help"]),
    ("help-concentrate.txt", &["concentrate", "--help"]),
    ("batch.txt", &["--full", "batch", "middle", "--make", "20 L"]),
    (
        "batch-priced.txt",
        &[
            "--full",
            "batch",
            "hard",
            "--make",
            "5 L",
            "--ready-product",
            "0.60 per L",
            "--balance-price",
            "35",
        ],
    ),
    ("concentrate.txt", &["--full", "concentrate", "middle", "--date", "2026-03-14"]),
    (
        "concentrate-clear.txt",
        &["--full", "concentrate", "soft", "--total", "1 L", "--dose", "500 mL"],
    ),
    (
        "concentrate-magnesium.txt",
        &["--full", "concentrate", "middle, all magnesium", "--total", "500 mL", "--dose", "10 mL"],
    ),
    ("concentrate-strong.txt", &["--full", "concentrate", "sulfate side", "--dose", "1 g"]),
    (
        "concentrate-reverse.txt",
        &[
            "--full",
            "concentrate",
            "--reverse",
            "magnesium sulfate=10 g, NaHCO3=5 g",
            "--into-water",
            "500 mL",
            "--dose",
            "4 mL",
        ],
    ),
    (
        "concentrate-reverse-plaster.txt",
        &[
            "--full",
            "concentrate",
            "--reverse",
            "CaSO4·2H2O=2 g, K2SO4=4 g, KCl=1 g",
            "--total",
            "200 mL",
            "--dose",
            "4 mL",
        ],
    ),
    (
        "concentrate-reverse-keg.txt",
        &[
            "--full",
            "concentrate",
            "--reverse",
            "CaCl2·2H2O=1,5 g; epsom=2,4 g; soda=60 mL",
            "--keg",
            "19 L",
        ],
    ),
];

fn run(bench: &Path, arguments: &[&str]) -> Result<String, Box<dyn Error>> {
    let (done, out, errors) = tried(bench, arguments)?;
    assert!(done && errors.is_empty(), "{errors}");
    Ok(out)
}

#[test]
fn texts_are_as_they_were_read() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for (name, arguments) in TEXTS {
        let said = run(&bench, arguments)?;
        let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden").join(name);
        if std::env::var_os("WATERFLIGHT_BLESS").is_some() {
            fs::write(&beside, &said)?;
        }
        assert_eq!(said, fs::read_to_string(&beside)?, "{name}");
        assert!(!said.contains('\u{1b}'), "{name}: colour belongs on a terminal only");
        if name.starts_with("export") {
            continue;
        }
        let widest = said.lines().map(|l| l.chars().count()).max().unwrap_or_default();
        assert!(widest <= 80, "{name} is {widest} columns wide");
    }
    Ok(())
}

#[test]
fn json_has_the_stable_keys() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let stocks: Value = serde_json::from_str(&run(&bench, &["stock", "--json"])?)?;
    let epsom = stocks
        .as_array()
        .and_then(|list| list.iter().find(|s| s.pointer("/name") == Some(&"epsom".into())))
        .ok_or("no epsom")?;
    assert!((number(epsom, "/g_per_kg")? - 40.0).abs() < 1e-9);
    // 40 g/kg · 1.018 g/mL · 24.305/246.466
    assert!((number(epsom, "/mg_per_ml/Mg")? - 4.016).abs() < 0.001);
    assert!(number(epsom, "/density_g_per_ml")? > 1.0);

    let mix: Value = serde_json::from_str(&run(&bench, &["mix", "--json"])?)?;
    for key in ["flight", "convention", "waters", "stocks_used"] {
        assert!(mix.get(key).is_some(), "{key}");
    }
    let waters = mix.get("waters").and_then(Value::as_array).ok_or("no waters")?;
    assert_eq!(waters.len(), 8);
    let reached: Vec<bool> =
        waters.iter().filter_map(|w| w.get("reached").and_then(Value::as_bool)).collect();
    assert_eq!(reached, [true, true, true, true, true, true, true, false]);
    let soft = waters.first().ok_or("no water")?;
    assert!((number(soft, "/hardness_mg_per_l_caco3")? - 35.0).abs() < 1e-6);
    assert!((number(soft, "/alkalinity_mg_per_l_caco3")? - 20.0).abs() < 1e-6);
    let ml_per_l = number(soft, "/doses/0/ml_per_l")?;
    assert!((number(soft, "/doses/0/ml_per_bottle")? - ml_per_l / 2.0).abs() < 1e-12);
    for key in ["Ca", "Mg", "Na", "K", "Cl", "SO4", "NO3", "SiO2", "HCO3"] {
        number(soft, &format!("/mg_per_l/{key}"))?;
    }
    for key in ["want", "got", "miss"] {
        number(soft, &format!("/goals/0/{key}"))?;
    }
    let shares: f64 = soft
        .get("base")
        .and_then(Value::as_array)
        .ok_or("no base")?
        .iter()
        .filter_map(|b| b.get("share").and_then(Value::as_f64))
        .sum();
    let doses: f64 = soft
        .get("doses")
        .and_then(Value::as_array)
        .ok_or("no doses")?
        .iter()
        .filter_map(|d| d.get("ml_per_l").and_then(Value::as_f64))
        .sum();
    assert!((shares + doses / 1000.0 - 1.0).abs() < 1e-9);
    Ok(())
}

#[test]
fn water_json_has_the_stable_keys() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let waters: Value =
        serde_json::from_str(&run(&bench, &["water", "harbour tap", "soft", "--json"])?)?;
    assert_eq!(waters.as_array().map(Vec::len), Some(2));
    assert_eq!(waters.pointer("/0/name"), Some(&"harbour tap".into()));
    let reports = waters.pointer("/0/reports").and_then(Value::as_array).ok_or("no reports")?;
    assert_eq!(reports.len(), 9);
    for report in reports {
        for key in [
            "celsius",
            "ph",
            "ionic_strength_mol_per_l",
            "conductivity_us_per_cm",
            "ccpp_mg_per_l_caco3",
        ] {
            number(report, &format!("/{key}"))?;
        }
        let state = report.get("state").and_then(Value::as_str).unwrap_or_default();
        assert!(["closed", "open", "degassed"].contains(&state), "{state}");
        for mineral in ["calcite", "aragonite", "gypsum", "anhydrite", "brucite"] {
            number(report, &format!("/si/{mineral}"))?;
        }
    }
    // The pH of the analysis is that of the closed water at 25 °C.
    assert!((number(&waters, "/0/reports/0/ph")? - 7.5).abs() < 1e-6);
    Ok(())
}

/// "Added to a litre" is the same water: its doses are those of the other convention, per litre
/// of base water.
#[test]
fn both_conventions_give_the_same_water() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let file = bench.join("flights/first-flight.ron");
    let made: Value = serde_json::from_str(&run(&bench, &["mix", "--json"])?)?;
    let text = fs::read_to_string(&file)?.replace("MadeUpToALitre", "AddedToALitre");
    fs::write(&file, text)?;
    let added: Value = serde_json::from_str(&run(&bench, &["mix", "--json"])?)?;
    for n in 0..8 {
        let at = |key: &str| format!("/waters/{n}/{key}");
        let calcium = number(&made, &at("mg_per_l/Ca"))?;
        assert!((number(&added, &at("mg_per_l/Ca"))? - calcium).abs() < 1e-9);
        let total = |of: &Value, list: &str, key: &str| -> f64 {
            of.pointer(&at(list))
                .and_then(Value::as_array)
                .map(|l| l.iter().filter_map(|d| d.get(key)?.as_f64()).sum())
                .unwrap_or_default()
        };
        let shares = total(&made, "base", "share");
        assert!((total(&added, "base", "share") - 1.0).abs() < 1e-9);
        let wanted = total(&made, "doses", "ml_per_l") / shares;
        assert!((total(&added, "doses", "ml_per_l") - wanted).abs() < 1e-9);
    }
    Ok(())
}

#[test]
fn a_bench_is_found_from_inside() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let inside = bench.join("flights");
    assert_eq!(run(&inside, &["mix"])?, run(&bench, &["mix", "first-flight"])?);
    Ok(())
}

#[test]
fn every_shell_gets_completions() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let script = run(&bench, &["completions", shell])?;
        assert!(script.contains("waterflight") && script.contains("mix"), "{shell}");
    }
    Ok(())
}
