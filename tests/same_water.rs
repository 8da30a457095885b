//! The same name is the same water: pinned targets, what `mix` says of a water that has become
//! another, one style for all waters of a flight.
//!
//! Above 400 lines: one flight after the other, with the few helpers that write them.
#![expect(
    clippy::indexing_slicing,
    reason = "a key that an answer of the program lacks is null, and fails its test"
)]

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::{json, list, number, text};
use crate::common::starter_bench;
use serde_json::Value;

type Fallible = Result<(), Box<dyn Error>>;

fn water<'a>(mix: &'a Value, name: &str) -> Result<&'a Value, Box<dyn Error>> {
    let found = list(mix, "/waters")?.iter().find(|w| w["target"] == name);
    found.ok_or_else(|| format!("no water {name}").into())
}

fn flight(bench: &Path, name: &str, more: &str, targets: &str) -> Fallible {
    let text = format!(
        "Flight(\n    title: \"{name}\",\n    base: [\"distilled\", \"hill spring\"],\n    \
         bottle: \"500 mL\",\n    {more}\n    targets: [\n{targets}\n    ],\n)\n"
    );
    Ok(fs::write(bench.join("flights").join(format!("{name}.ron")), text)?)
}

/// Gives a stock of the bench another strength.
fn restock(bench: &Path, stock: &str, salt: &str, grams: f64) -> Fallible {
    let made = format!("made: ToTotalMass(salt: \"{grams} g\", total: \"1 kg\")");
    let stock_file = format!("Stock(name: \"{stock}\", salt: \"{salt}\", {made})");
    Ok(fs::write(bench.join("stocks").join(format!("{stock}.ron")), stock_file)?)
}

/// How far two waters are from each other, as a part of what each ion is, from 1 mg/L on.
fn apart(one: &Value, other: &Value) -> Result<f64, Box<dyn Error>> {
    let ions = ["Ca", "Mg", "Na", "K", "Cl", "SO4", "HCO3"];
    let mut most = 0.0_f64;
    for ion in ions {
        let path = format!("/mg_per_l/{ion}");
        let (a, b) = (number(one, &path)?, number(other, &path)?);
        most = most.max((a - b).abs() / a.max(b).max(1.0));
    }
    Ok(most)
}

/// A water whose salts its goals leave open, and another to taste it beside.
const SOFT: &str = "Target(name: \"soft\", goals: ( hardness: \"35 mg/L as CaCO3\", \
                    alkalinity: \"20 mg/L as CaCO3\" )),
        Target(name: \"chalk\", goals: ( calcium: \"30 mg/L\", magnesium: \"at most 2 mg/L\", \
                    sulfate: \"at most 6 mg/L\", alkalinity: \"40 mg/L as CaCO3\" )),";

/// A session is planned with `soft`; then stocks are made anew, three times as strong or half, of
/// other hydrates. Left to its goals the water becomes another one; pinned in any of three ways
/// it stays what was tasted.
#[test]
fn a_pinned_water_stays_what_it_was() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::remove_file(bench.join("flights/first-flight.ron"))?;
    flight(&bench, "evening", "", SOFT)?;
    let first = json(&bench, &["mix", "evening"])?;
    let plan = ["session", "plan", "evening", "--tasters", "ann, bo", "--name", "one"];
    json(&bench, &[&plan[..], &["--seed", "one"]].concat())?;
    let soft = water(&first, "soft")?;
    let ions: Vec<String> = [
        ("Ca", "calcium"),
        ("Mg", "magnesium"),
        ("Na", "sodium"),
        ("K", "potassium"),
        ("Cl", "chloride"),
        ("SO4", "sulfate"),
        ("HCO3", "bicarbonate"),
    ]
    .into_iter()
    .map(|(key, name)| {
        let mg = number(soft, &format!("/mg_per_l/{key}")).unwrap_or(f64::NAN);
        format!("{name}: \"{mg:.2} mg/L\"")
    })
    .collect();
    let salts: Vec<String> = list(soft, "/salts")?
        .iter()
        .map(|salt| {
            let formula = salt["formula"].as_str().unwrap_or_default();
            let mg = salt["mg_per_l"].as_f64().unwrap_or(f64::NAN);
            format!("(\"{formula}\", \"{mg:.2} mg/L\")")
        })
        .collect();
    let base: Vec<String> = list(soft, "/base")?
        .iter()
        .map(|base| {
            let (name, share) = (base["water"].as_str(), base["share"].as_f64());
            let percent = 100.0 * share.unwrap_or(f64::NAN);
            format!("(\"{}\", \"{percent:.1} %\")", name.unwrap_or_default())
        })
        .collect();
    let pinned = format!(
        "{SOFT}\n        Target(name: \"tasted\", tasted: \"one/soft\"),\n        \
         Target(name: \"stated\", composition: ({})),\n        \
         Target(name: \"made\", made_of: [{}], made_in: [{}]),",
        ions.join(", "),
        salts.join(", "),
        base.join(", ")
    );
    flight(&bench, "evening", "", &pinned)?;
    for (calcium, epsom, potash) in [(91.0, 39.2, 20.0), (15.0, 300.0, 80.0), (30.0, 120.0, 40.0)] {
        restock(&bench, "calcium", "CaCl2·2H2O", calcium)?;
        restock(&bench, "epsom", "MgSO4·7H2O", epsom)?;
        restock(&bench, "potash", "KHCO3", potash)?;
        let mix = json(&bench, &["mix", "evening"])?;
        for name in ["tasted", "stated", "made"] {
            let now = water(&mix, name)?;
            assert_eq!(now["reached"], true, "{name}");
            let by = apart(now, soft)?;
            assert!(by < 0.01, "{name} with {calcium} g/kg: {by} apart, {}", now["mg_per_l"]);
            let formulas = |of: &Value| -> Vec<Value> {
                let salts = of["salts"].as_array().cloned().unwrap_or_default();
                salts.iter().map(|salt| salt["formula"].clone()).collect()
            };
            assert_eq!(formulas(now), formulas(soft), "{name}");
            assert!(now["pinned"].is_string());
            // The same water goes into a tank.
            let batch = json(&bench, &["batch", name, "--make", "100 L"])?;
            assert!(apart(&batch, soft)? < 0.06, "{name}: {}", batch["mg_per_l"]);
        }
        // Steps of a syringe cost no more than its tolerance.
        let mix = json(&bench, &["mix", "evening", "--dispenser", "dropper"])?;
        assert_eq!(water(&mix, "tasted")?["reached"], true);
    }
    // Stock of which less is poured is taken first: with strong Epsom salt the goals are met with
    // magnesium, and that is said.
    restock(&bench, "epsom", "MgSO4·7H2O", 400.0)?;
    restock(&bench, "magchlor", "MgCl2·6H2O", 10.0)?;
    let mix = json(&bench, &["mix", "evening"])?;
    assert!(apart(water(&mix, "soft")?, soft)? > 0.5);
    let [change] = list(&mix, "/changed_since_session")?.as_slice() else {
        return Err(format!("{:?}", mix["changed_since_session"]).into());
    };
    assert_eq!((text(change, "/target")?, text(change, "/session")?), ("soft", "one"));
    assert_eq!(change["other_salts"], true);
    assert!(list(change, "/salts_then")?.iter().any(|s| s == "CaCl2·2H2O"), "{change}");
    assert!(list(change, "/salts_now")?.iter().any(|s| s == "MgSO4·7H2O"), "{change}");
    let calcium = list(change, "/ions")?.iter().find(|ion| ion["ion"] == "Ca").ok_or("no Ca")?;
    let then = number(calcium, "/then_mg_per_l")?;
    assert!((then - number(soft, "/mg_per_l/Ca")?).abs() < 1e-6);
    let said = |mix: &Value| -> Result<bool, Box<dyn Error>> {
        Ok(list(mix, "/notes")?
            .iter()
            .any(|note| note.as_str().is_some_and(|n| n.starts_with("soft: MADE OF OTHER SALTS"))))
    };
    assert!(said(&mix)?);
    // Whoever plans the next session is told as well, and the last plan is what counts from then.
    let again = ["session", "plan", "evening", "--tasters", "ann, bo", "--name", "two"];
    let again = json(&bench, &[&again[..], &["--seed", "two"]].concat())?;
    assert_eq!(list(&again, "/changed_since_session")?.len(), 1);
    assert!(!said(&json(&bench, &["mix", "evening"])?)?);
    Ok(())
}

/// A newer batch, another hydrate, a goal moved by a hair: the same water, and nothing is said. A
/// goal moved by a half: said as what it is.
#[test]
fn only_another_water_is_spoken_of() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    flight(&bench, "evening", "", SOFT)?;
    let plan = ["session", "plan", "evening", "--tasters", "ann, bo", "--name", "one"];
    json(&bench, &[&plan[..], &["--seed", "one"]].concat())?;
    restock(&bench, "calcium", "CaCl2, anhydrous", 22.0)?;
    restock(&bench, "potash", "KHCO3", 45.0)?;
    flight(&bench, "evening", "", &SOFT.replace("35 mg/L", "35.5 mg/L"))?;
    let mix = json(&bench, &["mix", "evening"])?;
    assert!(mix.get("changed_since_session").is_none(), "{}", mix["changed_since_session"]);
    flight(&bench, "evening", "", &SOFT.replace("35 mg/L", "52 mg/L"))?;
    let mix = json(&bench, &["mix", "evening"])?;
    let change = mix.pointer("/changed_since_session/0").ok_or("nothing said")?;
    assert_eq!(change["other_salts"], false, "{change}");
    // A flight of another name is another matter.
    flight(&bench, "morning", "", &SOFT.replace("35 mg/L", "52 mg/L"))?;
    let mix = json(&bench, &["mix", "morning"])?;
    assert!(mix.get("changed_since_session").is_none());
    Ok(())
}

/// The reference of a proposed flight is the water that was tasted, whatever its goals and the
/// shelf have become.
#[test]
fn the_next_flight_carries_what_was_tasted() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    crate::next_flight::tasted(&bench, |hardness, alkalinity| {
        8.0 - (hardness - 70.0).abs() / 20.0 - (alkalinity - 40.0).abs() / 30.0
    })?;
    let planned: Value =
        serde_json::from_str(&fs::read_to_string(bench.join("sessions/one/waters.json"))?)?;
    let file = bench.join("flights/first-flight.ron");
    let changed = fs::read_to_string(&file)?
        .replace("hardness: \"100 mg/L as CaCO3\"", "hardness: \"90 mg/L as CaCO3\"")
        .replace("hardness: \"150 ± 5", "hardness: \"120 ± 5");
    fs::write(&file, changed)?;
    restock(&bench, "epsom", "MgSO4·7H2O", 300.0)?;
    for name in ["middle", "hard"] {
        let into = format!("after-{name}");
        let next = ["next", "first-flight", "--over", "hardness,alkalinity", "--reference", name];
        json(&bench, &[&next[..], &["--into", &into]].concat())?;
        let written = fs::read_to_string(bench.join(format!("flights/{into}.ron")))?;
        assert!(written.contains("composition: ("), "{written}");
        let mix = json(&bench, &["mix", &into])?;
        let now = water(&mix, name)?;
        let was = list(&planned, "/waters")?.iter().find(|w| w["name"] == name);
        for pair in list(was.ok_or("not planned")?, "/mg_per_l")? {
            let (key, then) = (text(pair, "/0")?, number(pair, "/1")?);
            let is = number(now, &format!("/mg_per_l/{key}"))?;
            assert!((is - then).abs() < 0.01 * then + 0.05, "{name}, {key}: {is} and not {then}");
        }
    }
    // Without a name it is the best so far, in the same way.
    json(&bench, &["next", "first-flight", "--over", "hardness,alkalinity", "--into", "best"])?;
    let written = fs::read_to_string(bench.join("flights/best.ron"))?;
    assert!(written.contains("// As it was tasted in the session one."), "{written}");
    Ok(())
}

/// Waters whose goals leave the salts open, some with chloride or sulfate asked for.
const OPEN: &str = "Target(name: \"a\", goals: ( hardness: \"60 mg/L as CaCO3\", \
                    alkalinity: \"30 mg/L as CaCO3\", sulfate: \"at least 20 mg/L\" )),
        Target(name: \"b\", goals: ( hardness: \"120 mg/L as CaCO3\", \
                    alkalinity: \"45 mg/L as CaCO3\", sodium: \"at most 8 mg/L\" )),
        Target(name: \"c\", goals: ( calcium: \"20 mg/L\", hardness: \"90 mg/L as CaCO3\", \
                    alkalinity: \"60 mg/L as CaCO3\" )),";

/// Share of the first of two ions among both, in moles.
fn share(of: &Value, first: (&str, f64), second: (&str, f64)) -> Result<f64, Box<dyn Error>> {
    let moles = |(key, g_per_mol): (&str, f64)| -> Result<f64, Box<dyn Error>> {
        Ok(number(of, &format!("/mg_per_l/{key}"))? / g_per_mol)
    };
    let (one, other) = (moles(first)?, moles(second)?);
    Ok(one / (one + other))
}

fn shares(of: &Value) -> Result<(f64, f64), Box<dyn Error>> {
    Ok((share(of, ("Ca", 40.078), ("Mg", 24.305))?, share(of, ("Cl", 35.45), ("SO4", 96.06))?))
}

/// The ratios that are chosen are kept by all waters, and no ratio of a grid, stated one after the
/// other, suits the flight better.
#[test]
fn one_style_is_chosen_for_all_waters() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    flight(&bench, "open", "", OPEN)?;
    let free = json(&bench, &["mix", "open"])?;
    let differs = |mix: &Value| -> Result<bool, Box<dyn Error>> {
        let notes = list(mix, "/notes")?.iter();
        Ok(notes.filter_map(Value::as_str).any(|note| note.starts_with("not one style")))
    };
    assert!(differs(&free)?, "{}", free["notes"]);
    let missed = |mix: &Value| -> Result<f64, Box<dyn Error>> {
        let waters = list(mix, "/waters")?.iter();
        waters.map(|water| number(water, "/misses_beyond_tolerance")).sum()
    };
    flight(&bench, "styled", "style: SameRatios,", OPEN)?;
    let mix = json(&bench, &["mix", "styled"])?;
    assert!(!differs(&mix)?);
    assert_eq!(text(&mix, "/order/style/asked")?, "same ratios");
    let all: Vec<(f64, f64)> =
        list(&mix, "/waters")?.iter().map(shares).collect::<Result<_, _>>()?;
    let spread = |of: fn(&(f64, f64)) -> f64| {
        let values = all.iter().map(of);
        values.clone().fold(0.0, f64::max) - values.fold(1.0, f64::min)
    };
    assert!(spread(|s| s.0) < 0.03 && spread(|s| s.1) < 0.03, "{all:?}");
    let chosen = missed(&mix)?;
    let mut best = f64::INFINITY;
    for calcium in 1..10 {
        for chloride in 1..10 {
            let ratio = |tenths: i32| f64::from(tenths) / f64::from(10 - tenths);
            let style = format!(
                "style: Ratios(calcium_to_magnesium: \"{:.6} mol/mol\", chloride_to_sulfate: \
                 \"{:.6} mol/mol\"),",
                ratio(calcium),
                ratio(chloride)
            );
            flight(&bench, "stated", &style, OPEN)?;
            let stated = json(&bench, &["mix", "stated"])?;
            best = best.min(missed(&stated)?);
            if missed(&stated)? < 1e-9 {
                for water in list(&stated, "/waters")? {
                    let (of_calcium, of_chloride) = shares(water)?;
                    let near = |share: f64, tenths: i32| (share - f64::from(tenths) / 10.0).abs();
                    assert!(near(of_calcium, calcium) < 0.02 && near(of_chloride, chloride) < 0.02);
                }
            }
        }
    }
    assert!(chosen <= best + 1e-6, "{chosen} and not {best}");
    // A batch of one of them is of the same style.
    let batch = json(&bench, &["batch", "styled/a", "--make", "100 L"])?;
    let (first, _) = all.first().ok_or("no water")?;
    assert!((shares(&batch)?.0 - first).abs() < 0.03);
    // A pinned water decides the style of the others.
    let plan = ["session", "plan", "open", "--tasters", "ann, bo", "--name", "one"];
    json(&bench, &[&plan[..], &["--seed", "one"]].concat())?;
    let pinned = OPEN.replace(
        "Target(name: \"a\"",
        "Target(name: \"was\", tasted: \"one/a\"),\n        Target(name: \"a\"",
    );
    flight(&bench, "like", "style: SameRatios,", &pinned)?;
    let like = json(&bench, &["mix", "like"])?;
    let was = shares(water(&like, "was")?)?;
    let b = shares(water(&like, "b")?)?;
    assert!((was.0 - b.0).abs() < 0.03 && (was.1 - b.1).abs() < 0.03, "{was:?} {b:?}");
    Ok(())
}

/// The stocks that are chosen are in every water, and no other set of which that is true misses
/// less: every set is planned by itself.
#[test]
fn the_same_salts_are_in_all_waters() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    flight(&bench, "styled", "style: SameSalts,", OPEN)?;
    let mix = json(&bench, &["mix", "styled"])?;
    let chosen: Vec<&str> =
        list(&mix, "/order/style/stocks")?.iter().filter_map(Value::as_str).collect();
    assert!(!chosen.is_empty());
    let used = |water: &Value| -> Vec<String> {
        let doses = water["doses"].as_array().cloned().unwrap_or_default();
        let poured = doses.iter().filter(|d| d["ml_per_bottle"].as_f64() > Some(0.1 - 1e-9));
        poured.filter_map(|dose| dose["stock"].as_str().map(str::to_owned)).collect()
    };
    for water in list(&mix, "/waters")? {
        assert_eq!(used(water), chosen, "{water}");
    }
    let missed = |mix: &Value| -> Result<f64, Box<dyn Error>> {
        let waters = list(mix, "/waters")?.iter();
        waters.map(|water| number(water, "/misses_beyond_tolerance")).sum()
    };
    let stocks = ["calcium", "epsom", "magchlor", "potash", "soda", "table salt"];
    let mut best = f64::INFINITY;
    for bits in 1_u32..64 {
        let some: Vec<&str> =
            (0..6).filter(|n| bits >> n & 1 == 1).filter_map(|n| stocks.get(n).copied()).collect();
        let quoted: Vec<String> = some.iter().map(|name| format!("\"{name}\"")).collect();
        flight(&bench, "set", &format!("stocks: [{}],", quoted.join(", ")), OPEN)?;
        let set = json(&bench, &["mix", "set"])?;
        if list(&set, "/waters")?.iter().all(|water| used(water) == some) {
            best = best.min(missed(&set)?);
        }
    }
    assert!(missed(&mix)? <= best + 1e-6, "{} and not {best}", missed(&mix)?);
    // Where no set can be in all waters that is said, and they are planned all the same.
    let apart = "Target(name: \"hard\", goals: ( hardness: \"60 mg/L as CaCO3\" )),
        Target(name: \"pure\", goals: ( dissolved_solids: \"at most 1 mg/L\" ), without: [\"epsom\"]),";
    flight(&bench, "apart", "style: SameSalts, stocks: [\"epsom\"],", apart)?;
    let none = json(&bench, &["mix", "apart"])?;
    assert!(none.pointer("/order/style/stocks").is_none(), "{}", none["order"]);
    assert!(list(&none, "/waters")?.iter().all(|water| water["reached"] == true));
    // With a dispenser each has its least amount of all of them.
    let mix = json(&bench, &["mix", "styled", "--dispenser", "syringe"])?;
    let all: Vec<Vec<String>> = list(&mix, "/waters")?.iter().map(used).collect();
    assert!(all.windows(2).all(|two| two.first() == two.last()), "{all:?}");
    Ok(())
}

/// What a composition does not name, or names as nothing, is not wanted: nitrate and silica of a base
/// water too.
#[test]
fn what_only_a_base_water_brings_is_not_wanted_where_it_is_not_named() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::write(
        bench.join("waters/well.ron"),
        "Water(name: \"well\", analysis: ( calcium: \"20 mg/L\", chloride: \"0 mg/L\", \
         nitrate: \"62 mg/L\", silica: \"0 mg/L\", alkalinity: \"0 mg/L as CaCO3\", magnesium: \"0 mg/L\", \
         sodium: \"0 mg/L\", potassium: \"0 mg/L\", sulfate: \"0 mg/L\" ))",
    )?;
    let flight = "Flight(title: \"well\", base: [\"well\"], bottle: \"500 mL\", targets: [\n\
        Target(name: \"named\", composition: ( calcium: \"40 mg/L\", chloride: \"35.4 mg/L\", nitrate: \"0 mg/L\" )),\n\
        Target(name: \"not named\", composition: ( calcium: \"40 mg/L\", chloride: \"35.4 mg/L\" )),\n\
        Target(name: \"of the well\", composition: ( calcium: \"40 mg/L\", chloride: \"35.4 mg/L\", nitrate: \"62 mg/L\" )),\n])";
    fs::write(bench.join("flights/well.ron"), flight)?;
    let mix = json(&bench, &["mix", "well"])?;
    for (name, in_reach) in [("named", false), ("not named", false), ("of the well", true)] {
        assert_eq!(water(&mix, name)?["reached"], in_reach, "{name}");
    }
    Ok(())
}

/// A stock of which a pinned water takes a trace is left out only where no goal is missed by more without.
#[test]
fn a_trace_that_a_goal_needs_is_poured() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let targets = "Target(name: \"needs it\", tolerance: \"2 %\", composition: ( calcium: \"20 mg/L\", \
                   chloride: \"35.43 mg/L\", potassium: \"0.06 mg/L\" )),";
    flight(&bench, "trace", "", targets)?;
    let mix = json(&bench, &["mix", "trace"])?;
    assert_eq!(water(&mix, "needs it")?["reached"], true, "{mix}");
    Ok(())
}
