//! Every file in `mistakes/` is a mistake that a person can make; the text beside it is what the
//! program says about it, with its exit status in the first line.
//!
//! A new case is a new file. `WATERFLIGHT_BLESS=1 cargo test --test all mistakes` writes the texts
//! anew; read each before it is committed.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use crate::common::{program, starter_bench};

type Fallible = Result<(), Box<dyn Error>>;
type Files = Vec<(PathBuf, Vec<u8>)>;

/// All files below a folder with their content.
fn snapshot(folder: &Path) -> Result<Files, Box<dyn Error>> {
    let mut files = Files::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder)? {
            let path = entry?.path();
            if path.is_dir() {
                folders.push(path);
            } else {
                files.push((path.clone(), fs::read(&path)?));
            }
        }
    }
    files.sort();
    Ok(files)
}

/// Runs the program on a starter bench and gives status and message, the bench's path as BENCH.
pub(crate) fn run(bench: &Path, arguments: &[&str]) -> Result<String, Box<dyn Error>> {
    let before = snapshot(bench)?;
    let output = program()?.arg("--bench").arg(bench).args(arguments).output()?;
    assert_eq!(snapshot(bench)?, before, "a mistake must leave every file as it is");
    assert!(output.stdout.is_empty(), "a mistake belongs on standard error alone");
    let text = String::from_utf8(output.stderr)?;
    let status = output.status.code().ok_or("ended by a signal")?;
    Ok(format!("exit {status}\n{}", text.replace(&bench.display().to_string(), "BENCH")))
}

pub(crate) fn compare(said: &str, beside: &Path) -> Fallible {
    if std::env::var_os("WATERFLIGHT_BLESS").is_some() {
        fs::write(beside, said)?;
    }
    let wanted = fs::read_to_string(beside).unwrap_or_default();
    assert_eq!(said, wanted, "{}", beside.display());
    Ok(())
}

#[test]
fn every_mistake_is_explained() -> Fallible {
    let cases = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/mistakes");
    let mut seen = 0;
    for kind in ["flights", "stocks", "waters", "salts"] {
        for entry in fs::read_dir(cases.join(kind))? {
            let case = entry?.path();
            if case.extension().is_none_or(|e| e != "ron") {
                continue;
            }
            let (_folder, bench) = starter_bench()?;
            fs::copy(&case, bench.join(kind).join("mistake.ron"))?;
            // Waters and salts stop only what names them.
            let command = match kind {
                "flights" => ["mix", "mistake"],
                "waters" => ["water", "mistake"],
                "salts" => ["salts", "mistake"],
                _ => ["mix", "first-flight"],
            };
            let said = run(&bench, &command)?;
            compare(&said, &case.with_extension("txt"))?;
            seen += 1;
        }
    }
    assert!(seen >= 60, "only {seen} cases");
    Ok(())
}

#[test]
fn mistakes_in_the_settings_are_explained() -> Fallible {
    let cases = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/mistakes/settings");
    for entry in fs::read_dir(cases)? {
        let case = entry?.path();
        if case.extension().is_some_and(|e| e == "ron") {
            let (_folder, bench) = starter_bench()?;
            fs::copy(&case, bench.join("bench.ron"))?;
            compare(&run(&bench, &["mix"])?, &case.with_extension("txt"))?;
        }
    }
    Ok(())
}

#[test]
fn mistakes_outside_of_files_are_explained() -> Fallible {
    let beside =
        |name: &str| Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/mistakes").join(name);
    let (folder, bench) = starter_bench()?;
    compare(&run(&bench, &["mix", "second-flight"])?, &beside("no-such-flight.txt"))?;
    compare(&run(&bench, &["stock", "epson"])?, &beside("no-such-stock.txt"))?;
    compare(&run(&bench, &["salts", "sodium bicarbonat"])?, &beside("no-such-salt.txt"))?;
    compare(&run(&bench, &["water", "midle"])?, &beside("no-such-water.txt"))?;
    compare(&run(&bench, &["water", "5 mL/L epson"])?, &beside("no-such-dilution.txt"))?;
    compare(&run(&bench, &["read", "middle", "--", "-3"])?, &beside("no-reading.txt"))?;
    compare(&run(&bench, &["why", "soft water"])?, &beside("no-such-target.txt"))?;
    compare(&run(&bench, &["mix", "--dispenser", "spoon"])?, &beside("no-such-dispenser.txt"))?;
    compare(&run(&bench, &["mix", "--with", "epsom"])?, &beside("with-no-dispenser.txt"))?;
    compare(&run(&bench, &["mix", "--left", "epsom"])?, &beside("left-without-volume.txt"))?;
    let odd = ["ladder", "soft", "--vary", "hardnes=1..2 °dH", "--into", "x"];
    compare(&run(&bench, &odd)?, &beside("ladder-of-nothing.txt"))?;
    let outside = ["ladder", "soft", "--vary", "hardness=1..2 °dH", "--into", "../x"];
    compare(&run(&bench, &outside)?, &beside("ladder-elsewhere.txt"))?;
    fs::create_dir(bench.join("flights/folder.ron"))?;
    compare(&run(&bench, &["mix", "folder"])?, &beside("folder-for-a-file.txt"))?;
    fs::remove_dir(bench.join("flights/folder.ron"))?;
    fs::copy(bench.join("flights/first-flight.ron"), bench.join("flights/another.ron"))?;
    compare(&run(&bench, &["mix"])?, &beside("which-flight.txt"))?;
    for (name, settings) in [
        ("boiler-too-hot.txt", "boilers: (steam: \"180 °C\")"),
        ("boiler-in-millilitres.txt", "boilers: (brew: \"93 mL\")"),
        ("meter-step.txt", "meter: (step: 0)"),
        ("meter-scale.txt", "meter: (shows: Ppm600)"),
    ] {
        let (_folder, bench) = starter_bench()?;
        fs::write(
            bench.join("bench.ron"),
            format!("Bench(\n    title: \"a mistake\",\n    {settings},\n)\n"),
        )?;
        compare(&run(&bench, &["mix"])?, &beside(name))?;
    }
    compare(&run(&bench, &["water", "soft"])?, &beside("which-water.txt"))?;
    fs::write(
        bench.join("stocks/plain.ron"),
        "Stock(name: \"plain\", salt: \"KCl\", made: ToTotalMass(salt: \"9 g\", total: \"1 kg\"))\n",
    )?;
    fs::write(
        bench.join("flights/cheap.ron"),
        "Flight(\n    title: \"a mistake\",\n    bottle: \"1 L\",\n    prefer: LeastCost,\n    \
         targets: [Target(name: \"one\", goals: (calcium: \"70 mg/L\"))],\n)\n",
    )?;
    compare(&run(&bench, &["mix", "cheap"])?, &beside("least-cost-without-prices.txt"))?;
    let full = bench.display().to_string();
    compare(&run(&bench, &["new", &full])?, &beside("folder-not-empty.txt"))?;
    let elsewhere = folder.path().join("elsewhere");
    fs::create_dir(&elsewhere)?;
    compare(&run(&elsewhere, &["mix"])?, &beside("no-bench.txt"))?;
    Ok(())
}

#[test]
fn mistakes_with_stocks_are_explained() -> Fallible {
    let beside =
        |name: &str| Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/mistakes").join(name);
    let (_folder, bench) = starter_bench()?;
    for (name, arguments) in [
        ("weigh-too-little.txt", &["weigh", "table salt", "--make", "0.1 mL"][..]),
        ("weigh-too-heavy.txt", &["weigh", "soda", "--make", "20 L"]),
        ("weigh-no-amount.txt", &["weigh", "soda", "--make", "1e300 L"]),
        ("weigh-by-temperature.txt", &["weigh", "soda", "--make", "20 °C"]),
        ("weighed-without-unit.txt", &["weighed", "soda", "--salt", "15", "--volume", "0.5 L"]),
        ("weighed-crystals.txt", &["weighed", "soda", "--salt", "40 g", "--volume", "0.5 L"]),
        ("weighed-no-water.txt", &["weighed", "epsom", "--salt", "40 g", "--total", "40 g"]),
        (
            "weighed-no-day.txt",
            &["weighed", "epsom", "--salt", "4 g", "--total", "99 g", "--date", "2026-02-30"],
        ),
        ("verify-nothing-to-titrate.txt", &["verify", "soda", "--edta", "9 drops of 1 °dH"]),
        ("verify-no-scale.txt", &["verify", "soda", "--read", "85 ppm"]),
        ("verify-too-strong.txt", &["verify", "soda", "--read", "40 mS/cm"]),
        ("verify-no-dilution.txt", &["verify", "soda", "--take", "1 L"]),
        ("verify-no-batch.txt", &["verify", "soda", "--read", "160 µS/cm", "--record"]),
        ("advise-impossible.txt", &["advise", "--error", "0.1 %"]),
    ] {
        compare(&run(&bench, arguments)?, &beside(name))?;
    }
    fs::create_dir(bench.join("records"))?;
    let newer = r#"{"kind":"made","v":9,"stock":"epsom","batch":1}"#;
    fs::write(bench.join("records/batches.jsonl"), format!("{newer}\n"))?;
    compare(&run(&bench, &["mix"])?, &beside("record-of-a-newer-program.txt"))?;
    fs::remove_dir_all(bench.join("records"))?;
    let settings = fs::read_to_string(bench.join("bench.ron"))?;
    let blunt = settings.replace("resolution: \"0.01 g\"", "resolution: \"0 g\"");
    fs::write(bench.join("bench.ron"), blunt)?;
    compare(&run(&bench, &["mix"])?, &beside("balance-without-steps.txt"))?;
    Ok(())
}

#[test]
fn mistakes_with_everyday_waters_are_explained() -> Fallible {
    let cases = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/mistakes/everyday");
    let (_folder, bench) = starter_bench()?;
    let both = "MgSO4·7H2O=10 g, NaHCO3=5 g";
    for (name, arguments) in [
        ("no-such-water.txt", &["batch", "midle"][..]),
        ("no-such-target.txt", &["batch", "first-flight/midle"]),
        ("make-nothing.txt", &["batch", "middle", "--make", "0 L"]),
        ("make-grams.txt", &["batch", "middle", "--make", "20 kg"]),
        ("within-nothing.txt", &["batch", "middle", "--within", "0 %"]),
        ("instead-by-mass.txt", &["batch", "middle", "--ready-product", "3 per kg"]),
        ("scale-without-product.txt", &["batch", "middle", "--balance-price", "35"]),
        (
            "scale-per-litre.txt",
            &["batch", "middle", "--ready-product", "1 per L", "--balance-price", "35 per L"],
        ),
        ("dose-zero.txt", &["concentrate", "middle", "--dose", "0 mL"]),
        ("dose-without-unit.txt", &["concentrate", "middle", "--dose", "4"]),
        ("dose-over-the-total.txt", &["concentrate", "middle", "--dose", "300 mL"]),
        ("dose-over-the-litre.txt", &["concentrate", "middle", "--dose", "2 L"]),
        ("total-by-time.txt", &["concentrate", "middle", "--total", "20 °C"]),
        ("too-strong.txt", &["concentrate", "middle", "--dose", "0.3 mL"]),
        ("no-day.txt", &["concentrate", "middle", "--date", "2026-02-30"]),
        ("no-salts.txt", &["concentrate", "distilled"]),
        ("recipe-and-water.txt", &["concentrate", "middle", "--reverse", both]),
        ("recipe-without-units.txt", &["concentrate", "--reverse", "MgSO4·7H2O=10, NaHCO3=5"]),
        ("recipe-in-water.txt", &["concentrate", "--reverse", "NaHCO3=5 g in 500 mL"]),
        ("recipe-with-dose.txt", &["concentrate", "--reverse", "NaHCO3=5 g, 4 mL/L"]),
        ("recipe-nonsense.txt", &["concentrate", "--reverse", "two spoons of everything"]),
        ("recipe-of-nothing.txt", &["concentrate", "--reverse", "NaHCO3=0 g"]),
        ("recipe-unknown-salt.txt", &["concentrate", "--reverse", "sodium bicarbonat=5 g"]),
        (
            "recipe-too-strong.txt",
            &["concentrate", "--reverse", "CaCl2=80 g", "--total", "200 g", "--dose", "4 mL"],
        ),
        (
            "recipe-without-room.txt",
            &["concentrate", "--reverse", "CaCl2=280 g", "--total", "200 g", "--dose", "4 mL"],
        ),
        ("recipe-without-water.txt", &["concentrate", "--reverse", both]),
        ("recipe-without-dose.txt", &["concentrate", "--reverse", both, "--total", "500 mL"]),
        ("recipe-thousands.txt", &["concentrate", "--reverse", "NaHCO3=1,500 g", "--keg", "19 L"]),
        ("recipe-of-salt-by-volume.txt", &["concentrate", "--reverse", "NaHCO3=5 mL"]),
        (
            "recipe-dose-too-large.txt",
            &["concentrate", "--reverse", both, "--total", "500 mL", "--dose", "1.5 L"],
        ),
        (
            "recipe-dose-over-a-litre.txt",
            &["concentrate", "--reverse", "KCl=1 g", "--into-water", "2 L", "--dose", "1000 g"],
        ),
    ] {
        compare(&run(&bench, arguments)?, &cases.join(name))?;
    }
    Ok(())
}
