//! A bench as one file, and out of it again.
#![expect(
    clippy::indexing_slicing,
    reason = "a key that an answer lacks is null, and fails its test"
)]

use std::error::Error;
use std::fs;

use serde_json::Value;

use crate::common::answers::{done, said};
use crate::common::starter_bench;

type Fallible = Result<(), Box<dyn Error>>;

/// What was weighed, planned, scored and revealed is the same on the other computer, and the key of a
/// session that goes on is not there.
#[test]
fn a_bench_moves_with_records_and_sessions_and_without_open_keys() -> Fallible {
    let (folder, bench) = starter_bench()?;
    done(&bench, &["weighed", "epsom", "--salt", "41 g", "--total", "1000 g"])?;
    let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo, cy", "--water", "soft"];
    let rest = ["--water", "hard", "--attribute", "liking", "--seed", "x"];
    for name in ["open", "told"] {
        done(&bench, &[&plan[..], &rest[..], &["--name", name]].concat())?;
    }
    done(&bench, &["session", "reveal", "told", "--force", "a rehearsal"])?;
    let file = folder.path().join("one.bench").display().to_string();
    let packed = done(&bench, &["pack", &file])?;
    assert!(packed.contains("not revealed: open."), "{packed}");
    let (ok, again) = said(&bench, &["pack", &file])?;
    assert!(!ok && again.contains("exists already"), "{again}");
    let there = folder.path().join("there");
    let target = there.display().to_string();
    done(&bench, &["unpack", &file, &target])?;
    assert!(there.join("sessions/told/key.sealed").is_file());
    assert!(!there.join("sessions/open/key.sealed").exists());
    for command in [
        &["mix", "--json"][..],
        &["stock", "--json"],
        &["log", "--json"],
        &["session", "results", "told"],
    ] {
        assert_eq!(done(&there, command)?, done(&bench, command)?, "{command:?}");
    }
    // A key that stayed behind is no damage; one that was lost is.
    let checked = done(&there, &["check"])?;
    assert!(
        checked.contains("open: not revealed yet; its sealed key stayed")
            && checked.contains("nothing is damaged")
    );
    // Nobody waits for the key of a session that was taken back.
    done(&there, &["undo", "open"])?;
    assert!(!done(&there, &["check"])?.contains("its sealed key stayed"));
    fs::remove_file(bench.join("sessions/open/key.sealed"))?;
    let (ok, lost) = said(&bench, &["check"])?;
    assert!(!ok && lost.contains("the sealed key is not here"), "{lost}");
    let (ok, full) = said(&bench, &["unpack", &file, &target])?;
    assert!(!ok && full.contains("there is a bench here already"), "{full}");
    Ok(())
}

#[test]
fn a_file_that_leads_elsewhere_is_refused() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let file = folder.path().join("bad.bench");
    let there = folder.path().join("there");
    for (text, words) in [
        ("{}", "no packed bench"),
        ("{\"waterflight_bench\": 9, \"files\": []}", "newer program"),
        ("{\"waterflight_bench\": 1, \"files\": [{\"pa", "ends too early"),
        ("{\"a\": 1}", "line 1, column 4"),
        (
            "{\"waterflight_bench\": 1, \"files\": [{\"path\": \"../x.ron\", \"text\": \"\"}]}",
            "no place in a bench",
        ),
        ("{\"waterflight_bench\": 1, \"files\": []}", "no `bench.ron`"),
    ] {
        fs::write(&file, text)?;
        let (file, there) = (file.display().to_string(), there.display().to_string());
        let (ok, said) = said(&bench, &["unpack", &file, &there])?;
        assert!(!ok && said.contains(words), "{text}: {said}");
    }
    assert!(!there.exists() && !folder.path().join("x.ron").exists());
    Ok(())
}

/// The doses stand in the table of what was planned, and the table is read back as before.
#[test]
fn planned_waters_carry_their_doses() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let table = done(&bench, &["export", "planned"])?;
    let mut lines = table.lines();
    let heads: Vec<&str> = lines.next().unwrap_or_default().split(',').collect();
    let soft: Vec<&str> = lines.next().unwrap_or_default().split(',').collect();
    let report: Value = serde_json::from_str(&done(&bench, &["mix", "--json"])?)?;
    for dose in report["waters"][0]["doses"].as_array().ok_or("no doses")? {
        let head = format!("{} [mL/L]", dose["stock"].as_str().unwrap_or_default());
        let place = heads.iter().position(|h| *h == head).ok_or("no such column")?;
        let said: f64 = soft.get(place).ok_or("no cell")?.parse()?;
        assert!((said - dose["ml_per_l"].as_f64().unwrap_or(f64::NAN)).abs() < 1e-5, "{table}");
    }
    let place = heads.iter().position(|h| *h == "hill spring [mL/L]").ok_or("no base water")?;
    assert!(soft.get(place).ok_or("no cell")?.parse::<f64>()? > 900.0);
    let file = folder.path().join("planned.csv");
    fs::write(&file, &table)?;
    done(&bench, &["import", "analyses", &file.display().to_string()])?;
    Ok(())
}

/// Where doses go into a full litre, the table counts them on that litre, as `mix` does.
#[test]
fn planned_doses_are_of_the_litre_that_the_flight_means() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let weak = "Stock(name: \"weak\", salt: \"CaCl2·2H2O\", \
                made: ToTotalMass(salt: \"8 g\", total: \"1 kg\"))";
    fs::write(bench.join("stocks/weak.ron"), weak)?;
    let flight = "Flight(title: \"added\", base: [\"distilled\"], bottle: \"1 L\", \
                  convention: AddedToALitre, stocks: [\"weak\"], \
                  targets: [Target(name: \"t\", goals: (calcium: \"100 mg/L\"))])";
    fs::write(bench.join("flights/added.ron"), flight)?;
    let table = done(&bench, &["export", "planned", "added"])?;
    let mut lines = table.lines().map(|line| line.split(',').collect::<Vec<_>>());
    let (heads, row) = lines.next().zip(lines.next()).ok_or("no row")?;
    let cell = |head: &str| -> Result<f64, Box<dyn Error>> {
        let place = heads.iter().position(|h| *h == head).ok_or("no such column")?;
        Ok(row.get(place).ok_or("no cell")?.parse()?)
    };
    let report: Value = serde_json::from_str(&done(&bench, &["mix", "added", "--json"])?)?;
    let dose = report["waters"][0]["doses"][0]["ml_per_l"].as_f64().ok_or("no dose")?;
    // 100 mg of 1.1 mg/mL in a litre are some 46 mL, and 48 mL into a full one.
    assert!(dose > 46.0, "{dose}");
    assert!((cell("weak [mL/L]")? / dose - 1.0).abs() < 1e-4, "{table}");
    assert!((cell("distilled [mL/L]")? - 1000.0).abs() < 1e-6, "{table}");
    Ok(())
}

/// A damaged file stops no copy of the rest: it is in it as it is, and so it comes out again.
#[test]
fn what_is_damaged_is_packed_as_it_is() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let plan = ["session", "plan", "--tasters", "ann, bo", "--water", "soft", "--name", "night"];
    done(&bench, &[&plan[..], &["--water", "hard"]].concat())?;
    let damage: [(&str, &[u8]); 4] = [
        ("stocks/soda.ron", b"garb\xff"),
        ("records/pours.jsonl", b"\x00\xfe\n"),
        ("sessions/night/plan.json", b"{}"),
        ("sessions/night/waters.json", b"\xff"),
    ];
    fs::create_dir_all(bench.join("records"))?;
    for (file, bytes) in damage {
        fs::write(bench.join(file), bytes)?;
    }
    let file = folder.path().join("one.bench").display().to_string();
    done(&bench, &["pack", &file])?;
    let there = folder.path().join("there");
    done(&bench, &["unpack", &file, &there.display().to_string()])?;
    for (file, bytes) in damage {
        assert_eq!(fs::read(there.join(file))?, bytes, "{file}");
    }
    // The key of a session of which nobody can tell whether it is revealed stays.
    assert!(!there.join("sessions/night/key.sealed").exists());
    Ok(())
}
