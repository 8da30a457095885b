//! Flights made around a target, and tables, are read back as what they were made as.

use std::error::Error;
use std::fs;

use crate::common::answers::{number, run};
use crate::common::{program, starter_bench};
use serde_json::Value;
use waterflight::bench::Bench;

type Fallible = Result<(), Box<dyn Error>>;

/// Hardness climbs in equal steps while the alkalinity stays, and the waters are made so.
#[test]
fn a_ladder_changes_one_thing() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let range = "hardness=20..120 mg/L as CaCO3";
    run(&bench, &["ladder", "soft", "--vary", range, "--steps", "6", "--into", "steps"])?;
    let mix: Value = serde_json::from_str(&run(&bench, &["mix", "steps", "--json"])?)?;
    for n in 0..6_i32 {
        let hardness = number(&mix, &format!("/waters/{n}/hardness_mg_per_l_caco3"))?;
        assert!((hardness - 20.0 * f64::from(n + 1)).abs() < 1e-6, "{hardness}");
        let alkalinity = number(&mix, &format!("/waters/{n}/alkalinity_mg_per_l_caco3"))?;
        assert!((alkalinity - 20.0).abs() < 1e-6, "{alkalinity}");
    }
    Ok(())
}

/// Mixtures share the charge that the centre has; a filled region is the same for the same seed;
/// nothing is ever written over.
#[test]
fn designs_are_flights_like_any_other() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let center: Value = serde_json::from_str(&run(&bench, &["mix", "--json"])?)?;
    let total = number(&center, "/waters/6/mg_per_l/Ca")? / 20.039
        + number(&center, "/waters/6/mg_per_l/Mg")? / 12.1525;
    let shares =
        ["ladder", "hard", "--shares", "calcium,magnesium", "--parts", "4", "--into", "mixtures"];
    run(&bench, &shares)?;
    let mix: Value = serde_json::from_str(&run(&bench, &["mix", "mixtures", "--json"])?)?;
    for n in 0..5_i32 {
        let calcium = number(&mix, &format!("/waters/{n}/mg_per_l/Ca"))? / 20.039;
        let magnesium = number(&mix, &format!("/waters/{n}/mg_per_l/Mg"))? / 12.1525;
        let share = f64::from(4 - n) / 4.0;
        // The base water brings a little of both, which the tolerance forgives.
        assert!((calcium - share * total).abs() < 0.06, "{calcium} of {total}");
        assert!((magnesium - (1.0 - share) * total).abs() < 0.1, "{magnesium} of {total}");
    }
    let fill = |name: &str, seed: &str| -> Result<Vec<u8>, Box<dyn Error>> {
        let hardness = "hardness=20..120 mg/L as CaCO3";
        let alkalinity = "alkalinity=1..4 °dH";
        let flight = ["--flight", "first-flight"];
        let vary = ["ladder", "middle", "--vary", hardness, "--vary", alkalinity];
        let rest = ["--fill", "7", "--seed", seed, "--into", name];
        run(&bench, &[vary.as_slice(), &rest, &flight].concat())?;
        Ok(fs::read(bench.join("flights").join(format!("{name}.ron")))?)
    };
    let first = fill("one", "3")?;
    assert_eq!(first, fill("two", "3")?);
    assert_ne!(first, fill("three", "4")?);
    let again =
        program()?.current_dir(&bench).args(shares).args(["--flight", "first-flight"]).output()?;
    assert_eq!(again.status.code(), Some(73));
    Ok(())
}

/// A flight as a table and back is the same flight; so are analyses.
#[test]
fn tables_come_back_as_they_went() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let targets = folder.path().join("targets.csv");
    fs::write(&targets, run(&bench, &["export", "targets"])?)?;
    let path = targets.display().to_string();
    run(&bench, &["import", "targets", &path, "--into", "back"])?;
    let read = |stem: &str| -> Result<_, Box<dyn Error>> {
        let bench = Bench::open(&bench)?;
        let file = bench.flight_file(Some(stem))?;
        Ok(bench.flight(file)?.0)
    };
    let (first, back) = (read("first-flight")?, read("back")?);
    assert_eq!(first.targets.len(), back.targets.len());
    for (a, b) in first.targets.iter().zip(&back.targets) {
        assert_eq!(a.name, b.name);
        assert_eq!(a.goals.len(), b.goals.len());
        for goal in &a.goals {
            let other =
                b.goals.iter().find(|g| g.subject == goal.subject).ok_or("a goal is lost")?;
            assert!((goal.tolerance - other.tolerance).abs() < 1e-9);
            assert!((goal.weight - other.weight).abs() < 1e-12);
            assert!((goal.band.size() - other.band.size()).abs() < 1e-9);
        }
    }
    let spring = fs::read_to_string(bench.join("waters/hill-spring.ron"))?;
    let within =
        spring.replace("price: \"0.25 per L\"", "within: \"5 %\", price: \"0.25 coins per L\"");
    assert_ne!(within, spring);
    fs::write(bench.join("waters/hill-spring.ron"), within)?;
    let table = run(&bench, &["export", "analyses"])?.replace("harbour tap", "quay tap");
    let table = table.replace("hill spring", "dale spring");
    let analyses = folder.path().join("analyses.csv");
    fs::write(&analyses, &table)?;
    run(&bench, &["import", "analyses", &analyses.display().to_string()])?;
    let opened = Bench::open(&bench)?;
    let of = |name: &str| opened.waters.iter().map(|w| &w.value).find(|w| w.name == name);
    let (tap, copy) = (of("harbour tap").ok_or("tap")?, of("quay tap").ok_or("copy")?);
    for c in waterflight::chemistry::Conserved::ALL {
        let difference = tap.composition.mmol_per_l(c) - copy.composition.mmol_per_l(c);
        assert!(difference.abs() < 1e-5, "{c:?} {difference}");
    }
    assert_eq!(tap.ph, copy.ph);
    let price = |name: &str| opened.water_prices.iter().find(|(water, _)| water == name);
    assert!(price("quay tap").is_none() && copy.within.value() <= 0.0);
    let (spring, copy) = (of("hill spring").ok_or("no spring")?, of("dale spring").ok_or("copy")?);
    assert!((spring.within.value() - 0.05).abs() < 1e-12, "{spring:?}");
    assert!((copy.within.value() - 0.05).abs() < 1e-12, "{copy:?}");
    let (first, back) = price("hill spring").zip(price("dale spring")).ok_or("a price is lost")?;
    assert_eq!(first.1, back.1);
    Ok(())
}

/// Which stocks a target must and must not have comes back with it, each with its own.
#[test]
fn the_stocks_of_targets_come_back_as_they_went() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let target = |name: &str, rest: &str| {
        format!("Target(name: \"{name}\", goals: (hardness: \"90 mg/L as CaCO3\"){rest})")
    };
    let targets = [
        target("one", ", with: [\"epsom\"], without: [\"calcium\", \"soda\"]"),
        target("two", ""),
        target("three", ", without: [\"magchlor\"]"),
    ];
    let flight = format!(
        "Flight(title: \"rules\", base: [\"hill spring\"], bottle: \"1 L\", dispenser: \"syringe\", \
         targets: [{}])",
        targets.join(", ")
    );
    fs::write(bench.join("flights/rules.ron"), flight)?;
    let table = run(&bench, &["export", "targets", "rules"])?;
    let file = folder.path().join("rules.csv");
    let path = file.display().to_string();
    fs::write(&file, &table)?;
    run(&bench, &["import", "targets", &path, "--into", "back", "--like", "rules"])?;
    let opened = Bench::open(&bench)?;
    let rules = |stem: &str| -> Result<_, Box<dyn Error>> {
        Ok(opened.ordered_flight(opened.flight_file(Some(stem))?)?.2.rules)
    };
    assert_eq!(rules("rules")?, rules("back")?, "{table}");
    // A stock that is not there is pointed out in the table.
    fs::write(&file, table.replace("epsom", "epsum"))?;
    let import = ["import", "targets", &path, "--into", "other", "--like", "rules"];
    let wrong = program()?.current_dir(&bench).args(import).output()?;
    let said = String::from_utf8_lossy(&wrong.stderr).into_owned();
    assert!(said.contains("there is no stock `epsum`") && said.contains("rules.csv"), "{said}");
    Ok(())
}

/// Semicolons, units in heads or cells, empty cells; and mistakes that name line and column.
#[test]
fn tables_as_people_make_them_are_understood() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let file = folder.path().join("wishes.csv");
    let path = file.display().to_string();
    let good = "# from a spreadsheet\nName;Hardness (°dH);Na [mg/L];calcium : magnesium [mol/mol]\n\
                round;4 ± 0.5;at most 10;1\nsoft;30 mg/L as CaCO3;;\n";
    fs::write(&file, good)?;
    run(&bench, &["import", "targets", &path, "--into", "wishes"])?;
    let mix: Value = serde_json::from_str(&run(&bench, &["mix", "wishes", "--json"])?)?;
    assert!((number(&mix, "/waters/0/goals/0/tolerance")? - 0.5).abs() < 1e-9);
    assert!((number(&mix, "/waters/1/hardness_mg_per_l_caco3")? - 30.0).abs() < 1e-6);
    for (table, found) in [
        ("name,hardness\nround,4\n", ".csv:2:7"),
        ("name,hardnes [°dH]\nround,4\n", "did you mean `hardness`"),
        ("hardness [°dH]\n4\n", "no column holds the names"),
        ("name,sodium [°dH]\nround,4\n", "sodium cannot be given in °dH"),
        ("name,hardness [°dH]\nround,4,5\n", "3 cells; the first line has 2"),
        ("name,hardness [°dH]\na,4\na,5\n", "stands twice"),
        ("", "this table is empty"),
    ] {
        fs::write(&file, table)?;
        let output = program()?
            .current_dir(&bench)
            .args(["import", "targets", &path, "--like", "first-flight", "--into", "mistake"])
            .output()?;
        assert_eq!(output.status.code(), Some(65), "{table}");
        let said = String::from_utf8(output.stderr)?;
        assert!(said.contains(found), "{table}: {said}");
        assert!(!bench.join("flights/mistake.ron").exists());
    }
    Ok(())
}
