//! A dispenser is one thing: what it delivers and how far its doses may be off, in `mix`, in a
//! flight and on the pouring sheet.
#![expect(
    clippy::indexing_slicing,
    reason = "a key that an answer of the program lacks is null, and fails its test"
)]

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::{json, list, number, text};
use crate::common::starter_bench;
use rand::{Rng, RngExt, SeedableRng, rngs::StdRng};
use serde_json::Value;

type Fallible = Result<(), Box<dyn Error>>;

/// Puts other dispensers into the settings of a starter bench.
fn with_dispensers(bench: &Path, dispensers: &str) -> Fallible {
    let file = bench.join("bench.ron");
    let text = fs::read_to_string(&file)?;
    let (before, rest) = text.split_once("    dispensers: [").ok_or("no dispensers")?;
    let (_, after) = rest.split_once("    ],\n").ok_or("no end")?;
    Ok(fs::write(&file, format!("{before}    dispensers: [{dispensers}],\n{after}"))?)
}

/// Names a dispenser in the flight of a starter bench.
fn in_the_flight(bench: &Path, dispenser: &str) -> Fallible {
    let file = bench.join("flights/first-flight.ron");
    let text = fs::read_to_string(&file)?;
    let named = format!("    dispenser: \"{dispenser}\",\n    bottle:");
    Ok(fs::write(&file, text.replace("    bottle:", &named))?)
}

/// A number between −1 and 1.
fn either_way(generator: &mut impl Rng) -> f64 {
    generator.random_range(-1.0..1.0)
}

/// Twice the standard deviation of what a model gives.
fn twice_the_deviation(trials: u32, mut one: impl FnMut() -> f64) -> f64 {
    let all: Vec<f64> = (0..trials).map(|_| one()).collect();
    let n = f64::from(trials);
    let mean = all.iter().sum::<f64>() / n;
    let squares: f64 = all.iter().map(|x| (x - mean) * (x - mean)).sum();
    2.0 * (squares / (n - 1.0)).sqrt()
}

/// Doses of a bottle are poured 40,000 times as a hand does it: drop by drop, each by itself and
/// all of one size; stroke by stroke, each read anew; on a scale, read empty and full.
#[test]
fn the_error_of_a_dose_is_that_of_pouring_it() -> Fallible {
    const TRIALS: u32 = 40_000;
    let (_folder, bench) = starter_bench()?;
    with_dispensers(
        &bench,
        "Dropper(name: \"drops\", drop: \"0.05 mL\", error: \"0.004 mL\", scatter: \"0.01 mL\"), \
         Syringe(name: \"small\", step: \"0.01 mL\", least: \"0.05 mL\", error: \"0.02 mL\", \
         off: \"2 %\", holds: \"0.5 mL\"), \
         Scale(name: \"scale\", step: \"0.1 g\", error: \"0.05 g\")",
    )?;
    let mut generator = StdRng::seed_from_u64(5);
    let mut several = 0;
    for name in ["drops", "small", "scale"] {
        let mix = json(&bench, &["mix", "--dispenser", name])?;
        let waters = list(&mix, "/spread/waters")?;
        for (water, stepped) in waters.iter().zip(list(&mix, "/order/dispenser/waters")?) {
            for (dose, counted) in list(water, "/doses")?.iter().zip(list(stepped, "/doses")?) {
                let (ml, steps) = (number(dose, "/value")?, number(counted, "/steps")?);
                assert_eq!(dose.get("unit").and_then(Value::as_str), Some("mL"));
                let density = if name == "scale" { 0.1 * steps / ml } else { 1.0 };
                let poured = twice_the_deviation(TRIALS, || match name {
                    "drops" => {
                        let size = 0.05 + 0.004 * either_way(&mut generator);
                        let mut all = 0.0;
                        let mut left = steps;
                        while left > 0.5 {
                            all += size + 0.01 * either_way(&mut generator);
                            left -= 1.0;
                        }
                        all
                    }
                    "small" => {
                        let scale = 1.0 + 0.02 * either_way(&mut generator);
                        let mut strokes = (ml / 0.5 - 1e-9).ceil();
                        let each = ml / strokes;
                        let mut all = 0.0;
                        while strokes > 0.5 {
                            all += scale * each + 0.02 * either_way(&mut generator);
                            strokes -= 1.0;
                        }
                        all
                    }
                    _ => {
                        let off = 0.05 * either_way(&mut generator);
                        let read =
                            0.05 * either_way(&mut generator) - 0.05 * either_way(&mut generator);
                        (ml * density + off + read) / density
                    }
                });
                let stated = number(dose, "/expanded")?;
                // A stock's own density counts as well where doses are weighed.
                let near = if name == "scale" { 0.05 } else { 0.025 };
                assert!((stated / poured - 1.0).abs() < near, "{name} {ml}: {stated}, {poured}");
                if name != "scale" {
                    let percent = number(counted, "/error_percent")?;
                    assert!((percent / 100.0 * ml / poured - 1.0).abs() < near, "{name} {percent}");
                }
                several += usize::from(number(counted, "/deliveries")? > 1.0);
            }
        }
    }
    assert!(several > 20, "{several}");
    Ok(())
}

/// The draws have the same error of a dose, and what doses share is shared: twice as many drops
/// of two stocks of one dropper do not average their size out.
#[test]
fn draws_follow_the_dispenser() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    with_dispensers(
        &bench,
        "Dropper(name: \"drops\", drop: \"0.05 mL\", error: \"0.005 mL\", scatter: \"0.02 mL\")",
    )?;
    let mix = json(&bench, &["mix", "--dispenser", "drops", "--monte-carlo", "40000", "--budget"])?;
    let mut sizes = 0;
    for water in list(&mix, "/spread/waters")? {
        for goal in list(water, "/doses")?.iter().chain(list(water, "/goals")?) {
            let (expanded, drawn) = (number(goal, "/expanded")?, number(goal, "/drawn/expanded")?);
            assert!((drawn - expanded).abs() < 0.03 * expanded + 1e-4, "{goal}");
        }
        for goal in list(water, "/goals")?.iter().filter(|g| g["of"] == "hardness") {
            // Hardness comes from stocks: the size of the drops alone makes 10 % of it, as a
            // rectangle, but for what the base water brings.
            let sources = list(goal, "/budget")?;
            let of = sources.iter().find(|line| line["source"] == "size of the drops");
            sizes += usize::from(of.is_some_and(|line| line["percent"].as_f64() > Some(30.0)));
        }
    }
    assert!(sizes > 3, "{sizes}");
    Ok(())
}

/// Steps so coarse that every search ends long before its time.
const THREE: &str = "Dropper(name: \"dropper\", drop: \"0.05 mL\", error: \"0.005 mL\"), \
                     Syringe(name: \"syringe\", step: \"0.1 mL\", least: \"0.5 mL\"), \
                     Scale(name: \"scale\", step: \"0.1 g\", least: \"0.2 g\")";

/// A dispenser in the flight, on the command line and in a session gives the same doses with the
/// same error.
#[test]
fn a_dispenser_is_one_thing() -> Fallible {
    for name in ["dropper", "syringe", "scale"] {
        let (_folder, bench) = starter_bench()?;
        with_dispensers(&bench, THREE)?;
        let typed = json(&bench, &["mix", "--dispenser", name])?;
        let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo", "--seed", "one"];
        let all = |name: &'static str| ["--name", name, "--spare", "0 %"];
        let planned = [&plan[..], &["--name", "typed", "--dispenser", name]].concat();
        json(&bench, &planned)?;
        // What is recorded as poured is what was mixed with it.
        let poured = json(&bench, &["poured", "first-flight", "--dispenser", name])?;
        for (taken, used) in list(&poured, "/taken")?.iter().zip(list(&typed, "/stocks_used")?) {
            assert_eq!(taken["stock"], used["stock"]);
            assert!((number(taken, "/ml")? - number(used, "/ml")?).abs() < 1e-9, "{taken}");
        }
        let advised = json(&bench, &["advise", "--dispenser", name, "--error", "20 %"])?;
        in_the_flight(&bench, name)?;
        let in_flight = json(&bench, &["mix"])?;
        assert!(typed == in_flight, "{name}");
        assert!(advised == json(&bench, &["advise", "--error", "20 %"])?, "{name}");
        json(&bench, &[&plan[..], &all("flown")[..2]].concat())?;
        // One bottle of each water: what the sheet then holds is what `mix` says of a bottle.
        for session in ["typed", "flown"] {
            let sheet = ["session", "sheet", session, "--for", "pourer", "--least", "500 mL"];
            let sheet = json(&bench, &sheet)?;
            assert_eq!(text(&sheet, "/dispenser/name")?, name);
            for bottle in list(&sheet, "/bottles")? {
                assert!((number(bottle, "/l_with_spare")? - 0.5).abs() < 1e-9, "{bottle}");
                let of = |waters: &Value| -> Option<Value> {
                    waters.as_array()?.iter().find(|w| w["target"] == bottle["water"]).cloned()
                };
                let mixed = of(&typed["waters"]).ok_or("no water")?;
                let stepped = of(&typed["order"]["dispenser"]["waters"]).ok_or("no steps")?;
                let doses = list(bottle, "/doses")?;
                assert_eq!(doses.len(), list(&mixed, "/doses")?.len());
                let both = list(&mixed, "/doses")?.iter().zip(list(&stepped, "/doses")?);
                for (dose, (mixed, stepped)) in doses.iter().zip(both) {
                    assert_eq!(dose["stock"], mixed["stock"]);
                    assert_eq!(dose["steps"], stepped["steps"]);
                    for (here, there) in [("/ml", "/ml_per_bottle"), ("/g", "/g_per_bottle")] {
                        let (here, there) = (number(dose, here)?, number(mixed, there)?);
                        assert!((here - there).abs() < 1e-9, "{name} {dose} {mixed}");
                    }
                }
                for (fill, base) in list(bottle, "/fill")?.iter().zip(list(&mixed, "/base")?) {
                    assert_eq!(fill["water"], base["water"]);
                    assert!((number(fill, "/ml")? - number(base, "/ml_per_bottle")?).abs() < 1e-6);
                    assert!((number(fill, "/g")? - number(base, "/g_per_bottle")?).abs() < 1e-6);
                }
            }
        }
    }
    Ok(())
}

/// Whatever the panel drinks, the sheet asks for whole steps and at least the least amount, fills
/// the bottle, and keeps the water that was planned.
#[test]
fn the_sheet_can_be_poured() -> Fallible {
    let cases = [
        ("dropper", "MadeUpToALitre", "ann, bo", "15 mL"),
        ("syringe", "MadeUpToALitre", "ann, bo, cy, di, ed", "70 mL"),
        ("syringe", "AddedToALitre", "ann, bo, cy", "120 mL"),
        ("scale", "AddedToALitre", "ann, bo, cy", "45 mL"),
    ];
    for (name, convention, tasters, cup) in cases {
        let (_folder, bench) = starter_bench()?;
        let file = bench.join("flights/first-flight.ron");
        let flight = fs::read_to_string(&file)?.replace("MadeUpToALitre", convention);
        fs::write(&file, flight)?;
        with_dispensers(&bench, THREE)?;
        in_the_flight(&bench, name)?;
        let plan = ["session", "plan", "first-flight", "--tasters", tasters, "--cup", cup];
        json(&bench, &[&plan[..], &["--name", "evening", "--seed", "one"]].concat())?;
        let sheet = json(&bench, &["session", "sheet", "evening", "--for", "pourer"])?;
        let (step, least) = match name {
            "dropper" => (0.05, 0.05),
            "syringe" => (0.1, 0.5),
            _ => (0.1, 0.2),
        };
        let planned: Value =
            serde_json::from_str(&fs::read_to_string(bench.join("sessions/evening/waters.json"))?)?;
        for bottle in list(&sheet, "/bottles")? {
            let litres = number(bottle, "/l_with_spare")?;
            let cups = number(bottle, "/cups")? * number(&sheet, "/serving/cup_ml")? / 1000.0;
            assert!(litres >= 1.1 * cups - 1e-9, "{bottle}");
            let water = list(&planned, "/waters")?.iter().find(|w| w["name"] == bottle["water"]);
            let mut volume = 0.0;
            for dose in list(bottle, "/doses")? {
                let amount = number(dose, if name == "scale" { "/g" } else { "/ml" })?;
                let steps = amount / step;
                assert!((steps - steps.round()).abs() < 1e-6, "{name}: {dose}");
                assert!((steps - number(dose, "/steps")?).abs() < 1e-6 && amount > least - 1e-9);
                let was = list(water.ok_or("no water")?, "/doses")?.iter();
                let was = was.clone().find(|d| d["stock"] == dose["stock"]).ok_or("no dose")?;
                let per_l = number(dose, "/ml")? / litres;
                assert!((per_l - number(was, "/ml_per_l")?).abs() < 1e-9, "{name}: {dose}");
                volume += number(dose, "/ml")?;
            }
            let fill = list(bottle, "/fill")?;
            for (n, fill_up) in fill.iter().enumerate() {
                volume += number(fill_up, "/ml")?;
                let last = n + 1 == fill.len() && convention == "MadeUpToALitre";
                assert_eq!(fill_up["up_to_the_mark"], Value::Bool(last));
                let density = number(fill_up, "/g")? / number(fill_up, "/ml")?;
                assert!((density - 0.9982).abs() < 1e-4);
            }
            assert!(!fill.is_empty() && (volume / 1000.0 - litres).abs() < 1e-6, "{bottle}");
        }
    }
    Ok(())
}

/// Without a dispenser in steps nothing below what the bench can measure is asked for, where a
/// little more of the water mends it.
#[test]
fn enough_is_made_for_the_least_dose() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo", "--cup", "40 mL"];
    json(&bench, &[&plan[..], &["--name", "small", "--seed", "one"]].concat())?;
    let sheet = json(&bench, &["session", "sheet", "small", "--for", "pourer"])?;
    let (mut raised, mut said) = (0, 0);
    for bottle in list(&sheet, "/bottles")? {
        let litres = number(bottle, "/l_with_spare")?;
        for dose in list(bottle, "/doses")? {
            let is_enough = number(dose, "/ml")? > 0.1 - 1e-9;
            assert_eq!(is_enough, dose["too_small_for_ml"].is_null(), "{dose}");
            said += usize::from(!is_enough);
        }
        raised += usize::from(litres > 0.088 + 1e-9);
    }
    assert!(raised > 2 && said == 1, "{raised} {said}");
    Ok(())
}

/// A shelf of forty stocks is too large to search in steps in the time given; the answer is a small set
/// all the same, with which every water is reached that all stocks together reach.
#[test]
fn a_large_shelf_has_an_answer_in_steps() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for entry in fs::read_dir(bench.join("stocks"))? {
        fs::remove_file(entry?.path())?;
    }
    let salts = [
        "CaCl2·2H2O",
        "MgSO4·7H2O",
        "MgCl2·6H2O",
        "NaHCO3",
        "KHCO3",
        "NaCl",
        "KCl",
        "Na2SO4",
        "K2SO4",
        "Na2CO3",
    ];
    for (n, salt) in salts.iter().enumerate() {
        for (m, grams) in [5, 8, 12, 20].into_iter().enumerate() {
            let text = format!(
                "Stock(name: \"s{n}{m}\", salt: \"{salt}\", made: ToTotalMass(salt: \"{grams} g\", \
                 total: \"1000 g\"))"
            );
            fs::write(bench.join(format!("stocks/s{n}{m}.ron")), text)?;
        }
    }
    let mix = json(&bench, &["mix", "--dispenser", "syringe", "--fewest"])?;
    let opened = list(&mix, "/order/stock_set/stocks")?.len();
    assert!((1..=8).contains(&opened), "{opened} stocks are opened");
    let reached = list(&mix, "/waters")?.iter().filter(|w| w["reached"] == Value::Bool(true));
    assert_eq!(reached.count(), 7);
    Ok(())
}

/// In steps of a syringe a stock that no goal asks for could bring the others a little nearer, by the base
/// water that its volume takes the place of: no water is salted for that.
#[test]
fn no_salt_is_poured_only_for_its_volume() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let goals = (0..12_u32).map(|n| {
        let (hardness, alkalinity) = (70 + 7 * n, 30 + 5 * (n % 7));
        format!(
            "Target(name: \"t{n}\", goals: (hardness: \"{hardness} mg/L as CaCO3\", \
             alkalinity: \"{alkalinity} mg/L as CaCO3\", potassium: \"at most 200 mg/L\"))"
        )
    });
    let targets = goals.collect::<Vec<_>>().join(", ");
    let flight = format!(
        "Flight(title: \"thinned\", base: [\"hill spring\"], bottle: \"500 mL\", targets: [{targets}])"
    );
    fs::write(bench.join("flights/first-flight.ron"), flight)?;
    let exact = json(&bench, &["mix"])?;
    let stepped = json(&bench, &["mix", "--dispenser", "syringe"])?;
    let both = list(&exact, "/waters")?.iter().zip(list(&stepped, "/waters")?);
    for (exact, water) in both {
        assert_eq!(water.get("reached"), Some(&Value::Bool(true)), "{water}");
        let salts = list(water, "/doses")?;
        let is_salted = salts.iter().any(|d| d["stock"] == "table salt");
        assert!(!is_salted, "{water}");
        let [solids, more] = [exact, water].map(|w| number(w, "/dissolved_solids_mg_per_l"));
        assert!(more? < solids? + 60.0, "{water}");
    }
    Ok(())
}
