//! A batch is what is in the bottle, a file is what is meant: which of the two rules is said, with both
//! strengths, wherever they differ.

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::{json, number, one_line};
use crate::common::starter_bench;
use serde_json::Value;

type Fallible = Result<(), Box<dyn Error>>;

fn weighed(bench: &Path, salt: &str) -> Fallible {
    let date = ["--date", "2026-03-01"];
    let arguments = ["weighed", "epsom", "--salt", salt, "--total", "1000 g"];
    json(bench, &[&arguments[..], &date].concat()).map(|_| ())
}

fn edit(bench: &Path, file: &str, from: &str, to: &str) -> Fallible {
    let path = bench.join(file);
    let before = fs::read_to_string(&path)?;
    assert!(before.contains(from), "{from} is not in {file}");
    Ok(fs::write(path, before.replace(from, to))?)
}

/// Every command that shows or uses the strength.
const ALL: [&[&str]; 6] = [
    &["mix", "--full"],
    &["weigh", "epsom"],
    &["stock"],
    &["stock", "epsom"],
    &["stocktake"],
    &["verify", "epsom"],
];

/// How a bottle of another strength than its file means is spoken of: of one stock, of several, before
/// weighing.
const DIFFERS: [&str; 3] = [
    "The bottle counts: doses follow the batch",
    "doses follow what is in the bottle, not its file",
    "Every plan follows it",
];

#[test]
fn a_file_changed_after_its_batch_is_said_everywhere() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    weighed(&bench, "40 g")?;
    for arguments in ALL {
        let said = one_line(&bench, arguments)?;
        assert!(DIFFERS.iter().all(|words| !said.contains(words)), "{arguments:?}: {said}");
        assert!(!said.contains("In the bottle now"), "{arguments:?}: {said}");
    }
    edit(&bench, "stocks/epsom.ron", "40 g", "50 g")?;
    for arguments in ALL {
        let said = one_line(&bench, arguments)?;
        for part in ["batch 1", "40.00 g/kg", "50.00 g/kg", "changed since"] {
            assert!(said.contains(part), "{arguments:?} says nothing of {part}: {said}");
        }
        assert!(DIFFERS.iter().any(|words| said.contains(words)), "{arguments:?}: {said}");
    }
    // Doses and expectation follow the bottle; a new batch follows the file.
    let stock = json(&bench, &["stock", "epsom"])?;
    assert!((number(&stock, "/0/g_per_kg")? - 40.0).abs() < 1e-9);
    let weigh = json(&bench, &["weigh", "epsom"])?;
    assert!((number(&weigh, "/strength/g_per_kg")? - 50.0).abs() < 0.01);
    assert!((number(&weigh, "/in_the_bottle/g_per_kg")? - 40.0).abs() < 1e-9);
    assert_eq!(weigh.pointer("/in_the_bottle/file_changed_since"), Some(&Value::Bool(true)));
    // Once that is recorded both are one, and nothing is left to say.
    weighed(&bench, "50 g")?;
    for arguments in ALL {
        let said = one_line(&bench, arguments)?;
        assert!(DIFFERS.iter().all(|words| !said.contains(words)), "{arguments:?}: {said}");
        assert!(!said.contains("In the bottle now"), "{arguments:?}: {said}");
    }
    Ok(())
}

/// What is different in every way a file can be changed, and what is not.
#[test]
fn every_change_of_strength_counts_and_no_other() -> Fallible {
    for (from, to, differs) in [
        ("total: \"1 kg\"", "total: \"1.1 kg\"", true),
        (
            "ToTotalMass(salt: \"40 g\", total: \"1 kg\")",
            "IntoWater(salt: \"40 g\", water: \"1 kg\")",
            true,
        ),
        ("lot: (", "lot: (purity: \"98 %\", ", true),
        ("salt: \"40 g\"", "salt: \"40.1 g\"", true),
        ("made:", "storage: \"10 °C\", keeps: \"1 year\", made:", false),
        ("5.20 per kg", "7 per kg", false),
    ] {
        let (_folder, bench) = starter_bench()?;
        weighed(&bench, "40 g")?;
        edit(&bench, "stocks/epsom.ron", from, to)?;
        let said = one_line(&bench, &["mix", "--full"])?;
        assert_eq!(said.contains("The bottle counts"), differs, "{to}: {said}");
    }
    Ok(())
}

/// A batch weighed as the file says is not worth a word; one that was weighed otherwise is, and so is
/// one whose strength was verified to be another.
#[test]
fn a_batch_near_its_file_is_quiet() -> Fallible {
    for (salt, differs) in [("40.02 g", false), ("39.9 g", false), ("44 g", true), ("36 g", true)] {
        let (_folder, bench) = starter_bench()?;
        weighed(&bench, salt)?;
        let said = one_line(&bench, &["mix", "--full"])?;
        assert_eq!(said.contains("The bottle counts"), differs, "{salt}: {said}");
        assert!(!said.contains("changed since"), "{said}");
    }
    let (_folder, bench) = starter_bench()?;
    weighed(&bench, "40 g")?;
    let shown = number(&json(&bench, &["verify", "epsom"])?, "/expected/us_per_cm")?;
    json(&bench, &["verify", "epsom", "--read", &format!("{:.0} µS/cm", 0.8 * shown), "--record"])?;
    assert!(one_line(&bench, &["weigh", "epsom"])?.contains("In the bottle now"));
    Ok(())
}

/// Batches from before the file's strength was kept are read, and compared with the file as it is.
#[test]
fn older_records_are_read() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::create_dir_all(bench.join("records"))?;
    fs::write(
        bench.join("records/batches.jsonl"),
        "{\"kind\":\"made\",\"v\":1,\"stock\":\"epsom\",\"batch\":1,\"day\":\"2026-03-01\",\
         \"salt\":\"MgSO4·7H2O\",\"made\":{\"to_total_mass\":{\"salt_g\":44.0,\"total_g\":1000.0}},\
         \"celsius\":20.0,\"purity\":1.0,\"purity_within\":null,\"moisture\":0.0,\
         \"moisture_within\":null,\"grade\":null,\"lot\":null}\n",
    )?;
    let said = one_line(&bench, &["mix", "--full"])?;
    assert!(said.contains("44.00 g/kg") && said.contains("40.00 g/kg"), "{said}");
    weighed(&bench, "40 g")?;
    assert!(!one_line(&bench, &["mix", "--full"])?.contains("The bottle counts"));
    Ok(())
}

/// A file that names another salt takes the batch out of the bottle, and every command says so.
#[test]
fn a_batch_of_another_salt_is_said_everywhere() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    weighed(&bench, "40 g")?;
    edit(&bench, "stocks/epsom.ron", "MgSO4·7H2O", "MgSO4, anhydrous")?;
    for arguments in ALL {
        let said = one_line(&bench, arguments)?;
        assert!(said.contains("batch 1 was made of MgSO4·7H2O"), "{arguments:?}: {said}");
    }
    Ok(())
}

/// A stock that is called otherwise has lost its batch: its doses fall back to the file.
#[test]
fn a_renamed_stock_is_missed() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    weighed(&bench, "44 g")?;
    edit(&bench, "stocks/epsom.ron", "name: \"epsom\"", "name: \"bitter salt\"")?;
    for arguments in [&["mix", "--full"][..], &["stocktake"]] {
        let said = one_line(&bench, arguments)?;
        assert!(said.contains("epsom: batch 1 was recorded, and no file"), "{said}");
        assert!(said.contains("`bitter salt` is of the same salt"), "{said}");
    }
    Ok(())
}
