//! What a bench may be called by: salts whose hydrate a formula leaves open, and files whose names
//! editors and systems have changed. Neither is ever taken or left out in silence.

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::{json, number, tried};
use crate::common::starter_bench;
use waterflight::bench::built_in_salts;
use waterflight::stock::{Catalogue, LookupError};

type Fallible = Result<(), Box<dyn Error>>;

/// What the program says on both outputs, and whether it ended well.
fn said(bench: &Path, arguments: &[&str]) -> Result<(bool, String, String), Box<dyn Error>> {
    let (done, out, errors) = tried(bench, arguments)?;
    // Lines are broken at blanks; what is looked for may stand on two.
    let joined = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    Ok((done, joined(out), joined(errors)))
}

fn stock_file(bench: &Path, file: &str, name: &str, salt: &str) -> Fallible {
    let text = format!(
        "Stock(\n    name: \"{name}\",\n    salt: \"{salt}\",\n    \
         made: ToTotalMass(salt: \"20 g\", total: \"1 kg\"),\n)\n"
    );
    Ok(fs::write(bench.join(file), text)?)
}

/// Every compound of the catalogue that is listed with several hydrates, and every spelling of the
/// one without water.
#[test]
fn a_bare_formula_of_several_hydrates_is_refused_with_the_list() -> Fallible {
    let salts = Catalogue::new(built_in_salts()?);
    let mut shared = 0;
    for salt in salts.iter().filter(|s| s.formula.waters() <= 0.0) {
        let kin = salts.iter().filter(|s| s.formula.same_but_for_water(&salt.formula)).count();
        let bare = salt.formula.to_string();
        if kin > 1 {
            shared += 1;
            let refused = salts.find(&bare);
            let Err(LookupError::WhichHydrate { hydrates, .. }) = refused else {
                return Err(format!("{bare} is taken: {refused:?}").into());
            };
            assert_eq!(hydrates.len(), kin);
            for other in [bare.to_lowercase(), bare.to_uppercase(), format!(" {bare} ")] {
                let refused = salts.find(&other);
                assert!(matches!(refused, Err(LookupError::WhichHydrate { .. })), "{other}");
            }
            // What the list says to write is what can be written.
            for hydrate in hydrates {
                assert_eq!(salts.find(&hydrate.write)?.name, hydrate.name);
            }
        } else {
            assert_eq!(salts.find(&bare)?.name, salt.name);
        }
        for said in [
            format!("{bare}, anhydrous"),
            format!("{bare} (anhydrous)"),
            format!("Anhydrous {bare}"),
            format!("anhydrous {}", salt.compound),
            format!("{}, ANHYDROUS", salt.compound),
        ] {
            assert_eq!(salts.find(&said)?.name, salt.name, "{said}");
        }
    }
    assert_eq!(shared, 2);
    // Of gypsum and of magnesium chloride no anhydrous salt is listed.
    for absent in ["CaSO4", "CaSO4, anhydrous", "MgCl2, anhydrous", "anhydrous magnesium chloride"]
    {
        assert!(matches!(salts.find(absent), Err(LookupError::OtherHydrate { .. })), "{absent}");
    }
    for contradiction in ["MgSO4·7H2O, anhydrous", "anhydrous Epsom salt"] {
        assert!(salts.find(contradiction).is_err(), "{contradiction}");
    }
    Ok(())
}

#[test]
fn a_stock_says_which_hydrate() -> Fallible {
    for (bare, word) in [("MgSO4", "MgSO4·7H2O"), ("CaCl2", "CaCl2·2H2O")] {
        let (_folder, bench) = starter_bench()?;
        stock_file(&bench, "stocks/own.ron", "own", bare)?;
        let (well, _, errors) = said(&bench, &["stock", "own"])?;
        assert!(!well && errors.contains("does not say which hydrate"), "{errors}");
        assert!(
            errors.contains(word) && errors.contains(&format!("`{bare}, anhydrous`")),
            "{errors}"
        );
        stock_file(&bench, "stocks/own.ron", "own", &format!("{bare}, anhydrous"))?;
        let stock = json(&bench, &["stock", "own"])?;
        assert_eq!(stock.pointer("/0/formula").and_then(|f| f.as_str()), Some(bare));
    }
    Ok(())
}

/// A recipe read backwards stands for every hydrate, and the word settles it.
#[test]
fn a_recipe_read_backwards_is_read_with_every_hydrate() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let readings = |recipe: &str| -> Result<usize, Box<dyn Error>> {
        let asked =
            ["concentrate", "--reverse", recipe, "--into-water", "500 mL", "--dose", "5 mL"];
        let report = json(&bench, &asked)?;
        Ok(report.pointer("/readings").and_then(|r| r.as_array()).ok_or("no readings")?.len())
    };
    assert_eq!(readings("MgSO4=10 g, NaHCO3=5 g")?, 2);
    assert_eq!(readings("MgSO4, anhydrous=10 g, NaHCO3=5 g")?, 1);
    assert_eq!(readings("NaHCO3=5 g, anhydrous magnesium sulfate=10 g")?, 1);
    assert_eq!(readings("MgSO4·7H2O=10 g, NaHCO3=5 g")?, 1);
    Ok(())
}

/// A salt of one's own is described by its formula, and a formula without water is the same slip there.
#[test]
fn an_own_salt_says_which_hydrate() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let write = |name: &str, formula: &str| {
        fs::write(
            bench.join("salts/own.ron"),
            format!("Salt(\n    name: \"{name}\",\n    formula: \"{formula}\",\n)\n"),
        )
    };
    write("magnesium chloride of the shop", "MgCl2")?;
    let (well, _, errors) = said(&bench, &["salts", "own"])?;
    assert!(!well && errors.contains("MgCl2·6H2O"), "{errors}");
    for (name, formula) in [
        ("magnesium chloride of the shop", "MgCl2, anhydrous"),
        ("magnesium chloride of the shop, anhydrous", "MgCl2"),
    ] {
        write(name, formula)?;
        stock_file(&bench, "stocks/own.ron", "own", "MgCl2, anhydrous")?;
        let stock = json(&bench, &["stock", "own"])?;
        assert!(
            (number(&stock, "/0/mg_per_ml/Mg")? / number(&stock, "/0/mg_salt_per_ml")?
                - 24.305 / 95.205)
                .abs()
                < 1e-4
        );
        fs::remove_file(bench.join("stocks/own.ron"))?;
    }
    Ok(())
}

/// Files that look like the user's are read or said, in every folder, and stop nothing.
#[test]
fn a_file_with_another_name_is_read_or_said() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let before = json(&bench, &["stock"])?.as_array().map_or(0, Vec::len);
    let epsom = fs::read_to_string(bench.join("stocks/epsom.ron"))?;
    // Read, whatever the case of the ending.
    stock_file(&bench, "stocks/LOUD.RON", "loud", "NaCl")?;
    let names = [
        "stocks/second.ron.txt",
        "stocks/._epsom.ron",
        "stocks/.#epsom.ron",
        "stocks/#epsom.ron#",
        "stocks/epsom.ron~",
        "stocks/epsom.ron.bak",
        "stocks/epsom.txt",
        "waters/harbour-tap.ron.txt",
        "flights/._first-flight.ron",
        "salts/own.ron.old",
        "epsom.ron",
        "bench.ron.txt",
    ];
    for name in names {
        fs::create_dir_all(bench.join(name).parent().ok_or("no folder")?)?;
        fs::write(bench.join(name), &epsom)?;
    }
    // Bytes that are no text, as a system leaves them beside a file.
    fs::write(bench.join("stocks/._epsom.ron"), [0_u8, 5, 22, 7, 255])?;
    fs::create_dir(bench.join("stocks/folder.ron"))?;
    fs::create_dir(bench.join("stocks/old"))?;
    fs::write(bench.join("stocks/old/was.ron"), &epsom)?;
    fs::create_dir(bench.join("Stock"))?;
    fs::create_dir_all(bench.join("records"))?;
    fs::write(bench.join("records/batches.jsonl.txt"), "{}")?;
    fs::create_dir_all(bench.join("sessions/autumn"))?;
    fs::write(bench.join("sessions/autumn/plan.json.txt"), "{}")?;
    for arguments in [&["stock"][..], &["mix"], &["stocktake"], &["salts"], &["journal"]] {
        let (well, _, errors) = said(&bench, arguments)?;
        assert!(well, "{arguments:?}: {errors}");
        for name in names.iter().chain(&[
            "stocks/folder.ron",
            "stocks/old",
            "Stock",
            "records/batches.jsonl.txt",
            "sessions/autumn",
        ]) {
            assert!(
                errors.contains(&format!("{name}:")) || errors.contains(&format!("{name},")),
                "{arguments:?} says nothing of {name}: {errors}"
            );
        }
        assert!(errors.contains("rename it to `second.ron`"), "{errors}");
        assert!(!errors.contains("LOUD") && !errors.contains("error"), "{errors}");
    }
    // The answer itself is as it was, with the one that was read.
    let stocks = json(&bench, &["stock"])?;
    assert_eq!(stocks.as_array().map(Vec::len), Some(before + 1));
    Ok(())
}

#[test]
fn a_clean_bench_has_nothing_to_say() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::write(bench.join("README.md"), "Our waters")?;
    fs::write(bench.join("stocks/.DS_Store"), [0_u8, 1])?;
    fs::write(bench.join("stocks/shopping.txt"), "more Epsom salt")?;
    let (well, _, errors) = said(&bench, &["mix"])?;
    assert!(well && errors.is_empty(), "{errors}");
    Ok(())
}

/// The mark of the bench with another ending: the way out names it.
#[test]
fn a_mark_with_another_ending_is_named() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::rename(bench.join("bench.ron"), bench.join("bench.ron.txt"))?;
    let (well, _, errors) = said(&bench, &["stock"])?;
    assert!(!well && errors.contains("bench.ron.txt` to `bench.ron`"), "{errors}");
    Ok(())
}
