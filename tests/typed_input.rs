//! What people type: taken where it has one meaning, and answered with the line to write where not.
//!
//! A new case is a new file in `mistakes/typed`, or a command below. `WATERFLIGHT_BLESS=1` writes the
//! texts anew; read each before it is committed.
//!
//! Above 400 lines: every way to type an amount, side by side.
#![expect(
    clippy::indexing_slicing,
    reason = "a key that an answer lacks is null, and fails its test"
)]

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::common::answers::run as done;
use crate::common::starter_bench;
use crate::mistakes::{compare, run};

type Fallible = Result<(), Box<dyn Error>>;

fn cases() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/mistakes/typed")
}

#[test]
fn wrong_files_are_answered_with_what_belongs_there() -> Fallible {
    let mut seen = 0;
    for kind in ["flights", "waters", "stocks", "settings"] {
        let mut files: Vec<PathBuf> = fs::read_dir(cases().join(kind))?
            .map(|e| e.map(|e| e.path()))
            .collect::<Result<_, _>>()?;
        files.sort();
        for case in files.into_iter().filter(|f| f.extension().is_some_and(|e| e == "ron")) {
            let (_folder, bench) = starter_bench()?;
            let into = if kind == "settings" {
                bench.join("bench.ron")
            } else {
                bench.join(kind).join("typed.ron")
            };
            fs::copy(&case, into)?;
            // A water stops only what names it.
            let command = match kind {
                "flights" => ["mix", "typed"],
                "waters" => ["water", "typed"],
                _ => ["mix", "first-flight"],
            };
            compare(&run(&bench, &command)?, &case.with_extension("txt"))?;
            seen += 1;
        }
    }
    assert!(seen >= 53, "only {seen} cases");
    Ok(())
}

#[test]
fn wrong_commands_are_answered_with_the_line_to_type() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::write(bench.join("heads.csv"), "name;GH [°dH]\nsoft;3,5\n")?;
    let heads = bench.join("heads.csv").display().to_string();
    let table = |name: &str, text: &str| -> Result<String, Box<dyn Error>> {
        let file = bench.join(name);
        fs::write(&file, text)?;
        Ok(file.display().to_string())
    };
    let ragged = table("ragged.csv", "name;Ca [mg/L];Cl [mg/L]\r\none;40;20\r\ntwo;44\r\n")?;
    let comma = table("comma.csv", "name,Ca [mg/L]\n# from the tap\none,40,5\n")?;
    let no_unit = table("no-unit.csv", "name;Ca\r\n\r\none;40\r\n")?;
    let range = table("range.csv", "name;Ca [mg/L]\r\none;40-60\r\n")?;
    let wanted = table("wanted.csv", "name;hardness [°dH]\none;4\n")?;
    for (name, arguments) in [
        ("make-thousands", &["weigh", "epsom", "--make", "1,500 mL"][..]),
        ("make-gallon", &["weigh", "epsom", "--make", "1 gal"]),
        ("bottle-without-unit", &["mix", "--bottle", "500"]),
        ("bottle-in-ounces", &["mix", "--bottle", "12 oz"]),
        ("read-thousands", &["read", "middle", "1,231"]),
        ("water-of-a-flight", &["water", "first-flight/midle"]),
        ("target-of-a-flight", &["why", "first-flight/midle"]),
        ("record-that-is-not", &["undo", "7"]),
        ("level-without-unit", &["bottle", "epsom", "--left", "120"]),
        ("ready-target", &["targets", "EPA sofd"]),
        ("no-answers", &["add", "stock", "--answers", "nowhere.txt"]),
        ("table-ragged", &["import", "analyses", &ragged]),
        ("table-decimal-comma", &["import", "analyses", &comma]),
        ("table-without-unit", &["import", "analyses", &no_unit]),
        ("table-range", &["import", "analyses", &range]),
        ("read-in-ppm", &["read", "first-flight/middle", "116 ppm"]),
        ("head-gh", &["import", "targets", &heads, "--into", "x"]),
    ] {
        let said = run(&bench, arguments)?;
        compare(&said, &cases().join("commands").join(name).with_extension("txt"))?;
    }
    // With a second flight.
    fs::copy(bench.join("flights/first-flight.ron"), bench.join("flights/second.ron"))?;
    let hardness = "hardness=20..120 mg/L as CaCO3";
    for (name, arguments) in [
        ("table-which-flight", &["import", "targets", &wanted, "--into", "third"][..]),
        (
            "file-in-capitals",
            &["ladder", "first-flight/middle", "--vary", hardness, "--into", "SECOND"],
        ),
        ("water-of-two-flights", &["mix", "middle"]),
    ] {
        let said = run(&bench, arguments)?;
        compare(&said, &cases().join("commands").join(name).with_extension("txt"))?;
    }
    Ok(())
}

/// The same flight as people of several habits write it gives the same doses.
#[test]
fn one_flight_in_many_spellings() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let flight = |hardness: &str, alkalinity: &str, sodium: &str, quote: (&str, &str)| {
        let (open, close) = quote;
        let q = |text: &str| format!("{open}{text}{close}");
        format!(
            "// “as typed”\nFlight(\n    title: {},\n    base: [{}],\n    bottle: {},\n    targets: [\n        \
             Target(name: {}, goals: (hardness: {}, alkalinity: {}, sodium: {})),\n    ],\n)\n",
            q("typed"),
            q("Hill-Spring"),
            q("0,5 L"),
            q("one"),
            q(hardness),
            q(alkalinity),
            q(sodium)
        )
    };
    let plain = flight("3.5 °dH", "2 °dH", "at most 10 mg/L", ("\"", "\""));
    let others = [
        flight("3,5 °dH", "2,0 °dH", "max 10 mg/L", ("\"", "\"")),
        flight("3,5dH", "2°dH", "≤ 10 mg/L", ("“", "”")),
        flight("3.5 °dH ± 5 %", "2 °dH", "< 10 mg/l", ("„", "“")),
        flight("3,5 ± 0,175 °dH", "2 °dH", "max. 10,0 mg/L", ("«", "»")),
        flight("3.5 °dH", "2 °dH", "not more than 10 ppm", ("”", "”")),
        flight("~3.5 degrees dH", "≈ 2 °dH", "10 mg/L max.", ("\"", "\"")),
    ];
    let path = bench.join("flights/typed.ron");
    fs::write(&path, &plain)?;
    let doses = |bench: &Path| -> Result<Value, Box<dyn Error>> {
        let report: Value = serde_json::from_str(&done(bench, &["mix", "TYPED", "--json"])?)?;
        Ok(report["waters"][0]["doses"].clone())
    };
    let wanted = doses(&bench)?;
    assert!(wanted.as_array().is_some_and(|d| !d.is_empty()));
    for text in others {
        fs::write(&path, &text)?;
        let doses = doses(&bench)?;
        let pairs =
            doses.as_array().into_iter().flatten().zip(wanted.as_array().into_iter().flatten());
        for (dose, wanted) in pairs {
            let ml = |d: &Value| d["ml_per_l"].as_f64().unwrap_or(f64::NAN);
            assert!((ml(dose) - ml(wanted)).abs() < 1e-6, "{text}: {dose} {wanted}");
            assert_eq!(dose["stock"], wanted["stock"], "{text}");
        }
        assert_eq!(doses.as_array().map(Vec::len), wanted.as_array().map(Vec::len), "{text}");
    }
    // A band is a band in every spelling.
    for band in [
        "40-60 mg/L as CaCO3",
        "40 to 60 mg/L as CaCO3",
        "between 40,0 and 60 mg/L as CaCO3",
        "40–60 mg/L as CaCO3",
    ] {
        fs::write(&path, flight(band, "2 °dH", "≥ 1 mg/L", ("\"", "\"")))?;
        let report: Value = serde_json::from_str(&done(&bench, &["mix", "typed", "--json"])?)?;
        let edge =
            |n: usize| report["waters"][0]["goals"][0]["want"][n].as_f64().unwrap_or(f64::NAN);
        assert!((edge(0) - 40.0).abs() < 1e-9 && (edge(1) - 60.0).abs() < 1e-9, "{band}");
    }
    Ok(())
}

#[test]
fn tables_come_with_commas_semicolons_and_tabs() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for (n, table) in [
        "Name,Hardness [°dH],ALKALINITY [°dH]\nsoft,3.5,2.25\n",
        "NAME;hardness [°dH];Alkalinity [°dH]\nsoft;3,5;2,25\n",
        "name\tHARDNESS [°dH]\talkalinity [°dH]\nsoft\t3,5\t2.25\n",
        "\u{feff}Target;Hardness;Alkalinity\r\nsoft;3,5 °dH;2,25 °dH\r\n",
    ]
    .iter()
    .enumerate()
    {
        let file = bench.join("table.csv");
        fs::write(&file, table)?;
        let (file, name) = (file.display().to_string(), format!("t{n}"));
        done(&bench, &["import", "targets", &file, "--into", &name, "--like", "First-Flight"])?;
        let report: Value = serde_json::from_str(&done(&bench, &["mix", &name, "--json"])?)?;
        let want = |n: usize| report["waters"][0]["goals"][n]["want"].as_f64().unwrap_or(f64::NAN);
        assert!((want(0) - 3.5).abs() < 1e-9 && (want(1) - 2.25).abs() < 1e-9, "{table}");
    }
    Ok(())
}

#[test]
fn names_are_found_in_any_case_by_file_and_within_their_flight() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for arguments in [
        &["stock", "EPSOM"][..],
        &["stock", "table-salt"],
        &["weigh", "Table Salt"],
        &["water", "Harbour-Tap"],
        &["water", "FIRST-FLIGHT/Sulfate Side"],
        &["water", "5 mL/L Epsom"],
        &["why", "first-flight/soft"],
        &["why", "Soft"],
        &["alternatives", "First-Flight/MIDDLE"],
        &["batch", "first-flight/Middle", "--make", "2,5 L"],
        &["concentrate", "FIRST-FLIGHT/middle"],
        &["read", "Sulfate side", "231,5"],
        &["mix", "first-flight/Soft"],
        &["mix", "sulfate-side"],
        &["poured", "First-Flight/soft"],
        &["mix", "First-Flight.ron", "--dispenser", "SYRINGE", "--without", "Soft=Epsom"],
    ] {
        done(&bench, arguments)?;
    }
    // With two flights the one that has the target is taken.
    done(&bench, &["targets", "EPA soft", "--into", "classes"])?;
    done(&bench, &["why", "epa soft"])?;
    done(&bench, &["why", "soft"])?;
    Ok(())
}

#[test]
fn all_mistakes_of_a_bench_are_named_in_one_run_and_none_stops_what_does_not_need_it() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::write(bench.join("flights/broken.ron"), "Flight(title: \"x\"")?;
    fs::write(bench.join("targets/broken.ron"), "Target(name: \"x\")")?;
    // Neither is needed for these.
    done(&bench, &["mix", "first-flight"])?;
    done(&bench, &["water", "middle"])?;
    done(&bench, &["batch", "middle"])?;
    done(&bench, &["targets"])?;
    let output = crate::common::program()?.arg("--bench").arg(&bench).arg("check").output()?;
    let found = String::from_utf8(output.stdout)?;
    assert!(
        found.contains("flights/broken.ron") && found.contains("targets/broken.ron"),
        "{found}"
    );
    // What a broken stock stops is named beside it, and so is all that it does not stop.
    let stock = bench.join("stocks/calcium.ron");
    let sound = fs::read_to_string(&stock)?;
    fs::write(&stock, "Stock(name: 3)")?;
    let output = crate::common::program()?.arg("--bench").arg(&bench).arg("check").output()?;
    let found = String::from_utf8(output.stdout)?;
    for file in ["stocks/calcium.ron", "flights/broken.ron", "targets/broken.ron"] {
        assert!(found.contains(file), "{file}: {found}");
    }
    fs::write(&stock, sound)?;
    fs::write(bench.join("bench.ron"), "Bench(title: \"x\", tols: ())")?;
    fs::write(bench.join("stocks/epsom.ron"), "Stock(name: \"epsom\")")?;
    fs::write(bench.join("waters/hill-spring.ron"), "Water(name: \"hill\")")?;
    let output = crate::common::program()?.arg("--bench").arg(&bench).arg("mix").output()?;
    let errors = String::from_utf8(output.stderr)?;
    for file in ["bench.ron", "stocks/epsom.ron", "waters/hill-spring.ron"] {
        assert!(errors.contains(file), "{file}: {errors}");
    }
    Ok(())
}

/// Vessels by their definitions: 1 US gallon is 3.785411784 L, 1 US fluid ounce a 128th of it; the
/// imperial gallon is 4.54609 L, its fluid ounce a 160th (NIST Handbook 44).
#[test]
fn any_vessel_and_any_number_of_them() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let soft = |more: &[&str]| -> Result<(f64, f64, f64), Box<dyn Error>> {
        let arguments = [&["mix", "--json"], more].concat();
        let report: Value = serde_json::from_str(&done(&bench, &arguments)?)?;
        let size = report["bottle_ml"].as_f64().ok_or("no size")?;
        let dose = report["waters"][4]["doses"][1]["ml_per_bottle"].as_f64().ok_or("no dose")?;
        let used = report["stocks_used"][1]["ml"].as_f64().ok_or("no use")?;
        Ok((size, dose, used))
    };
    let (_, half_litre, used) = soft(&[])?;
    for (text, litres) in [
        ("1,9 L", 1.9),
        ("1 US gal", 3.785_411_784),
        ("5 gallons (US)", 18.927_058_92),
        ("16 US fl oz", 0.473_176_473),
        ("20 imp fl oz", 0.568_261_25),
        ("1 imp gal", 4.546_09),
        ("33 cl", 0.33),
    ] {
        let (size, dose, _) = soft(&["--bottle", text])?;
        assert!((size - 1000.0 * litres).abs() < 1e-6 * size, "{text}: {size}");
        assert!((dose - half_litre * litres / 0.5).abs() < 1e-6 * dose, "{text}: {dose}");
    }
    let (_, dose, three) = soft(&["--for", "3"])?;
    assert!((dose - half_litre).abs() < 1e-9 && (three - 3.0 * used).abs() < 1e-9);
    Ok(())
}

/// A file that nobody names stops nothing, whatever it holds; whoever names it is told what is wrong with it.
#[test]
fn a_file_that_nobody_names_stops_nothing() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::write(bench.join("waters/photo.ron"), "not a water")?;
    fs::write(bench.join("salts/x.ron"), "Stock(name: 3)")?;
    for command in [
        &["mix"][..],
        &["stock"],
        &["stocktake"],
        &["water", "harbour tap"],
        &["targets"],
        &["export", "planned"],
        &["salts", "Epsom salt"],
        &["batch", "middle"],
    ] {
        done(&bench, command)?;
    }
    for (command, words) in [
        (&["water", "photo"][..], "waters/photo.ron"),
        (&["salts", "x"], "salts/x.ron"),
        (&["check"], "waters/photo.ron"),
        (&["check"], "salts/x.ron"),
    ] {
        let (status, said) = crate::common::answers::said(&bench, command)?;
        assert!(!status && said.contains(words), "{command:?}: {said}");
    }
    let (_, said) = crate::common::answers::said(&bench, &["stock"])?;
    assert!(said.contains("not read: waters/photo.ron:"), "{said}");
    // A copy, word for word, stops nothing. Of two that differ neither is taken: nobody can tell which is meant.
    let spring = bench.join("waters/hill-spring.ron");
    let copy = bench.join("waters/hill-spring - copy.ron");
    fs::copy(&spring, &copy)?;
    let (status, said) = crate::common::answers::said(&bench, &["mix"])?;
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(status && said.contains("a copy of `hill-spring.ron`, word for word"), "{said}");
    fs::write(&copy, fs::read_to_string(&spring)?.replace("0.6 mg", "0.7 mg"))?;
    let (status, said) = crate::common::answers::said(&bench, &["mix"])?;
    assert!(!status && said.contains("`hill spring` is there twice"), "{said}");
    fs::remove_file(copy)?;
    let flight = bench.join("flights/first-flight.ron");
    let text = fs::read_to_string(&flight)?.replace("\"distilled\"", "\"photo\"");
    fs::write(bench.join("flights/asks.ron"), text)?;
    let (status, said) = crate::common::answers::said(&bench, &["mix", "asks"])?;
    assert!(!status && said.contains("waters/photo.ron:1"), "{said}");
    Ok(())
}

/// The same for stocks: one that cannot be read stops what needs it, and a flight that names others is mixed.
#[test]
fn a_stock_that_cannot_be_read_stops_what_needs_it() -> Fallible {
    let said = crate::common::answers::said;
    let (_folder, bench) = starter_bench()?;
    let flight = bench.join("flights/first-flight.ron");
    let text = fs::read_to_string(&flight)?;
    let names = "stocks: [\"calcium\", \"epsom\", \"soda\"],\n    bottle:";
    fs::write(bench.join("flights/three.ron"), text.replace("bottle:", names))?;
    let asks = "stocks: [\"calcium\", \"photo\"],\n    bottle:";
    fs::write(bench.join("flights/asks.ron"), text.replace("bottle:", asks))?;
    fs::write(bench.join("sessions"), "no folder")?;
    std::os::unix::fs::symlink("/nowhere/at/all.ron", bench.join("stocks/link.ron"))?;
    fs::copy(bench.join("stocks/soda.ron"), bench.join("stocks/soda (1).ron"))?;
    let half_typed =
        "Stock(name: \"photo\", salt: \"x\", made: ToVolume(salt: \"1 g\", volume: \"1 L\"))";
    for (text, is_a_stock) in
        [("not a stock", false), ("", false), (half_typed, true), ("Stock(", true)]
    {
        fs::write(bench.join("stocks/a-photo.ron"), text)?;
        for command in [
            &["mix", "three"][..],
            &["stock"],
            &["stock", "soda"],
            &["weigh", "epsom"],
            &["water", "harbour tap"],
            &["water", "5 mL/L epsom"],
            &["water", "three/soft"],
            &["log"],
            &["salts"],
            &["journal"],
            &["batch", "three/middle"],
        ] {
            done(&bench, command)?;
        }
        // With every stock of the shelf allowed, a flight without one of them would be another one; what
        // describes no stock is none of them.
        for command in [&["mix", "first-flight"][..], &["targets"], &["water", "first-flight/soft"]]
        {
            let (status, said) = said(&bench, command)?;
            let stops = !status && said.contains("a-photo.ron:1");
            assert!(if is_a_stock { stops } else { status }, "{command:?}: {said}");
        }
        for command in [&["stock", "a-photo"][..], &["mix", "asks"]] {
            let (status, said) = said(&bench, command)?;
            let names_it =
                said.contains("stocks/a-photo.ron") || said.contains("there is no stock");
            assert!(!status && names_it, "{command:?}: {said}");
        }
    }
    let (_, said) = said(&bench, &["check"])?;
    for words in [
        "stocks/a-photo.ron",
        "a copy of `soda.ron`",
        "a link to a file that is not there",
        "sessions",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    Ok(())
}

/// Names, heads and labels as people write them, in any case.
#[test]
fn names_and_labels_are_read_as_they_are_written() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let water = "Water(name: \"label\", analysis: (\"Ca2+\": \"44 mg/L\", total_hardness: \"8 °dH\", Natrium: \"12 mg/L\", \
                 hydrogencarbonate: \"140 mg/L\", SO4: \"30 mg/L\"))\n";
    fs::write(bench.join("waters/label.ron"), water.replace("\"Ca2+\"", "Calcio"))?;
    done(&bench, &["water", "label"])?;
    let plan = ["session", "plan", "first-flight", "--tasters", "Ann; Bo; Cy", "--name", "autumn"];
    let two =
        ["--water", "soft", "--water", "hard", "--attribute", "body", "--attribute", "liking"];
    let planned: Value =
        serde_json::from_str(&done(&bench, &[&plan[..], &two, &["--json"]].concat())?)?;
    let tasters = planned.pointer("/plan/tasters").and_then(Value::as_array).ok_or("no tasters")?;
    assert_eq!(tasters.len(), 3);
    let code = |tray: usize, cup: usize| {
        let cup = planned.pointer(&format!("/plan/trays/{tray}/cups/{cup}"));
        cup.map(|code| code.as_str().map_or(code.to_string(), str::to_owned)).unwrap_or_default()
    };
    let whose = |tray: usize| {
        let name = planned.pointer(&format!("/plan/trays/{tray}/taster")).and_then(Value::as_str);
        name.unwrap_or_default().to_lowercase()
    };
    done(&bench, &["session", "score", "Autumn", &whose(0), &code(0, 0), "Body=5", "LIKING=6"])?;
    let table = folder.path().join("scores.csv");
    let rows = format!(
        "TASTER;Code;BODY;Liking\n{0};{1};4;5\n{0};{2};3,5;6\n",
        whose(1).to_uppercase(),
        code(1, 0),
        code(1, 1)
    );
    fs::write(&table, rows)?;
    done(&bench, &["session", "score", "autumn", "--csv", &table.display().to_string()])?;
    done(&bench, &["session", "sheet", "autumn", "--for", "taster", "--taster", &whose(0)])?;
    done(&bench, &["targets", "autumn/Soft", "--into", "again"])?;
    let soda = ["weighed", "stocks/soda.ron", "--salt", "15 g", "--volume", "500 mL"];
    done(&bench, &soda)?;
    done(&bench, &["verify", "soda", "--read", "80 ppm factor 0,5"])?;
    let (status, said) =
        crate::common::answers::said(&bench, &["bottle", "soda", "--left", "empty"])?;
    assert!(!status && said.contains("--thrown-away"), "{said}");
    done(&bench, &["bottle", "soda", "--left", "about 120 mL left"])?;
    let back = done(&bench, &["undo", "AUTUMN"])?;
    assert!(back.contains("session autumn"), "{back}");
    let sheet = done(&bench, &["session", "sheet", "autumn", "--for", "server"])?;
    assert!(sheet.starts_with("! This session was taken back"), "{sheet}");
    let heads = folder.path().join("heads.csv");
    fs::write(&heads, "Name;Hardness °dH;Sodium [mg/L]\none;5,5;max 10\n")?;
    done(
        &bench,
        &["import", "targets", &heads.display().to_string(), "--into", "heads", "--like", "again"],
    )?;
    for (salt, formula) in [
        ("potassium hydrogen carbonate", "KHCO3"),
        ("CaCl2 2H2O", "CaCl2·2H2O"),
        ("Sodium bicarbonate (NaHCO3)", "NaHCO3"),
        ("bicarbonate of soda", "NaHCO3"),
    ] {
        let said = done(&bench, &["salts", salt])?;
        assert!(said.lines().next().is_some_and(|line| line.contains(formula)), "{salt}: {said}");
    }
    assert!(done(&bench, &["salts", "calcium"])?.contains("calcium sulfate dihydrate"));
    Ok(())
}

/// Every goal and every amount that is wrong is named, whatever else is wrong on the bench.
#[test]
fn several_mistakes_of_one_file_are_named_at_once() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let flight = "Flight(title: \"x\", bottle: \"1 L\", targets: [\n    Target(name: \"a\", goals: (hardness: \"35\", \
                  sodium: \"1,234 mg/L\")),\n    Target(name: \"b\", goals: (calcium: \"5.5 xx\")),\n])\n";
    fs::write(bench.join("flights/wrong.ron"), flight)?;
    let water =
        "Water(name: \"w\", analysis: (calcium: \"40-60 mg/L\", GH: \"7 °dH\", sodium: \"12\"))\n";
    fs::write(bench.join("waters/wrong.ron"), water)?;
    let wrong = ["`35` has no unit", "`1,234` can be read", "`xx` is not a unit"];
    let wrong =
        wrong.iter().chain(&["makes it a range", "`GH` is not a measure", "`12` has no unit"]);
    for stock in ["", "Stock(name: \"epsom\", purity: 99)"] {
        if !stock.is_empty() {
            fs::write(bench.join("stocks/epsom.ron"), stock)?;
        }
        let (_, said) = crate::common::answers::said(&bench, &["check", "--json"])?;
        for words in wrong.clone() {
            assert!(said.contains(words), "{words}: {said}");
        }
        assert_eq!(said.matches("`35` has no unit").count(), 1, "{said}");
    }
    let parts = "Flight(title: \"x\", base: [\"hil spring\"], bottle: \"500\", dispenser: \"syring\", targets: [\n    \
                 Target(name: \"a\", goals: (hardness: \"36\"))])\n";
    fs::write(bench.join("flights/parts.ron"), parts)?;
    let (_, said) = crate::common::answers::said(&bench, &["check", "--json"])?;
    for words in ["`500` has no unit", "no base water `hil spring`", "`36` has no unit"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let stock = "Stock(name: \"\", salt: \"unobtainium\", keeps: \"often\", storage: \"cold\",\n    lot: (purity: \"120 %\", \
                 price: \"dear\"), made: ToTotalMass(salt: \"40 mL\", total: \"1\"))\n";
    fs::write(bench.join("stocks/wrong.ron"), stock)?;
    let wrong = [
        "a name is needed",
        "`unobtainium` is not a salt",
        "not a keeping time",
        "`cold` does not",
        "between 0 and 100 %",
        "`dear` is not a price",
        "`40 mL` is a volume",
        "`1` has no unit",
    ];
    let salt = "Salt(name: \"\", formula: \"Mg((\", also: [\"\"])\n";
    fs::write(bench.join("salts/wrong.ron"), salt)?;
    let target = "Target(name: \"t\", goals: (hardness: \"37\", calcium: \"6.5 xy\"))\n";
    fs::create_dir_all(bench.join("targets"))?;
    fs::write(bench.join("targets/wrong.ron"), target)?;
    let (_, said) = crate::common::answers::said(&bench, &["check", "--json"])?;
    for words in ["`37` has no unit", "`xy` is not a unit"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    assert_eq!(said.matches("salts/wrong.ron").count(), 3, "{said}");
    let settings = "Bench(title: \"\", tools: (flask: \"0 %\", fill: \"2 mL\"), boilers: (room: \"300 °C\"),\n    dispensers: [\n        \
                    Dropper(name: \"a\", drop: \"0 mL\"),\n        Balance(name: \"b\", step: \"1 mL\"),\n    ],\n)\n";
    let of_settings = [
        "above zero",
        "`2 mL` is a volume",
        "do not reach this temperature",
        "a step of nothing",
        "`1 mL` is a volume",
    ];
    for (text, also) in [(None, &[][..]), (Some(settings), &of_settings)] {
        if let Some(text) = text {
            fs::write(bench.join("bench.ron"), text)?;
        }
        let (_, said) = crate::common::answers::said(&bench, &["check", "--json"])?;
        for words in wrong.iter().chain(also) {
            assert!(said.contains(words), "{words}: {said}");
        }
    }
    Ok(())
}

/// A water of a session stands for the target it was planned as, in every command that takes a target.
#[test]
fn a_water_of_a_session_is_found_in_every_command() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo, cy", "--name", "autumn"];
    let planned = done(&bench, &[&plan[..], &["--water", "soft", "--water", "hard"]].concat())?;
    assert!(planned.contains("`waterflight undo autumn` takes it back"), "{planned}");
    done(&bench, &["targets", "EPA soft", "--into", "classes"])?;
    for command in [
        &["why", "autumn/hard"][..],
        &["alternatives", "Autumn/hard"],
        &["ladder", "autumn/hard", "--vary", "hardness=20..120 mg/L as CaCO3", "--into", "around"],
        &["mix", "first-flight", "--nearest-to", "autumn/soft"],
        &["mix", "first-flight", "--without", "autumn/soft=epsom"],
        &["mix", "autumn/soft"],
        &["poured", "--water", "autumn/soft"],
        &[
            "session",
            "plan",
            "--tasters",
            "ann, bo",
            "--water",
            "autumn/soft",
            "--water",
            "autumn/hard",
        ],
        &["water", "autumn/hard"],
        &["read", "autumn/hard", "231"],
        &["batch", "autumn/hard"],
        &["concentrate", "autumn/soft"],
        &["export", "planned", "autumn/hard"],
    ] {
        done(&bench, command)?;
    }
    Ok(())
}
