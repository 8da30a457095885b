//! What an analysis does not give stays unknown, from the file of a water to every report: never 0,
//! never without a word.
//!
//! Above 400 lines: each way of not knowing an amount, from its file to every report.

use std::error::Error;
use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::common::answers::{ended, json, number};
use crate::common::starter_bench;

type Fallible = Result<(), Box<dyn Error>>;

/// A drop kit, as most are: hardness, calcium, alkalinity.
const KIT: &str =
    "analysis: (hardness: \"14 °dH\", calcium: \"80 mg/L\", alkalinity: \"11.2 °dH\"),";

fn write_water(bench: &Path, name: &str, fields: &str) -> Fallible {
    let text = format!("Water(\n    name: \"{name}\",\n    {fields}\n)\n");
    Ok(fs::write(bench.join(format!("waters/{name}.ron")), text)?)
}

fn write_flight(bench: &Path, base: &str, targets: &str) -> Fallible {
    let text = format!(
        "Flight(\n    title: \"asked\",\n    base: [{base}],\n    bottle: \"1 L\",\n    targets: \
         [\n{targets}\n    ],\n)\n"
    );
    Ok(fs::write(bench.join("flights/asked.ron"), text)?)
}

/// A page without its line breaks.
fn on_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn is_null(of: &Value, path: &str) -> bool {
    of.pointer(path).is_some_and(Value::is_null)
}

fn keys(of: &Value, path: &str) -> Vec<String> {
    let list = of.pointer(path).and_then(Value::as_array).cloned().unwrap_or_default();
    list.iter().filter_map(Value::as_str).map(str::to_owned).collect()
}

#[test]
fn a_drop_kit_says_nothing_of_chloride() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    write_water(&bench, "kit", KIT)?;
    let water = json(&bench, &["water", "kit"])?;
    assert_eq!(keys(&water, "/0/not_measured"), ["Na", "K", "Cl", "SO4", "NO3", "SiO2"]);
    for key in ["Na", "K", "Cl", "SO4", "NO3", "SiO2"] {
        assert!(is_null(&water, &format!("/0/mg_per_l/{key}")), "{key}");
        assert!(is_null(&water, &format!("/0/mmol_per_l/{key}")), "{key}");
    }
    assert!((number(&water, "/0/mg_per_l/Ca")? - 80.0).abs() < 1e-9);
    assert!((number(&water, "/0/hardness_mg_per_l_caco3")? - 249.9).abs() < 0.1);
    assert!(is_null(&water, "/0/dissolved_solids_mg_per_l"));
    // Ratio and chloride are withheld, with the reason; what is known is still said.
    assert!(is_null(&water, "/0/corrosion/larson_skold/value"));
    let reason = water.pointer("/0/corrosion/larson_skold/withheld").and_then(Value::as_str);
    assert_eq!(reason, Some("chloride and sulfate were not measured"));
    assert!(is_null(&water, "/0/corrosion/chloride/value"));
    assert!((number(&water, "/0/corrosion/buffer/value")? - 199.9).abs() < 0.2);
    assert!(number(&water, "/0/reports/0/si/calcite")? > 0.5);
    assert!(is_null(&water, "/0/reports/0/si/gypsum"));
    // The test of the charges is none, and the conductivity is a wide range.
    assert_eq!(water.pointer("/0/charge_balance/passes"), Some(&false.into()));
    assert_eq!(water.pointer("/0/charge_balance/verdict"), Some(&"incomplete".into()));
    let among = "/0/charge_balance/unmeasured_anions_less_cations_meq_per_l";
    assert!((number(&water, &format!("{among}/0"))? - 0.80).abs() < 0.01);
    assert!((number(&water, &format!("{among}/1"))? - 1.20).abs() < 0.01);
    let (value, u) = (
        number(&water, "/0/reports/0/conductivity_us_per_cm")?,
        number(&water, "/0/reports/0/conductivity_uncertainty_us_per_cm")?,
    );
    assert!(u > 0.2 * value, "{value} ± {u}");
    let (status, text, _) = ended(&bench, &["water", "kit", "--full"], "")?;
    let text = on_one_line(&text);
    assert_eq!(status, 0);
    for said in ["not measured: Na, K, Cl, SO4, NO3, SiO2", "CANNOT BE TESTED", "withheld, since"] {
        assert!(text.contains(said), "{said}: {text}");
    }
    for unsaid in ["chloride 0", "ratio 0", "Cl 0"] {
        assert!(!text.contains(unsaid), "{unsaid}: {text}");
    }
    Ok(())
}

/// Cations without any anion, and the reverse, fail, also where both sums are below the limit.
#[test]
fn one_side_alone_fails_the_charge_balance() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let cations = "analysis: (calcium: \"60 mg/L\", magnesium: \"8 mg/L\", sodium: \"15 mg/L\"),";
    let anions =
        "analysis: (chloride: \"30 mg/L\", sulfate: \"40 mg/L\", bicarbonate: \"90 mg/L\"),";
    let little = "analysis: (calcium: \"1 mg/L\", magnesium: \"0.5 mg/L\", sodium: \"1 mg/L\"),";
    for (name, fields) in [("cations", cations), ("anions", anions), ("little", little)] {
        write_water(&bench, name, fields)?;
        let water = json(&bench, &["water", name])?;
        assert_eq!(water.pointer("/0/charge_balance/passes"), Some(&false.into()), "{name}");
        assert_eq!(water.pointer("/0/charge_balance/verdict"), Some(&"fails".into()), "{name}");
        let (_, text, _) = ended(&bench, &["water", name, "--full"], "")?;
        assert!(text.contains("FAILS"), "{text}");
        // pH, saturation and scale are not made up.
        assert_eq!(water.pointer("/0/reports").and_then(Value::as_array).map(Vec::len), Some(0));
        assert_eq!(water.pointer("/0/clouding/outlook"), Some(&"not_judged".into()));
        write_flight(
            &bench,
            &format!("\"{name}\""),
            &format!(
                "Target(name: \"as it is\", goals: ({}))",
                if name == "anions" { "chloride: \"30 mg/L\"" } else { "calcium: \"60 mg/L\"" }
            ),
        )?;
        let (status, text, _) = ended(&bench, &["mix", "--full", "asked"], "")?;
        assert_eq!(status, 0, "{name}");
        assert!(text.contains("FAILS the charge balance of Standard Methods 1030 E"), "{text}");
    }
    Ok(())
}

/// In a blend the unknown stays unknown by its share; what the doses bring is a lower bound; and a
/// water that took none of it is known again.
#[test]
fn the_unknown_goes_with_its_share_of_a_blend() -> Fallible {
    let (folder, bench) = starter_bench()?;
    write_water(&bench, "kit", KIT)?;
    write_flight(
        &bench,
        "\"distilled\", \"kit\"",
        "Target(name: \"half\", goals: (hardness: \"125 mg/L as CaCO3\", alkalinity: \"100 mg/L as \
         CaCO3\")),\n        Target(name: \"dosed\", goals: (calcium: \"80 mg/L\", magnesium: \"3 mg/L\", \
         alkalinity: \"50 mg/L as CaCO3\")),\n        Target(name: \"none\", goals: (calcium: \
         \"20 mg/L\", alkalinity: \"0 meq/L ± 0\")),",
    )?;
    let mix = json(&bench, &["mix", "--full", "asked"])?;
    let share = number(&mix, "/waters/0/base/1/share")?;
    assert!(share > 0.4, "{share}");
    assert!(is_null(&mix, "/waters/0/mg_per_l/Cl") && is_null(&mix, "/waters/1/mg_per_l/Cl"));
    assert!(is_null(&mix, "/waters/0/dissolved_solids_mg_per_l"));
    // Calcium chloride alone can bring this calcium: 1.77 mg of chloride for each mg of it.
    let own = number(&mix, "/waters/1/base/1/share")? * 80.0;
    let dosed = 2.0 * 35.45 / 40.078 * (number(&mix, "/waters/1/mg_per_l/Ca")? - own);
    let bound = number(&mix, "/waters/1/bounds_mg_per_l/Cl/at_least")?;
    assert!(dosed > 50.0 && (bound - dosed).abs() < 0.01, "{dosed} {bound}");
    assert!(is_null(&mix, "/waters/1/bounds_mg_per_l/Cl/at_most"));
    // What is known gives reason to a caution, whatever the rest is; a value is not made up.
    let dosed = json(&bench, &["water", "asked/dosed"])?;
    assert!(is_null(&dosed, "/0/corrosion/chloride/value"));
    let caution = dosed.pointer("/0/corrosion/chloride/caution").and_then(Value::as_str);
    assert!(caution.is_some_and(|words| words.contains("boiler")), "{caution:?}");
    let glance = "/waters/0/glance/conductivity_between_us_per_cm";
    assert!(number(&mix, &format!("{glance}/1"))? > 2.0 * number(&mix, &format!("{glance}/0"))?);
    // Nothing of the kit's water is in the third: all of it is known.
    assert!(keys(&mix, "/waters/2/not_measured").is_empty(), "{mix}");
    assert!(number(&mix, "/waters/2/mg_per_l/Cl")? > 30.0);
    // As a table: an empty cell, not a 0.
    let (_, table, _) = ended(&bench, &["export", "planned", "asked"], "")?;
    let half = table.lines().find(|line| line.starts_with("half")).ok_or("no row")?;
    assert!(half.contains(",,,,,"), "{half}");
    // A reading cannot tell what nobody knows, and says so.
    let read = json(&bench, &["read", "asked/half", "300"])?;
    assert!(number(&read, "/uncertainty")? > 0.15 * number(&read, "/expected")?);
    assert!(number(&read, "/expected_between/1")? > 500.0);
    drop(folder);
    Ok(())
}

/// What a target asks of an ion that was not measured is a mistake with its place, or an assumption
/// that is stated wherever it counts.
#[test]
fn a_goal_on_the_unmeasured_is_refused_or_stated() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let base = "\"distilled\", \"kit\"";
    for goals in [
        "goals: (hardness: \"80 mg/L as CaCO3\", chloride: \"at most 30 mg/L\")",
        "goals: (dissolved_solids: \"150 mg/L\")",
        "ratios: [(of: \"sulfate\", to: \"alkalinity\", goal: \"at most 1 meq/meq\")]",
    ] {
        write_water(&bench, "kit", KIT)?;
        let target = format!("Target(name: \"a\", {goals})");
        write_flight(&bench, base, &target)?;
        for command in
            [&["mix", "--full", "asked"][..], &["why", "a", "--flight", "asked", "--full"]]
        {
            let (status, out, error) = ended(&bench, command, "")?;
            assert_eq!((status, out.as_str()), (65, ""), "{goals}");
            for said in ["not measured", "`kit`", "asked.ron:6", "assumed: ("] {
                assert!(error.contains(said), "{said}: {error}");
            }
        }
        let assumed = "assumed: (sodium: \"9 mg/L\", potassium: \"1 mg/L\", chloride: \"14 mg/L\", \
                       sulfate: \"20 mg/L\", nitrate: \"5 mg/L\"),";
        for stated in [assumed, "not_listed: Zero,"] {
            write_water(&bench, "kit", &format!("{KIT}\n    {stated}"))?;
            let mix = json(&bench, &["mix", "--full", "asked"])?;
            let notes = mix.get("notes").map(ToString::to_string).unwrap_or_default();
            assert!(notes.contains("kit: assumed and not measured:"), "{notes}");
            assert!(notes.contains("chloride"), "{notes}");
            let used = number(&mix, "/waters/0/base/1/share").unwrap_or_default() > 0.0;
            let assumed = keys(&mix, "/waters/0/assumed");
            assert_eq!(assumed.contains(&"Cl".to_owned()), used, "{assumed:?}");
            let (_, text, _) = ended(&bench, &["water", "kit", "--full"], "")?;
            assert!(text.contains("assumed, not measured: Na, K, Cl, SO4, NO3"), "{text}");
        }
    }
    // The least sodium of a water whose sodium nobody knows is no goal either.
    write_water(&bench, "kit", KIT)?;
    write_flight(&bench, base, "Target(name: \"a\", goals: (hardness: \"80 mg/L as CaCO3\"))")?;
    let file = bench.join("flights/asked.ron");
    let text =
        fs::read_to_string(&file)?.replace("    bottle", "    prefer: LeastSodium,\n    bottle");
    fs::write(&file, text)?;
    let (status, _, error) = ended(&bench, &["mix", "--full", "asked"], "")?;
    assert_eq!(status, 65);
    assert!(error.contains("the least sodium counts sodium, which was not measured"), "{error}");
    // Commands that make targets of their own say so as well.
    write_flight(&bench, base, "Target(name: \"a\", goals: (hardness: \"80 mg/L as CaCO3\"))")?;
    let ladder =
        ["ladder", "a", "--flight", "asked", "--vary", "chloride=5..40 mg/L", "--into", "l"];
    let (status, _, error) = ended(&bench, &ladder, "")?;
    assert_eq!(status, 65, "{error}");
    assert!(error.contains("chloride, which was not measured in the base water"), "{error}");
    assert!(error.contains("nothing was written"), "{error}");
    let (status, _, error) =
        ended(&bench, &["next", "asked", "--between", "chloride=5..40 mg/L"], "")?;
    assert_eq!(status, 2, "{error}");
    assert!(error.contains("chloride was not measured"), "{error}");
    Ok(())
}

/// In a table a missing column and an empty cell are not measured, "0" is zero, "< 5" is below a
/// limit; and what is written comes back.
#[test]
fn tables_tell_absent_from_zero_and_below_a_limit() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let file = folder.path().join("analyses.csv");
    let path = file.display().to_string();
    fs::write(
        &file,
        "name;Ca [mg/L];Mg [mg/L];Cl [mg/L];SO4 [mg/L];Na [mg/L];bicarbonate [mg/L];ph;conductivity \
         [µS/cm]\none;60;8;< 5;0;n/a;190;7.6;\ntwo;60;8;assumed 12;;not measured;190;;430\n",
    )?;
    let (status, _, error) = ended(&bench, &["import", "analyses", &path], "")?;
    assert_eq!(status, 0, "{error}");
    for _ in 0..2 {
        let waters = json(&bench, &["water", "one", "two"])?;
        assert_eq!(keys(&waters, "/0/not_measured"), ["Na", "K", "NO3", "SiO2"]);
        assert!((number(&waters, "/0/mg_per_l/SO4")?).abs() < 1e-12);
        assert!((number(&waters, "/0/mg_per_l/Cl")? - 2.5).abs() < 1e-9);
        assert!(number(&waters, "/0/bounds_mg_per_l/Cl/at_least")?.abs() < 1e-9);
        assert!((number(&waters, "/0/bounds_mg_per_l/Cl/at_most")? - 5.0).abs() < 1e-9);
        assert_eq!(keys(&waters, "/1/not_measured"), ["Na", "K", "SO4", "NO3", "SiO2"]);
        assert_eq!(keys(&waters, "/1/assumed"), ["Cl"]);
        // A conductivity limits what the charges leave open.
        assert!(number(&waters, "/1/bounds_mg_per_l/Na/at_most")? < 60.0);
        assert!(is_null(&waters, "/0/bounds_mg_per_l/Na/at_most"));
        // Out and in again.
        let (_, table, _) = ended(&bench, &["export", "analyses"], "")?;
        fs::write(&file, &table)?;
        let (heads, rows) = table.split_once('\n').ok_or("no rows")?;
        let kept = rows.lines().filter(|l| l.starts_with("one") || l.starts_with("two"));
        fs::write(&file, format!("{heads}\n{}\n", kept.collect::<Vec<_>>().join("\n")))?;
        for name in ["one", "two"] {
            fs::remove_file(bench.join(format!("waters/{name}.ron")))?;
        }
        let (status, _, error) = ended(&bench, &["import", "analyses", &path], "")?;
        assert_eq!(status, 0, "{error}");
    }
    // Of a limit of detection the ± of a blend knows: 2.5 ± 2.5 mg/L, and half of that in half of it.
    write_flight(
        &bench,
        "\"distilled\", \"one\"",
        "Target(name: \"half\", goals: (hardness: \"92 mg/L as CaCO3 ± 0\", alkalinity: \"78 mg/L as \
         CaCO3 ± 0\", chloride: \"at most 40 mg/L\"))",
    )?;
    let mix = json(&bench, &["mix", "--full", "asked"])?;
    let share = number(&mix, "/waters/0/base/1/share")?;
    let expanded = number(&mix, "/spread/waters/0/mg_per_l_expanded/Cl")?;
    assert!(expanded >= share * 2.0 * 2.5 / 3.0_f64.sqrt() * 0.99, "{expanded} {share}");
    for (cell, said) in [("n.d.", "limit of detection"), ("< 5 °dH", "cannot be given in °dH")] {
        fs::write(&file, format!("name;Cl [mg/L]\nthree;{cell}\n"))?;
        let (status, _, error) = ended(&bench, &["import", "analyses", &path], "")?;
        assert_eq!(status, 65);
        assert!(error.contains(said) && error.contains(".csv:2:7"), "{error}");
    }
    Ok(())
}

/// A session keeps what was not known of its waters.
#[test]
fn sessions_keep_what_was_not_measured() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    write_water(&bench, "kit", KIT)?;
    write_flight(
        &bench,
        "\"distilled\", \"kit\"",
        "Target(name: \"low\", goals: (hardness: \"80 mg/L as CaCO3\", alkalinity: \"50 mg/L as \
         CaCO3\")),\n        Target(name: \"high\", goals: (hardness: \"150 mg/L as CaCO3\", \
         alkalinity: \"100 mg/L as CaCO3\")),",
    )?;
    let plan = ["session", "plan", "asked", "--name", "s", "--tasters", "ann, bo", "--attribute"];
    let (status, _, error) = ended(&bench, &[&plan[..], &["liking"]].concat(), "")?;
    assert_eq!(status, 0, "{error}");
    let file = fs::read_to_string(bench.join("sessions/s/waters.json"))?;
    let waters: Value = serde_json::from_str(&file)?;
    assert_eq!(waters.pointer("/format"), Some(&4.into()));
    assert!(keys(&waters, "/waters/0/not_measured").contains(&"Cl".to_owned()));
    assert!(!file.contains("\"Cl\",\n          0"), "{file}");
    let (status, _, error) =
        ended(&bench, &["session", "reveal", "s", "--force", "no one came"], "")?;
    assert_eq!(status, 0, "{error}");
    let (_, table, _) = ended(&bench, &["journal", "--csv"], "")?;
    let mut lines = table.lines();
    let heads: Vec<&str> = lines.next().ok_or("no heads")?.split(',').collect();
    let row: Vec<&str> = lines.next().ok_or("no rows")?.split(',').collect();
    let cell = |head: &str| {
        heads.iter().position(|h| *h == head).and_then(|at| row.get(at)).copied().unwrap_or("?")
    };
    assert_eq!(cell("Cl_mg_per_l"), "");
    assert!(cell("Ca_mg_per_l").parse::<f64>().is_ok_and(|ca| ca > 20.0));
    // No salts can be said to make it again, ion by ion.
    let (status, _, error) = ended(&bench, &["batch", "s/low", "--make", "20 L", "--full"], "")?;
    assert_eq!(status, 2);
    assert!(
        error.contains("cannot be matched ion by ion") && error.contains("chloride"),
        "{error}"
    );
    Ok(())
}

/// What is odd, and what contradicts itself, is said where the water is looked at and where it is
/// mixed; what is impossible is refused with its place.
#[test]
fn odd_figures_are_said_and_impossible_ones_refused() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let whole = "calcium: \"80 mg/L\", magnesium: \"10 mg/L\", sodium: \"10 mg/L\", potassium: \
                 \"1 mg/L\", chloride: \"20 mg/L\", sulfate: \"50 mg/L\", nitrate: \"5 mg/L\"";
    for (extra, said) in [
        ("alkalinity: \"180 mg/L as CaCO3\"), ph: 5.9,", "carbon dioxide of 0.27"),
        ("alkalinity: \"180 mg/L as CaCO3\"), ph: 10.8,", "as only lime or lye does"),
        ("alkalinity: \"180 mg/L as CaCO3\"), conductivity: \"900 µS/cm\",", "900 were measured"),
        ("alkalinity: \"180 mg/L as CaCO3\"), conductivity: \"250 µS/cm\",", "250 were measured"),
        ("alkalinity: \"180 mg/L as CaCO3\", dissolved_solids: \"150 mg/L\"),", "150 mg/L of"),
    ] {
        write_water(&bench, "odd", &format!("analysis: ({whole}, {extra}"))?;
        write_flight(&bench, "\"odd\"", "Target(name: \"a\", goals: (calcium: \"80 mg/L\"))")?;
        for command in [&["water", "odd", "--full"][..], &["mix", "--full", "asked"]] {
            let (status, text, error) = ended(&bench, command, "")?;
            assert_eq!(status, 0, "{extra}: {error}");
            let words = on_one_line(&text);
            assert!(words.contains(said), "{said}: {words}");
        }
    }
    // What agrees is not spoken of.
    for extra in
        ["ph: 7.4,", "conductivity: \"510 µS/cm\",", "conductivity: \"457 µS/cm at 20 °C\","]
    {
        let fields = format!("analysis: ({whole}, alkalinity: \"180 mg/L as CaCO3\"), {extra}");
        write_water(&bench, "odd", &fields)?;
        let water = json(&bench, &["water", "odd"])?;
        assert!(water.pointer("/0/doubtful").is_none(), "{extra}: {water}");
        assert_eq!(water.pointer("/0/charge_balance/verdict"), Some(&"passes".into()));
    }
    // Neither is a trace of alkalinity that was rounded away.
    write_water(
        &bench,
        "odd",
        "analysis: (calcium: \"0 mg/L\", alkalinity: \"0 mg/L as CaCO3\"), ph: 7.5,",
    )?;
    assert!(json(&bench, &["water", "odd"])?.pointer("/0/doubtful").is_none());
    let file = folder.path().join("analyses.csv");
    fs::write(&file, "name;Ca [mg/L];alkalinity [mg/L as CaCO3];ph\nspring;80;180;5\n")?;
    let (status, _, error) =
        ended(&bench, &["import", "analyses", &file.display().to_string()], "")?;
    assert_eq!(status, 65);
    for said in [".csv:2:1", "contradict each other", "carbon dioxide of 2.", "a pH of 5.4 or more"]
    {
        assert!(error.contains(said), "{said}: {error}");
    }
    Ok(())
}

/// Without alkalinity nothing is said of limescale; without sulfate or silica what is said is the least, and
/// it is no more than what either closing of the charges by one anion gives.
#[test]
fn limescale_is_the_least_where_its_ions_were_not_measured() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let all = "calcium: \"80 mg/L\", magnesium: \"10 mg/L\", sodium: \"5 mg/L\"";
    let rest = "potassium: \"0 mg/L\", nitrate: \"0 mg/L\", silica: \"0 mg/L\"";
    let soft = "calcium: \"0 mg/L\", magnesium: \"0 mg/L\", sodium: \"13 mg/L\", potassium: \"0 mg/L\", \
                nitrate: \"0 mg/L\", sulfate: \"0 mg/L\", chloride: \"20 mg/L\", alkalinity: \"0 meq/L\"";
    for (name, amounts) in [
        ("no alkalinity", format!("{all}, {rest}, chloride: \"20 mg/L\"")),
        ("open", format!("{all}, alkalinity: \"1 meq/L\"")),
        (
            "chlorides",
            format!(
                "{all}, {rest}, alkalinity: \"1 meq/L\", chloride: \"143 mg/L\", sulfate: \"0 mg/L\""
            ),
        ),
        (
            "sulfates",
            format!(
                "{all}, {rest}, alkalinity: \"1 meq/L\", chloride: \"0 mg/L\", sulfate: \"193 mg/L\""
            ),
        ),
        ("no silica", soft.to_owned()),
    ] {
        write_water(&bench, name, &format!("analysis: ({amounts}),"))?;
    }
    let of = |name: &str| json(&bench, &["water", name]);
    let bare = of("no alkalinity")?;
    for boiler in 0..2 {
        assert!(is_null(&bare, &format!("/0/machine/limescale/{boiler}/g_a_year")), "{bare}");
    }
    // Chloride stays in solution, so that it is known at the cycles of the boiler whatever precipitates.
    assert!((number(&bare, "/0/corrosion/boiler_chloride/value")? - 200.0).abs() < 1e-6);
    let open = of("open")?;
    let since = open.pointer("/0/steam/0/scale_least_since").and_then(Value::as_str);
    assert_eq!(since, Some("sulfate and silica were not measured"));
    let least = number(&open, "/0/steam/0/scale_between_g_per_1000_l/0")?;
    for closed in ["chlorides", "sulfates"] {
        let water = of(closed)?;
        let between = number(&water, "/0/steam/0/scale_between_g_per_1000_l/0")?;
        assert!(least < between + 1.0, "{closed}: {least} and {between}");
        assert!(water.pointer("/0/steam/0/scale_least_since").is_none());
    }
    let (_, text, _) = ended(&bench, &["water", "no silica", "--full"], "")?;
    let text = on_one_line(&text);
    let said =
        "steam boiler, 2 L a day: how much limescale is not known, since silica was not measured";
    assert!(text.contains(said), "{text}");
    Ok(())
}

/// What is said of the limescale of a water holds whatever was not measured of it: with most sulfate and
/// least salt, and with magnesium whose brucite takes the place of calcite.
#[test]
fn limescale_holds_whatever_was_not_measured() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let hard = "calcium: \"64.6 mg/L\", magnesium: \"2.47 mg/L\", nitrate: \"0 mg/L\", silica: \"4.6 \
                mg/L\", bicarbonate: \"108.3 mg/L\"";
    let salty = "calcium: \"25.44 mg/L\", sodium: \"14.87 mg/L\", potassium: \"0.6 mg/L\", sulfate: \
                 \"44.36 mg/L\", nitrate: \"0 mg/L\", silica: \"19.87 mg/L\", chloride: \"76.7 mg/L\", \
                 bicarbonate: \"49.9 mg/L\"";
    for (name, amounts) in [
        ("limits", format!("{hard}, potassium: \"< 7.3 mg/L\", sulfate: \"< 52.8 mg/L\"")),
        (
            "sulfates",
            format!(
                "{hard}, potassium: \"2.4 mg/L\", sulfate: \"48 mg/L\", sodium: \"26.6 mg/L\", \
                 chloride: \"66.3 mg/L\""
            ),
        ),
        ("no magnesium", salty.to_owned()),
        ("magnesium", format!("{salty}, magnesium: \"23.98 mg/L\"")),
    ] {
        write_water(&bench, name, &format!("analysis: ({amounts}),"))?;
    }
    for (open, whole) in [("limits", "sulfates"), ("no magnesium", "magnesium")] {
        let [open, whole] = [open, whole].map(|name| json(&bench, &["water", name]));
        let (open, whole) = (open?, whole?);
        for state in ["/0/steam/0", "/0/steam/1", "/0/reports/3", "/0/reports/5"] {
            let end = |water: &Value, end: usize| {
                number(water, &format!("{state}/scale_between_g_per_1000_l/{end}"))
            };
            let least = end(&open, 0)?;
            assert!(least <= end(&whole, 0)? + 0.5, "{state}: at least {least}");
            if open.pointer(&format!("{state}/scale_least_since")).is_none() {
                let most = end(&open, 1)?;
                assert!(most >= end(&whole, 1)? - 0.5, "{state}: at most {most}");
            }
        }
    }
    Ok(())
}

/// The charges of an analysis and the limits of a machine are judged over all that a limit of detection
/// leaves open.
#[test]
fn a_limit_of_detection_leaves_verdicts_open() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    write_water(
        &bench,
        "below",
        "analysis: (hardness: \"4 °dH\", calcium: \"< 25 mg/L\", sodium: \"15 mg/L\", potassium: \"1 \
         mg/L\", nitrate: \"0 mg/L\", alkalinity: \"1.2 meq/L\", chloride: \"< 60 mg/L\", sulfate: \"< \
         25 mg/L\"),",
    )?;
    let water = json(&bench, &["water", "below"])?;
    assert_eq!(water.pointer("/0/charge_balance/verdict"), Some(&"incomplete".into()));
    // 4 °dH are 17.34 mg/L of magnesium; 25 mg/L of calcium leave 2.18.
    assert!((number(&water, "/0/bounds_mg_per_l/Mg/at_least")? - 2.18).abs() < 0.02);
    assert!((number(&water, "/0/bounds_mg_per_l/Mg/at_most")? - 17.34).abs() < 0.02);
    let limits = water.pointer("/0/machine/limits").and_then(Value::as_array);
    let of = |key: &str| {
        let limit = limits?.iter().find(|limit| limit.get("limit") == Some(&key.into()))?;
        limit.get("verdict")?.as_str()
    };
    // The starter's machine takes at most 50 mg/L of chloride, and a hardness that is known.
    assert_eq!([of("chloride"), of("hardness")], [Some("not_known"), Some("within")]);
    Ok(())
}
