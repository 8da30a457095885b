//! What the files of a bench can say, each feature on a real bench.

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::{json, number};
use crate::common::{program, starter_bench};
use serde_json::Value;
use waterflight::bench::built_in_salts;
use waterflight::stock::{Catalogue, LookupError};

type Fallible = Result<(), Box<dyn Error>>;

/// Writes a flight of one target and plans it.
fn mix(bench: &Path, keys: &str, target: &str) -> Result<Value, Box<dyn Error>> {
    let text = format!(
        "Flight(\n    title: \"one\",\n    bottle: \"1 L\",\n{keys}\n    targets: [\n        \
         Target(name: \"one\", {target}),\n    ],\n)\n"
    );
    fs::write(bench.join("flights/one.ron"), text)?;
    json(bench, &["mix", "one"])
}

fn dose(of: &Value, stock: &str) -> f64 {
    of.pointer("/waters/0/doses")
        .and_then(Value::as_array)
        .and_then(|doses| doses.iter().find(|d| d.get("stock") == Some(&stock.into())))
        .and_then(|dose| dose.get("ml_per_l"))
        .and_then(Value::as_f64)
        .unwrap_or_default()
}

fn share(of: &Value, water: &str) -> f64 {
    of.pointer("/waters/0/base")
        .and_then(Value::as_array)
        .and_then(|base| base.iter().find(|b| b.get("water") == Some(&water.into())))
        .and_then(|part| part.get("share"))
        .and_then(Value::as_f64)
        .unwrap_or_default()
}

#[test]
fn own_salts_come_with_a_formula() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::write(
        bench.join("salts/saltpetre.ron"),
        "Salt(\n    name: \"potassium nitrate\",\n    formula: \"KNO3\",\n    source: \"label\",\n)\n",
    )?;
    fs::write(
        bench.join("salts/dolomite.ron"),
        "Salt(\n    name: \"dolomite\",\n    formula: \"CaMg(CO3)2\",\n    \
         releases: [(\"Ca\", 1), (\"Mg\", 1), (\"CO3\", 2)],\n    carbonation_mol_co2: 2,\n)\n",
    )?;
    fs::write(
        bench.join("stocks/own.ron"),
        "Stock(\n    name: \"own\",\n    salt: \"potassium nitrate\",\n    \
         made: ToTotalMass(salt: \"10 g\", total: \"1 kg\"),\n)\n",
    )?;
    let stocks = json(&bench, &["stock", "own"])?;
    // 62.004 of 101.102 g/mol are nitrate
    let per_g = number(&stocks, "/0/mg_per_ml/NO3")? / number(&stocks, "/0/mg_salt_per_ml")?;
    assert!((per_g - 62.004 / 101.102).abs() < 1e-4, "{per_g}");
    let salts = json(&bench, &["salts", "dolomite"])?;
    assert!((number(&salts, "/0/equivalents_per_mol")? - 4.0).abs() < 1e-12);
    Ok(())
}

#[test]
fn a_salt_without_published_density_says_so() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::write(
        bench.join("stocks/citrate.ron"),
        "Stock(\n    name: \"citrate\",\n    salt: \"tripotassium citrate monohydrate\",\n    \
         made: ToTotalMass(salt: \"50 g\", total: \"1 kg\"),\n)\n",
    )?;
    let stocks = json(&bench, &["stock", "citrate"])?;
    assert_eq!(stocks.pointer("/0/density_is_published"), Some(&false.into()));
    assert!(number(&stocks, "/0/density_standard_uncertainty_g_per_ml")? > 0.001);
    let note = stocks.pointer("/0/notes/0").and_then(Value::as_str).unwrap_or_default();
    assert!(note.contains("no published density coefficients"), "{note}");
    Ok(())
}

#[test]
fn base_waters_are_blended_within_their_limits() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let hard = "goals: (nitrate: \"6 mg/L ± 0\")";
    let free = mix(&bench, "    base: [\"distilled\", \"harbour tap\"],", hard)?;
    // The only nitrate is that of the tap water, 12 mg/L.
    assert!((share(&free, "harbour tap") - 0.5).abs() < 1e-9);
    let limited = mix(&bench, "    base: [\"distilled\", \"harbour tap, at most 20 %\"],", hard)?;
    assert!((share(&limited, "harbour tap") - 0.2).abs() < 1e-9);
    assert_eq!(limited.pointer("/waters/0/reached"), Some(&false.into()));
    assert!((number(&limited, "/waters/0/goals/0/miss")? + 3.6).abs() < 1e-6);
    Ok(())
}

#[test]
fn the_preference_decides_between_equals() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let target = "goals: (alkalinity: \"40 mg/L as CaCO3\")";
    // Soda holds 0.357 meq/mL and potash 0.410: the least volume takes potash, the least sodium
    // as well; when potash is not there, soda must serve.
    let volume = mix(&bench, "    prefer: LeastVolume,", target)?;
    assert!(dose(&volume, "potash") > 1.0 && dose(&volume, "soda") < 1e-9);
    let only_soda = mix(&bench, "    stocks: [\"soda\"],", target)?;
    assert!(dose(&only_soda, "soda") > 1.0);
    fs::write(
        bench.join("stocks/strong-soda.ron"),
        "Stock(\n    name: \"strong soda\",\n    salt: \"NaHCO3\",\n    \
         made: ToTotalMass(salt: \"80 g\", total: \"1 kg\"),\n)\n",
    )?;
    let volume = mix(&bench, "    prefer: LeastVolume,", target)?;
    assert!(dose(&volume, "strong soda") > 0.5 && dose(&volume, "potash") < 1e-9);
    let sodium = mix(&bench, "    prefer: LeastSodium,", target)?;
    assert!(dose(&sodium, "potash") > 1.0 && dose(&sodium, "strong soda") < 1e-9);
    Ok(())
}

/// Per milliequivalent soda is cheap and potash dear, until the price turns.
#[test]
fn the_least_cost_follows_the_prices() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let target = "goals: (alkalinity: \"40 mg/L as CaCO3\")";
    let keys =
        "    base: [\"distilled\"],\n    prefer: LeastCost,\n    stocks: [\"soda\", \"potash\"],";
    for (soda, potash, dear, cheap) in [("2", "9", "potash", "soda"), ("9", "2", "soda", "potash")]
    {
        for (name, salt, price) in [("soda", "NaHCO3", soda), ("potash", "KHCO3", potash)] {
            fs::write(
                bench.join("stocks").join(format!("{name}.ron")),
                format!(
                    "Stock(\n    name: \"{name}\",\n    salt: \"{salt}\",\n    \
                     lot: (price: \"{price} per kg\"),\n    \
                     made: ToTotalMass(salt: \"30 g\", total: \"1 kg\"),\n)\n"
                ),
            )?;
        }
        let mixed = mix(&bench, keys, target)?;
        assert!(
            dose(&mixed, cheap) > 1.0 && dose(&mixed, dear) < 1e-9,
            "{cheap} at {soda} {potash}"
        );
    }
    Ok(())
}

/// Two contradicting goals of one unit of miss each: the sum does not care how the miss is
/// shared, the largest miss wants halves.
#[test]
fn the_largest_miss_can_come_first() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let target = "goals: (calcium_hardness: \"40 mg/L as CaCO3 ± 1\", \
                  hardness: \"at most 20 mg/L as CaCO3 ± 1\")";
    let largest = mix(&bench, "    misses: Largest,\n    base: [\"distilled\"],", target)?;
    let calcium = number(&largest, "/waters/0/goals/0/miss")?;
    let hardness = number(&largest, "/waters/0/goals/1/miss")?;
    assert!(
        (calcium + 10.0).abs() < 1e-6 && (hardness - 10.0).abs() < 1e-6,
        "{calcium} {hardness}"
    );
    Ok(())
}

#[test]
fn a_weight_decides_a_contradiction() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let target = "goals: (calcium: \"20 mg/L, weight 3\", chloride: \"at most 10 mg/L\", \
                  sulfate: \"0 mg/L\", alkalinity: \"0 mg/L as CaCO3\")";
    let mixed = mix(&bench, "    base: [\"distilled\"],", target)?;
    assert!((number(&mixed, "/waters/0/goals/0/got")? - 19.0).abs() < 1.0001);
    assert_eq!(mixed.pointer("/waters/0/reached"), Some(&false.into()));
    Ok(())
}

#[test]
fn a_ratio_is_kept() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let target = "goals: (hardness: \"80 mg/L as CaCO3 ± 0\"), \
                  ratios: [(of: \"magnesium\", to: \"calcium\", goal: \"1.5 mg/mg ± 0\")]";
    let mixed = mix(&bench, "", target)?;
    let ratio = number(&mixed, "/waters/0/mg_per_l/Mg")? / number(&mixed, "/waters/0/mg_per_l/Ca")?;
    assert!((ratio - 1.5).abs() < 1e-6, "{ratio}");
    assert_eq!(mixed.pointer("/waters/0/reached"), Some(&true.into()));
    Ok(())
}

#[test]
fn an_unbalanced_analysis_is_reported() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::write(
        bench.join("waters/odd.ron"),
        "Water(\n    name: \"odd\",\n    analysis: (calcium: \"60 mg/L\", chloride: \"10 mg/L\"),\n)\n",
    )?;
    let mixed = mix(&bench, "    base: [\"odd\"],", "goals: (calcium: \"60 mg/L\")")?;
    let notes = mixed.get("notes").map(ToString::to_string).unwrap_or_default();
    assert!(notes.contains("Standard Methods 1030 E"), "{notes}");
    Ok(())
}

#[test]
fn a_shelf_without_stocks_still_answers() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for entry in fs::read_dir(bench.join("stocks"))? {
        fs::remove_file(entry?.path())?;
    }
    let mixed = mix(&bench, "", "goals: (calcium: \"60 mg/L\")")?;
    assert_eq!(mixed.pointer("/waters/0/reached"), Some(&false.into()));
    assert!((share(&mixed, "distilled") - 1.0).abs() < 1e-12);
    Ok(())
}

#[test]
fn ten_thousand_targets_are_as_fine_as_ten() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let mut text =
        "Flight(\n    title: \"many\",\n    bottle: \"1 L\",\n    targets: [\n".to_owned();
    for n in 0..10_000 {
        text.push_str(&format!(
            "        Target(name: \"{n}\", goals: (hardness: \"{} mg/L as CaCO3\", \
             alkalinity: \"{} mg/L as CaCO3\")),\n",
            n % 200,
            n % 97
        ));
    }
    text.push_str("    ],\n)\n");
    fs::write(bench.join("flights/many.ron"), text)?;
    let mixed = json(&bench, &["mix", "many"])?;
    let waters = mixed.get("waters").and_then(Value::as_array).map(Vec::len);
    assert_eq!(waters, Some(10_000));
    Ok(())
}

/// A trade name that leaves nothing open is one salt; a formula in the wrong case is asked back, and
/// so is a name that leaves the hydrate open.
#[test]
fn trade_names_mean_one_salt() -> Fallible {
    let salts = Catalogue::new(built_in_salts()?);
    for (name, formula) in
        [("Epsom salt", "MgSO4·7H2O"), ("baking soda", "NaHCO3"), ("Gypsum", "CaSO4·2H2O")]
    {
        assert_eq!(salts.find(name)?.formula.to_string(), formula);
    }
    let near = |asked: &str| match salts.find(asked) {
        Err(LookupError::Unknown { near, .. }) => near,
        _ => None,
    };
    assert_eq!(near("nahco3").as_deref(), Some("NaHCO3"));
    assert_eq!(near("epsom sald").as_deref(), Some("Epsom salt"));
    assert_eq!(salts.find("epsom salts")?.formula.to_string(), "MgSO4·7H2O");
    assert!(matches!(salts.find("magnesium sulfate"), Err(LookupError::WhichHydrate { .. })));
    Ok(())
}

/// `water` sees a flight as it is poured: in whole steps where its file names a dispenser. A flight
/// that cannot be read does not stand in the way of a base water.
#[test]
fn a_water_is_seen_as_it_is_poured() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let file = bench.join("flights/first-flight.ron");
    let written = fs::read_to_string(&file)?;
    let hardness =
        |bench: &Path| number(&json(bench, &["water", "middle"])?, "/0/hardness_mg_per_l_caco3");
    let exact = hardness(&bench)?;
    fs::write(&file, written.replace("    bottle:", "    dispenser: \"syringe\",\n    bottle:"))?;
    let poured = hardness(&bench)?;
    let mixed = number(&json(&bench, &["mix"])?, "/waters/1/hardness_mg_per_l_caco3")?;
    assert!((poured - mixed).abs() < 1e-9 && (poured - exact).abs() > 0.1, "{poured} {mixed}");
    fs::write(&file, "Flight(")?;
    json(&bench, &["water", "harbour tap"])?;
    let mut command = program()?;
    let refused = command.current_dir(&bench).args(["water", "middle"]).output()?;
    assert_eq!(refused.status.code(), Some(65));
    Ok(())
}

#[test]
fn of_copies_all_say_which_file_counts() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for copy in ["epsom (copy).ron", "Epsom2.ron", "zepsom.ron"] {
        fs::copy(bench.join("stocks/epsom.ron"), bench.join("stocks").join(copy))?;
    }
    let output = program()?.current_dir(&bench).args(["check", "--json"]).output()?;
    let found: Value = serde_json::from_slice(&output.stdout)?;
    let damage = found.get("damage").and_then(Value::as_array).ok_or("no list")?;
    assert_eq!(damage.len(), 3, "{found}");
    for copy in damage {
        let said = copy.to_string();
        assert!(said.contains("this is a copy of `epsom.ron`"), "{said}");
        assert!(said.contains("`epsom.ron` counts"), "{said}");
    }
    Ok(())
}

/// A bench without its mark says what to write, wherever it is asked for, and that is enough.
#[test]
fn a_bench_that_lost_its_mark_comes_back() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    // Alone, what `new` writes would count as begun and be finished.
    fs::copy(bench.join("stocks/epsom.ron"), bench.join("stocks/own.ron"))?;
    let own = fs::read_to_string(bench.join("stocks/own.ron"))?.replace("\"epsom\"", "\"own\"");
    fs::write(bench.join("stocks/own.ron"), own)?;
    fs::remove_file(bench.join("bench.ron"))?;
    for arguments in [
        &["mix"][..],
        &["check", "--bench", "."],
        &["new", "."],
        &["new", ".", "--empty"],
        &["start", "."],
    ] {
        let output = program()?.current_dir(&bench).args(arguments).output()?;
        let said = String::from_utf8(output.stderr)?;
        assert!(!output.status.success(), "{arguments:?}");
        assert!(said.contains("`Bench(title: \"My bench\")`"), "{arguments:?}: {said}");
    }
    fs::write(bench.join("bench.ron"), "Bench(title: \"My bench\")")?;
    assert!(program()?.current_dir(&bench).arg("mix").output()?.status.success());
    Ok(())
}
