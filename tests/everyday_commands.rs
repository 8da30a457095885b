//! `batch` and `concentrate` as they are run: waters as they were tasted, prices, JSON, dates.

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::{json, number, run, tried};
use crate::common::starter_bench;
use serde_json::Value;

type Fallible = Result<(), Box<dyn Error>>;

fn refused(bench: &Path, arguments: &[&str]) -> Result<String, Box<dyn Error>> {
    let (done, out, errors) = tried(bench, arguments)?;
    assert!(!done && out.is_empty());
    Ok(errors)
}

/// Text on one line, however it was broken.
fn joined(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A salt of one's own without a solubility, and one whose table ends above the fridge.
#[test]
fn crystals_that_are_not_known_are_said() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let recipe = |salt: &'static str| {
        ["concentrate", "--reverse", salt, "--total", "500 g", "--dose", "4 mL", "--full"]
    };
    let page = joined(&run(&bench, &recipe("K3C6H5O7·H2O=5 g"))?);
    assert!(page.contains("crystals of K3C6H5O7·H2O (no solubility at 5 °C is known)"), "{page}");
    assert!(page.contains("the crystals of the other salts"), "{page}");
    assert!(page.contains("one bottle is enough: it stays clear") && !page.contains("as far as"));
    let own = "Salt(name: \"rubbed salt\", formula: \"Mg(NO3)2·6H2O\")";
    fs::create_dir_all(bench.join("salts"))?;
    fs::write(bench.join("salts/rubbed.ron"), own)?;
    let page = joined(&run(&bench, &recipe("Mg(NO3)2·6H2O=5 g"))?);
    assert!(page.contains("(no solubility at 25 and 5 °C is known)"), "{page}");
    assert!(page.contains("it stays clear, as far as is known"), "{page}");
    let page = joined(&run(&bench, &recipe("CaCl2·2H2O=5 g"))?);
    assert!(page.contains("the crystals of every salt"), "{page}");
    Ok(())
}

#[test]
fn the_winner_is_made_as_it_was_tasted() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo, cy, di"];
    run(&bench, &[&plan[..], &["--name", "spring", "--seed", "rehearsal"]].concat())?;
    let water = "spring/middle";
    let planned: Value =
        serde_json::from_str(&fs::read_to_string(bench.join("sessions/spring/waters.json"))?)?;
    let tasted = planned
        .pointer("/waters")
        .and_then(Value::as_array)
        .and_then(|all| all.iter().find(|w| w.pointer("/name") == Some(&"middle".into())))
        .and_then(|w| w.pointer("/mg_per_l"))
        .and_then(Value::as_array)
        .ok_or("no water")?;
    let compare = |made: &Value| -> Fallible {
        for pair in tasted {
            let key = pair.pointer("/0").and_then(Value::as_str).ok_or("no key")?;
            let (was, is) = (number(pair, "/1")?, number(made, &format!("/mg_per_l/{key}"))?);
            assert!((was - is).abs() < 0.05 * was + 0.5, "{key}: {was} and {is}");
        }
        Ok(())
    };
    compare(&json(&bench, &["batch", water, "--make", "100 L"])?)?;
    compare(&json(&bench, &["concentrate", water])?)?;
    let before = joined(&run(&bench, &["batch", water, "--full"])?);
    assert!(before.contains("as it was planned for the session spring"), "{before}");
    assert!(!before.contains("changed since"), "{before}");

    // The flight goes on; the water of the session stays what it was.
    let file = bench.join("flights/first-flight.ron");
    let flight = fs::read_to_string(&file)?;
    let changed =
        flight.replace("hardness: \"100 mg/L as CaCO3\"", "hardness: \"90 mg/L as CaCO3\"");
    assert_ne!(flight, changed);
    fs::write(&file, changed)?;
    compare(&json(&bench, &["batch", water, "--make", "100 L"])?)?;
    let after = joined(&run(&bench, &["batch", water, "--full"])?);
    assert!(after.contains("the flight first-flight gives another water today, Ca"), "{after}");
    fs::remove_file(&file)?;
    let gone = joined(&run(&bench, &["batch", water, "--full"])?);
    assert!(gone.contains("the flight first-flight is no longer there"), "{gone}");
    let unknown = refused(&bench, &["batch", "spring/midle"])?;
    assert!(unknown.contains("did you mean `spring/middle`?"), "{unknown}");
    Ok(())
}

#[test]
fn prices_are_compared_in_one_money() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let with = |arguments: &[&str]| run(&bench, arguments).map(|text| joined(&text));
    for water in [&["batch", "middle", "--full"][..], &["concentrate", "middle", "--full"]] {
        let paid =
            with(&[water, &["--ready-product", "2 per L", "--balance-price", "35"]].concat())?;
        assert!(paid.contains("the balance is paid back after"), "{paid}");
        let never =
            with(&[water, &["--ready-product", "0.01 per L", "--balance-price", "35"]].concat())?;
        assert!(never.contains("more; the balance is never paid back"), "{never}");
        let mixed = with(
            &[water, &["--ready-product", "1 shells per L", "--balance-price", "3 coins"]].concat(),
        )?;
        assert!(mixed.contains("prices are in shells and in coins"), "{mixed}");
        assert!(!mixed.contains("paid back"), "{mixed}");
        let alone = refused(&bench, &[water, &["--balance-price", "35"]].concat())?;
        assert!(alone.contains("--ready-product"), "{alone}");
    }
    let recipe =
        ["concentrate", "--reverse", "MgSO4·7H2O=10 g", "--ready-product", "2 per L", "--full"];
    let recipe = [&recipe[..], &["--total", "200 g", "--dose", "4 mL"]].concat();
    assert!(with(&recipe)?.contains("ready product: 2.000 per litre; this water saves 1.5"));
    // A litre of finished water is a litre of water: what comes with the concentrate is paid too.
    let cost = json(&bench, &recipe)?;
    assert!((number(&cost, "/readings/0/cost/water_per_l")? - 0.4).abs() < 0.001);
    Ok(())
}

#[test]
fn numbers_for_machines_carry_no_noise() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for arguments in [
        &["batch", "middle", "--json"][..],
        &["concentrate", "middle", "--json"],
        &[
            "concentrate",
            "--reverse",
            "calcium chloride=3 g, NaHCO3=2 g",
            "--total",
            "200 g",
            "--dose",
            "4 mL",
            "--json",
        ],
    ] {
        let text = run(&bench, arguments)?;
        let longest = text
            .split(|c: char| !(c.is_ascii_digit() || c == '.'))
            .filter(|number| number.contains('.'))
            .map(|number| number.trim_matches('0').chars().filter(char::is_ascii_digit).count())
            .max();
        assert!(longest.is_some_and(|digits| digits <= 9), "{longest:?}");
    }
    Ok(())
}

#[test]
fn labels_and_methods_are_for_machines_as_well() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let made = json(&bench, &["concentrate", "middle", "--date", "2026-03-14"])?;
    let lines = |path: &str| -> Result<String, String> {
        let list = made.pointer(path).and_then(Value::as_array).ok_or(format!("no {path}"))?;
        Ok(list.iter().filter_map(Value::as_str).collect::<Vec<_>>().join("\n"))
    };
    assert!(lines("/advice/label")?.contains("made on 2026-03-14"));
    assert!(lines("/advice/label")?.contains("CaCl2·2H2O"));
    assert!(lines("/advice/method")?.contains("SHAKE before every dose"));
    for bottle in ["0", "1"] {
        assert!(lines(&format!("/split/{bottle}/advice/label"))?.contains("no need to shake"));
    }
    assert!(lines("/advice/cautions/0/cautions")?.contains("Warms up"));
    Ok(())
}

/// With steps of 0.1 g no salt is weighed of which the balance says next to nothing.
#[test]
fn a_coarse_balance_weighs_fewer_salts() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let settings = bench.join("bench.ron");
    let fine = "balance: (resolution: \"0.01 g\", error: \"0.02 g\", most: \"200 g\")";
    let coarse = "balance: (resolution: \"0.1 g\", error: \"0.1 g\", most: \"500 g\")";
    fs::write(&settings, fs::read_to_string(&settings)?.replace(fine, coarse))?;
    let made = json(&bench, &["batch", "middle", "--make", "20 L"])?;
    let salts = made.pointer("/salts").and_then(Value::as_array).ok_or("no salts")?;
    let weighed: Vec<(f64, f64)> = salts
        .iter()
        .filter_map(|s| Some((s.get("g")?.as_f64()?, s.get("expanded_percent")?.as_f64()?)))
        .filter(|(g, _)| *g > 0.0)
        .collect();
    assert!(weighed.len() >= 2);
    assert!(weighed.iter().all(|(g, percent)| *g > 0.7 && *percent <= 20.0), "{weighed:?}");
    Ok(())
}

/// The smallest batch that is named is one, and nothing of less than a step is ever listed.
#[test]
fn few_salts_are_weighed_well() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let first = json(&bench, &["batch", "middle", "--make", "20 L"])?;
    let least = number(&first, "/least_litres")?;
    let make = format!("{least} L");
    let made = json(&bench, &["batch", "middle", "--make", &make])?;
    let salts = made.pointer("/salts").and_then(Value::as_array).ok_or("no salts")?;
    assert!(!salts.is_empty() && salts.len() <= 3, "{salts:?}");
    for salt in salts {
        assert!(number(salt, "/expanded_percent")? <= 1.0, "{salt}");
    }
    assert_eq!(made.pointer("/worse_than_wanted").and_then(Value::as_array), Some(&Vec::new()));
    let goals = made.pointer("/goals").and_then(Value::as_array).ok_or("no goals")?;
    assert!(goals.iter().all(|goal| goal.pointer("/reached") == Some(&true.into())));

    let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo, cy, di"];
    let waters = [&plan[..], &["--name", "spring", "--seed", "rehearsal"]].concat();
    run(&bench, &waters)?;
    for water in ["spring/soft", "spring/middle", "spring/hard"] {
        let bottle = json(&bench, &["concentrate", water])?;
        let batch = json(&bench, &["batch", water])?;
        for made in [&bottle, &batch] {
            let salts = made.pointer("/salts").and_then(Value::as_array).ok_or("no salts")?;
            assert!(!salts.is_empty());
            for salt in salts {
                assert!(number(salt, "/g")? >= 0.01, "{water}: {salt}");
                assert!(number(salt, "/expanded_percent")? <= 20.0, "{water}: {salt}");
            }
        }
    }
    Ok(())
}

#[test]
fn what_a_recipe_is_and_how_near_it_is_to_crystals_is_said() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for command in ["batch", "concentrate"] {
        let text = joined(&run(&bench, &[command, "middle", "--full"])?);
        assert!(text.contains("a recipe of its own, with the goals of `mix`"), "{text}");
    }
    let out = joined(&run(&bench, &["batch", "hard, all bicarbonate", "--full"])?);
    assert!(out.contains("MISSED by "), "{out}");
    let mut likely = 0;
    for grams in [17.6, 17.8, 18.0, 18.2, 18.4, 18.6, 20.0] {
        let recipe = format!("NaHCO3={grams} g");
        let made = ["--total", "200 g", "--dose", "4 mL"];
        let text = joined(&run(
            &bench,
            &[&["concentrate", "--reverse", &recipe, "--full"][..], &made].concat(),
        )?);
        likely += usize::from(text.contains("%) that crystals are likely"));
        assert!(text.contains("Brings sodium") && text.contains("Food-grade salts"), "{text}");
        assert!(!text.contains("CRYSTALLISES, 9"), "{text}");
    }
    assert!(likely > 0);
    Ok(())
}

/// The limit that is proposed leaves out what it says.
#[test]
fn a_proposed_limit_leaves_something_out() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for litres in ["2 L", "5 L", "20 L"] {
        let asked = ["batch", "middle", "--make", litres];
        let free = json(&bench, &asked)?;
        let Some(salts) = free.pointer("/left_out_at/salts").and_then(Value::as_array) else {
            assert!(!run(&bench, &asked)?.contains("--at-worst"), "{litres}");
            continue;
        };
        let limit = format!("{} %", number(&free, "/left_out_at/percent")?);
        assert!(
            joined(&run(&bench, &asked)?)
                .contains(&format!("`--at-worst \"{limit}\"` would leave out"))
        );
        let limited = json(&bench, &[&asked[..], &["--at-worst", &limit]].concat())?;
        let weighed = limited.pointer("/salts").and_then(Value::as_array).ok_or("no salts")?;
        assert!(!salts.is_empty());
        for salt in salts {
            assert!(weighed.iter().all(|s| s.pointer("/name") != Some(salt)), "{litres}: {salt}");
        }
    }
    Ok(())
}

/// The heat of a salt is said on every screen of what dissolves it, and the gas that one needs.
#[test]
fn what_dissolves_hot_says_so() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let file = bench.join("stocks").join("calcium.ron");
    let anhydrous = fs::read_to_string(&file)?.replace("CaCl2·2H2O", "CaCl2, anhydrous");
    fs::write(&file, anhydrous)?;
    for extent in [&[][..], &["--full"]] {
        for command in ["batch", "concentrate"] {
            let text = joined(&run(&bench, &[&[command, "middle"], extent].concat())?);
            assert!(text.contains("CaCl2: Gets hot when it dissolves"), "{command}: {text}");
        }
        let lime =
            ["concentrate", "--reverse", "Ca(OH)2=2 g", "--into-water", "1 L", "--dose", "10 mL"];
        let text = joined(&run(&bench, &[&lime, extent].concat())?);
        for words in ["counted here as fully carbonated", "never in plain glass"] {
            assert!(text.contains(words), "{words}: {text}");
        }
    }
    Ok(())
}

/// The finished water of a concentrate is that of the masses as they are weighed.
#[test]
fn a_concentrate_is_that_of_its_weighed_masses() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let settings = bench.join("bench.ron");
    let coarse = fs::read_to_string(&settings)?.replace("\"0.01 g\"", "\"0.1 g\"");
    fs::write(&settings, coarse)?;
    // Read back it goes into pure water.
    let flight = bench.join("flights").join("first-flight.ron");
    let pure = fs::read_to_string(&flight)?.replace(", \"hill spring\"", "");
    fs::write(&flight, pure)?;
    let bottle = ["--total", "200 g", "--dose", "4 mL"];
    let made = json(&bench, &[&["concentrate", "middle"], &bottle[..]].concat())?;
    let salts = made.pointer("/salts").and_then(Value::as_array).ok_or("no salts")?;
    let part = |salt: &Value| {
        let name = salt.pointer("/name").and_then(Value::as_str).unwrap_or_default();
        let shown = salt.pointer("/g_shown").and_then(Value::as_str).unwrap_or_default();
        format!("{name}={shown} g")
    };
    let recipe = salts.iter().map(part).collect::<Vec<_>>().join(", ");
    let read = json(&bench, &[&["concentrate", "--reverse", &recipe], &bottle[..]].concat())?;
    for ion in ["Ca", "Mg", "HCO3"] {
        let of = |report: &Value, path: &str| number(report, &format!("{path}/mg_per_l/{ion}"));
        let (one, other) = (of(&made, "")?, of(&read, "/readings/0")?);
        assert!((one - other).abs() <= 0.01 * other.max(1.0), "{recipe}: {ion} {one} {other}");
    }
    Ok(())
}

/// What an option does nothing for is refused, and not passed over.
#[test]
fn options_without_effect_are_refused() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let recipe = ["concentrate", "--reverse", "epsom=20 g", "--total", "500 mL", "--dose", "4 mL"];
    let with = |words: &[&'static str], more: &[&'static str]| [words, more].concat();
    let refused = [
        with(&["concentrate", "middle"], &["--into", "foo"]),
        with(&["concentrate", "middle"], &["--keg", "19 L"]),
        with(&["concentrate", "middle"], &["--into-water", "500 mL"]),
        with(&recipe, &["--labels", "3x7"]),
        with(&recipe, &["--start", "2"]),
        with(
            &["ladder", "middle", "--into", "x", "--vary", "calcium=10..20 mg/L"],
            &["--seed", "3"],
        ),
        with(
            &["ladder", "middle", "--into", "x", "--vary", "calcium=10..20 mg/L"],
            &["--parts", "3"],
        ),
        with(&["mix"], &["--seed", "3"]),
        with(&["mix"], &["--left", "calcium=1mL", "--left", "Calcium=2mL"]),
        with(&["poured"], &["--water", "soft", "--water", "Soft"]),
    ];
    for command in refused {
        let (done, _, errors) = tried(&bench, &command)?;
        assert!(!done && errors.contains("error: "), "{command:?}: {errors}");
    }
    assert!(!bench.join("flights/foo.ron").exists() && !bench.join("flights/x.ron").exists());
    Ok(())
}

/// The limit that `batch` proposes is one that it takes, and leaves out what is said.
#[test]
fn the_proposed_limit_of_a_batch_can_be_asked_for() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let said = joined(&run(&bench, &["batch", "middle", "--make", "0.3 L", "--full"])?);
    let (_, limit) = said.split_once("--at-worst \"").ok_or_else(|| said.clone())?;
    let limit = limit.split('"').next().unwrap_or_default();
    run(&bench, &["batch", "middle", "--make", "0.3 L", "--at-worst", limit])?;
    let (done, _, errors) = tried(&bench, &["batch", "middle", "--at-worst", "120 %"])?;
    assert!(!done && errors.contains("up to 100 %"), "{errors}");
    Ok(())
}

/// A larger dose that is proposed for a bottle that is too strong makes a concentrate as it is typed.
#[test]
fn the_dose_proposed_for_too_strong_a_bottle_makes_one() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let strong =
        [("0.1 mL", "200 g"), ("0.001 mL", "200 g"), ("0.01 mL", "0.5 g"), ("0.01 mL", "0.5 mL")];
    for (dose, total) in strong {
        let bottle = ["concentrate", "middle", "--total", total, "--dose", dose];
        let (done, _, errors) = tried(&bench, &bottle)?;
        assert!(!done, "{dose} is not too strong");
        let of = |option: &str| {
            let (_, amount) = errors.split_once(&format!("{option} \""))?;
            amount.split('"').next()
        };
        let more = of("--dose").ok_or_else(|| errors.clone())?;
        let total = of("--total").unwrap_or(total);
        run(&bench, &["concentrate", "middle", "--dose", more, "--total", total])?;
    }
    Ok(())
}
