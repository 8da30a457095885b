//! Recipes read backwards as they are typed: kegs, stocks by name, decimal commas, doses, targets.

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::{number, tried};
use crate::common::starter_bench;
use serde_json::Value;

type Fallible = Result<(), Box<dyn Error>>;

fn read(bench: &Path, arguments: &[&str]) -> Result<Value, Box<dyn Error>> {
    let all = [&["concentrate", "--json", "--reverse"][..], arguments].concat();
    let (done, out, err) = tried(bench, &all)?;
    assert!(done, "{err}");
    Ok(serde_json::from_str(&out)?)
}

fn refused(bench: &Path, arguments: &[&str]) -> Result<String, Box<dyn Error>> {
    let all = [&["concentrate", "--reverse"][..], arguments].concat();
    let (done, out, err) = tried(bench, &all)?;
    assert!(!done && out.is_empty(), "{out}");
    Ok(err)
}

/// By hand: 2.4647 g of MgSO4·7H2O (246.47 g/mol) in 10 L are 1 mmol/L: 24.305 mg/L of magnesium.
#[test]
fn grams_for_a_keg_are_the_water_itself() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let keg = read(&bench, &["MgSO4·7H2O=2.4647 g", "--keg", "10 L"])?;
    let magnesium = number(&keg, "/readings/0/mg_per_l/Mg")?;
    assert!((magnesium - 24.305).abs() < 0.01, "{magnesium}");
    assert!((number(&keg, "/readings/0/dose_ml_per_l")? - 1000.0).abs() < 1e-6);
    assert!((number(&keg, "/readings/0/makes_litres")? - 10.0).abs() < 1e-6);
    assert_eq!(keg.pointer("/undiluted"), Some(&Value::Bool(true)));
    // The same, said with a dose; into water it is filled by what the salts add.
    let litre = read(&bench, &["MgSO4·7H2O=2.4647 g", "--total", "10 L", "--dose", "1 L"])?;
    assert!((number(&litre, "/readings/0/mg_per_l/Mg")? - magnesium).abs() < 1e-9);
    // Between: 600 mL to a litre are six tenths of it.
    let part = read(&bench, &["MgSO4·7H2O=2.4647 g", "--total", "10 L", "--dose", "600 mL"])?;
    assert!((number(&part, "/readings/0/mg_per_l/Mg")? - 0.6 * magnesium).abs() < 1e-3);
    let shelf = number(&keg, "/on_shelf/0/doses/0/ml_per_l")?;
    assert!((shelf * 4.016 - magnesium).abs() < 0.05 * magnesium, "{shelf}");
    assert!(
        refused(&bench, &["KCl=1 g", "--total", "2 L", "--dose", "1.2 L"])?.contains("no dose")
    );
    let full = refused(&bench, &["KCl=1 g", "--total", "2 L", "--dose", "1000 g"])?;
    assert!(full.contains("more than the litre"), "{full}");
    Ok(())
}

#[test]
fn no_dose_and_no_water_are_taken_for_granted() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let without = refused(&bench, &["KCl=1 g", "--total", "500 mL"])?;
    assert!(without.contains("how much of it goes into a litre is missing"), "{without}");
    let without = refused(&bench, &["KCl=1 g", "--dose", "4 mL"])?;
    assert!(without.contains("how much water the salts get is missing"), "{without}");
    Ok(())
}

#[test]
fn decimals_behind_a_comma_are_read_as_behind_a_point() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let made = ["--total", "0,5 L", "--dose", "2,5 mL"];
    let commas = read(&bench, &[&["MgSO4·7H2O=10,25 g, NaHCO3=4,5 g"][..], &made].concat())?;
    let made = ["--total", "500 mL", "--dose", "2.5 mL"];
    for points in ["MgSO4·7H2O=10.25 g, NaHCO3=4.5 g", "MgSO4·7H2O=10,25 g;NaHCO3=4.5 g"] {
        let points = read(&bench, &[&[points][..], &made].concat())?;
        assert_eq!(commas.pointer("/readings/0/mg_per_l"), points.pointer("/readings/0/mg_per_l"));
    }
    let both = refused(&bench, &["NaHCO3=1,500 g", "--keg", "19 L"])?;
    assert!(both.contains("two ways") && both.contains("1500 or 1.500"), "{both}");
    Ok(())
}

/// The demo's `magchlor` is 99 % pure and 1 % damp, 39.204 g/kg at 1.0131 g/mL.
#[test]
fn stocks_are_known_by_their_names() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let keg = ["--keg", "10 L"];
    let pure = read(&bench, &[&["MgCl2·6H2O=5 g"][..], &keg].concat())?;
    let bag = read(&bench, &[&["magchlor=5 g"][..], &keg].concat())?;
    let of = |read: &Value| number(read, "/readings/0/mg_per_l/Mg");
    assert!((of(&bag)? / of(&pure)? - 0.99 * 0.99).abs() < 1e-6, "{} {}", of(&bag)?, of(&pure)?);
    let note = bag.pointer("/notes/0").and_then(Value::as_str).unwrap_or_default();
    assert!(note.contains("from the bag"), "{note}");
    // 100 mL hold 100 · 4.749 mg of magnesium.
    let solution = read(&bench, &[&["magchlor=100 mL"][..], &keg].concat())?;
    assert!((of(&solution)? - 47.49).abs() < 0.05, "{}", of(&solution)?);
    // Into water the water of the stock counts: 100 mL and 900 g make about a litre.
    let into = ["magchlor=100 mL", "--into-water", "900 g", "--dose", "1 L"];
    let litre = read(&bench, &into)?;
    assert!((number(&litre, "/readings/0/total_g")? - 1001.3).abs() < 0.2);
    // A name that means one salt here and another in the trade is not guessed at.
    fs::write(
        bench.join("stocks/odd.ron"),
        "Stock(name: \"baking soda\", salt: \"KHCO3\", made: ToTotalMass(salt: \"20 g\", total: \"1 kg\"))",
    )?;
    let odd = refused(&bench, &[&["baking soda=5 g"][..], &keg].concat())?;
    assert!(odd.contains("stock of KHCO3 here, and a name of NaHCO3"), "{odd}");
    let salt = refused(&bench, &[&["NaHCO3=5 mL"][..], &keg].concat())?;
    assert!(salt.contains("understood of a stock"), "{salt}");
    Ok(())
}

#[test]
fn the_water_of_a_recipe_becomes_a_target() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let recipe = ["magnesium sulfate=2 g, NaHCO3=1,5 g", "--keg", "19 L", "--into", "found"];
    let written = read(&bench, &recipe)?;
    let file = bench.join("flights/found.ron");
    let path = written.pointer("/file").and_then(Value::as_str).ok_or("no file")?;
    assert!(Path::new(path).ends_with("flights/found.ron") && file.exists());
    let (done, out, err) = tried(&bench, &["mix", "found", "--json"])?;
    assert!(done, "{err}");
    let mixed: Value = serde_json::from_str(&out)?;
    for reading in 0..2 {
        let name = written.pointer(&format!("/readings/{reading}/name"));
        assert_eq!(mixed.pointer(&format!("/waters/{reading}/target")), name);
        for ion in ["Mg", "Na", "SO4", "HCO3"] {
            let read = number(&written, &format!("/readings/{reading}/mg_per_l/{ion}"))?;
            let made = number(&mixed, &format!("/waters/{reading}/mg_per_l/{ion}"))?;
            assert!((read - made).abs() < 0.01 * read + 0.01, "{ion}: {read} and {made}");
        }
    }
    // Never over a file that is there.
    let before = fs::read_to_string(&file)?;
    let again = refused(&bench, &["KCl=1 g", "--keg", "19 L", "--into", "found"])?;
    assert!(again.contains("found"), "{again}");
    assert_eq!(before, fs::read_to_string(&file)?);
    let (done, out, _) = tried(
        &bench,
        &["concentrate", "--reverse", "KCl=1 g", "--keg", "19 L", "--into", "keg two"],
    )?;
    assert!(done && out.contains("waterflight mix \"keg two\""), "{out}");
    Ok(())
}
