//! Batches and pours on disk: doses follow from the newest batch, the user's files are never
//! touched, and neither a killed run nor two runs at once lose a record.

use std::error::Error;
use std::fs;
use std::process::{Command as Process, Stdio};
use std::time::Duration;

use crate::common::answers::{done, json as run, number, said};
use crate::common::{program, starter_bench};
use assert_cmd::cargo::cargo_bin;
use serde_json::Value;
use waterflight::bench::Records;

type Fallible = Result<(), Box<dyn Error>>;

fn weighed<'a>(salt: &'a str, total: &'a str, date: &'a str) -> [&'a str; 8] {
    ["weighed", "epsom", "--salt", salt, "--total", total, "--date", date]
}

#[test]
fn doses_follow_from_the_newest_batch() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let written = fs::read_to_string(bench.join("stocks/epsom.ron"))?;
    let before = run(&bench, &["mix"])?;
    let dose = "/waters/4/doses/1/ml_per_l";
    let stock = before.pointer("/waters/4/doses/1/stock").and_then(Value::as_str);
    assert_eq!(stock, Some("epsom"));

    // By hand: 44 g in 1 kg instead of 40 g; the density rises from 1.0181 to 1.0201.
    let batch = run(&bench, &weighed("44 g", "1000 g", "2026-03-01"))?;
    assert!((number(&batch, "/batch")? - 1.0).abs() < 1e-12);
    assert!((number(&batch, "/off_by_percent")? - 10.0).abs() < 1e-9);
    let after = run(&bench, &["mix"])?;
    let ratio = number(&before, dose)? / number(&after, dose)?;
    assert!((ratio - 1.1 * 1.0201 / 1.0181).abs() < 2e-4, "{ratio}");

    let again = run(&bench, &weighed("40 g", "1000 g", "2026-03-05"))?;
    assert!((number(&again, "/batch")? - 2.0).abs() < 1e-12);
    let latest = run(&bench, &["mix"])?;
    assert!((number(&latest, dose)? / number(&before, dose)? - 1.0).abs() < 1e-12);

    // The older batch is still there, and no file of the user's was touched.
    let records = Records::read(&bench)?;
    assert_eq!(records.batches.iter().map(|b| b.number).collect::<Vec<_>>(), [1, 2]);
    assert_eq!(fs::read_to_string(bench.join("stocks/epsom.ron"))?, written);
    Ok(())
}

/// More than stays dissolved where the bottle stands is no strength of it, weighed or read: a slip of the
/// dilution is left.
#[test]
fn what_cannot_dissolve_is_not_recorded() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    done(&bench, &["weighed", "soda", "--salt", "15 g", "--total", "510 g"])?;
    let read = ["verify", "soda", "--read", "560 µS/cm"];
    let found = run(&bench, &read)?;
    let explained = found.pointer("/found/explanations").and_then(Value::as_array);
    let explained = explained.ok_or("no explanations")?;
    let is_dilution = |e: &Value| e.as_str().is_some_and(|e| e.contains("went into the dilution"));
    assert!(explained.len() == 1 && explained.iter().all(is_dilution), "{explained:?}");
    let (ok, said) = said(&bench, &[&read[..], &["--record"]].concat())?;
    assert!(!ok && said.contains("stays dissolved"), "{said}");
    Ok(())
}

/// Between the strongest sensible stock and the table of solubility one is taken, with a word of it.
#[test]
fn a_stock_near_to_saturation_is_said_to_be() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let of = |grams: u32| {
        format!(
            "Stock(name: \"near\", salt: \"KHCO3\", storage: \"5 °C\", \
             made: ToTotalMass(salt: \"{grams} g\", total: \"1 kg\"))"
        )
    };
    for (grams, is_near) in [(190, false), (200, true)] {
        fs::write(bench.join("stocks/near.ron"), of(grams))?;
        let text = done(&bench, &["stock", "near"])?;
        assert_eq!(text.contains("crystals are likely there"), is_near, "{text}");
    }
    Ok(())
}

#[test]
fn a_batch_takes_the_verified_strength() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    run(&bench, &weighed("40 g", "1000 g", "2026-03-01"))?;
    let label = run(&bench, &["verify", "epsom"])?;
    let shown = number(&label, "/expected/us_per_cm")?;
    let read = format!("{} µS/cm", 0.8 * shown);
    let found = run(&bench, &["verify", "epsom", "--read", &read, "--record"])?;
    assert_eq!(found.pointer("/found/label_believed"), Some(&Value::Bool(false)));
    let g_per_kg = number(&found, "/found/g_per_kg")?;
    let stock = run(&bench, &["stock", "epsom"])?;
    assert!((number(&stock, "/0/g_per_kg")? / g_per_kg - 1.0).abs() < 1e-9);
    // What it shows now is what was read, and its uncertainty is that of the verification.
    let now = run(&bench, &["verify", "epsom"])?;
    assert!((number(&now, "/expected/us_per_cm")? / (0.8 * shown) - 1.0).abs() < 1e-6);
    let source = stock.pointer("/0/keeping/strength/budget/0/source").and_then(Value::as_str);
    assert_eq!(source, Some("epsom: verified strength"));
    Ok(())
}

/// A batch of another salt, from before the stock's file was changed, is not what is meant now.
#[test]
fn a_batch_of_another_salt_stays_out_of_the_bottle() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    run(&bench, &weighed("44 g", "1000 g", "2026-03-01"))?;
    let file = bench.join("stocks/epsom.ron");
    fs::write(&file, fs::read_to_string(&file)?.replace("MgSO4·7H2O", "MgSO4, anhydrous"))?;
    let stock = run(&bench, &["stock", "epsom"])?;
    assert!((number(&stock, "/0/g_per_kg")? - 40.0).abs() < 1e-9);
    assert_eq!(stock.pointer("/0/keeping/batch"), Some(&Value::Null));
    let notes = run(&bench, &["mix"])?.pointer("/notes").map(ToString::to_string);
    assert!(notes.is_some_and(|n| n.contains("batch 1 was made of MgSO4·7H2O")));
    Ok(())
}

/// A bottle that was filled at 20 °C and then moved into the cold.
#[test]
fn a_bottle_moved_into_the_cold_is_warned_of() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let file = bench.join("stocks/soda.ron");
    let warm = fs::read_to_string(&file)?.replace("5 °C", "20 °C");
    fs::write(&file, &warm)?;
    run(&bench, &["weighed", "soda", "--salt", "40 g", "--volume", "500 mL"])?;
    let quiet = run(&bench, &["stocktake"])?.pointer("/notes").map(ToString::to_string);
    assert!(quiet.is_some_and(|n| !n.contains("where it is kept")));
    fs::write(&file, warm.replace("storage: \"20 °C\"", "storage: \"5 °C\""))?;
    let notes = run(&bench, &["stocktake"])?.pointer("/notes").map(ToString::to_string);
    assert!(notes.is_some_and(|n| n.contains("where it is kept, at 5 °C only 70.")));
    Ok(())
}

#[test]
fn pours_empty_the_bottle_and_the_flight_is_warned() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    run(&bench, &weighed("2 g", "50 g", "2026-03-01"))?;
    let mix = run(&bench, &["mix"])?;
    let uses = mix.pointer("/stocks_used").and_then(Value::as_array).ok_or("no uses")?;
    let epsom =
        uses.iter().find(|u| u.pointer("/stock") == Some(&"epsom".into())).ok_or("no epsom")?;
    let each = number(epsom, "/ml")?;
    run(&bench, &["poured", "--bottles", "16", "--date", "2026-03-02"])?;
    let stocktake = run(&bench, &["stocktake", "--on", "2026-03-11"])?;
    let line = "/bottles/1";
    assert_eq!(stocktake.pointer(&format!("{line}/stock")), Some(&"epsom".into()));
    let left = number(&stocktake, &format!("{line}/left_ml"))?;
    let made = number(&stocktake, &format!("{line}/made_ml"))?;
    assert!((made - left - 16.0 * each).abs() < 1e-9);
    assert!((number(&stocktake, &format!("{line}/age_days"))? - 10.0).abs() < 1e-12);
    assert!(left < each, "{left} {each}");
    let notes = run(&bench, &["mix"])?.pointer("/notes").map(ToString::to_string);
    assert!(notes.is_some_and(|n| n.contains("epsom: the bottle cannot serve this flight")));
    Ok(())
}

/// What a killed writer left behind the last line break is not read, does not stop anything, and
/// is found aside after the next record.
#[test]
fn a_torn_record_is_kept_aside() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    run(&bench, &weighed("44 g", "1000 g", "2026-03-01"))?;
    let log = bench.join("records/batches.jsonl");
    let torn = "{\"kind\":\"made\",\"v\":1,\"sto";
    fs::write(&log, fs::read_to_string(&log)? + torn)?;
    let stock = run(&bench, &["stock", "epsom"])?;
    assert!((number(&stock, "/0/g_per_kg")? - 44.0).abs() < 1e-9);
    let notes = run(&bench, &["stocktake"])?.pointer("/notes").map(ToString::to_string);
    assert!(notes.is_some_and(|n| n.contains("ends in a piece of a line")));
    let next = run(&bench, &weighed("42 g", "1000 g", "2026-03-02"))?;
    assert!((number(&next, "/batch")? - 2.0).abs() < 1e-12);
    assert_eq!(fs::read_to_string(bench.join("records/batches.jsonl.torn"))?, format!("{torn}\n"));
    assert_eq!(fs::read_to_string(&log)?.lines().count(), 2);
    Ok(())
}

#[test]
fn runs_at_once_lose_nothing() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let mut runs = Vec::new();
    for _ in 0..8 {
        runs.push(
            Process::new(cargo_bin("waterflight"))
                .current_dir(&bench)
                .args(weighed("44 g", "1000 g", "2026-03-01"))
                .stdout(Stdio::null())
                .spawn()?,
        );
    }
    for mut run in runs {
        assert!(run.wait()?.success());
    }
    let records = Records::read(&bench)?;
    let numbers: Vec<u32> = records.batches.iter().map(|b| b.number).collect();
    assert_eq!(numbers, [1, 2, 3, 4, 5, 6, 7, 8]);
    Ok(())
}

/// Runs killed at any moment: whatever was reported as recorded is there, in order, and the next
/// run goes on.
#[test]
fn a_killed_run_loses_nothing_that_it_reported() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let mut reported = 0;
    for delay in 0..24_u64 {
        let mut run = Process::new(cargo_bin("waterflight"))
            .current_dir(&bench)
            .args(weighed("44 g", "1000 g", "2026-03-01"))
            .stdout(Stdio::piped())
            .spawn()?;
        std::thread::sleep(Duration::from_millis(delay));
        run.kill()?;
        let output = run.wait_with_output()?;
        reported += usize::from(output.status.success());
        let records = Records::read(&bench)?;
        assert!(records.batches.len() >= reported);
        let numbers: Vec<u32> = records.batches.iter().map(|b| b.number).collect();
        assert!(numbers.iter().zip(1..).all(|(a, b)| *a == b), "{numbers:?}");
    }
    let last = run(&bench, &weighed("40 g", "1000 g", "2026-03-02"))?;
    let stock = run(&bench, &["stock", "epsom"])?;
    assert!((number(&stock, "/0/g_per_kg")? - 40.0).abs() < 1e-9);
    assert!(number(&last, "/batch")? >= 1.0);
    Ok(())
}

/// A reading that agrees with the label makes the strength better known, never worse: by hand the
/// weighted mean of two values (JCGM 100:2008, H.9 has more; 1/u² each).
#[test]
fn an_agreeing_reading_is_put_together_with_the_label() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    run(&bench, &weighed("40 g", "1000 g", "2026-03-01"))?;
    let before = run(&bench, &["stock", "epsom"])?;
    let label = number(&before, "/0/keeping/strength/g_per_kg_expanded_percent")?;
    let shown = run(&bench, &["verify", "epsom"])?;
    let reading = format!("{} µS/cm", 1.005 * number(&shown, "/expected/us_per_cm")?);
    let record = ["verify", "epsom", "--read", &reading, "--record", "--date", "2026-03-02"];
    let found = run(&bench, &record)?;
    assert_eq!(found.pointer("/found/label_believed"), Some(&Value::Bool(true)));
    let standard = number(&found, "/found/g_per_kg_standard")?;
    let (read, own) = (number(&found, "/found/g_per_kg")?, 40.0 * label / 200.0);
    let [a, b] = [standard, own].map(|u| u.powi(-2));
    let together = (a * read + b * 40.0) / (a + b);
    assert!((number(&found, "/found/to_record_g_per_kg")? - together).abs() < 1e-6);
    let after = run(&bench, &["stock", "epsom"])?;
    let verified = number(&after, "/0/keeping/strength/g_per_kg_expanded_percent")?;
    assert!(verified < label, "{verified} {label}");
    assert!((number(&after, "/0/g_per_kg")? - together).abs() < 1e-6);
    Ok(())
}

/// More poured than was there is said, as is a stock without a batch; a bottle is not older than its
/// batch; a slip by a thousand is refused, one by ten is asked back.
#[test]
fn records_that_cannot_be_are_said() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    run(&bench, &weighed("40 g", "1000 g", "2026-03-01"))?;
    let poured = run(&bench, &["poured", "first-flight", "--bottles", "1000"])?;
    let notes = poured.get("notes").map(ToString::to_string).unwrap_or_default();
    assert!(notes.contains("left") && notes.contains("calcium"), "{notes}");
    let stock = run(&bench, &["stocktake", "--on", "2026-02-01"])?;
    let epsom = stock.pointer("/bottles/1").ok_or("no bottle")?;
    assert_eq!(epsom.pointer("/state").and_then(Value::as_str), Some("not_yet_made"));
    assert_eq!(epsom.pointer("/age_days"), Some(&Value::Null));
    let weigh = |salt: &str, total: &str| {
        let mut command = program()?;
        Ok::<_, Box<dyn Error>>(
            command.current_dir(&bench).args(weighed(salt, total, "2026-03-03")).output()?,
        )
    };
    let heavy = weigh("300 kg", "1000 kg")?;
    assert!(!heavy.status.success() && String::from_utf8_lossy(&heavy.stderr).contains("carries"));
    let slip = weigh("100 g", "1000 g")?;
    assert!(
        slip.status.success() && String::from_utf8_lossy(&slip.stdout).contains("That is far from")
    );
    Ok(())
}

/// The doses of the smallest bottle are less than any pipette delivers: what is confirmed is read again.
/// What no log would take back in is refused before it is written.
#[test]
fn a_record_that_is_confirmed_is_read_again() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    run(&bench, &["poured", "--water", "soft", "--bottle", "1 mL"])?;
    let records = Records::read(&bench)?;
    assert_eq!((records.pours.len(), records.damage().count()), (1, 0));
    let line = ["poured", "--bottle", "10000 L", "--bottles", "1000"];
    let output = program()?.current_dir(&bench).args(line).output()?;
    assert!(!output.status.success(), "{}", String::from_utf8_lossy(&output.stdout));
    let records = Records::read(&bench)?;
    assert_eq!((records.pours.len(), records.damage().count()), (1, 0));
    Ok(())
}
