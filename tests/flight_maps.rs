//! The map of a flight: what is published of its measures, and the limits of limescale and corrosion,
//! against waters planned one by one at places of the map.

use std::error::Error;
use std::fs;

use serde_json::Value;

use crate::common::answers::number;
use crate::common::pages::{json, run};
use crate::common::starter_bench;

type Fallible = Result<(), Box<dyn Error>>;

/// Masses of CIAAW 2021, g/mol.
const CHLORIDE: f64 = 35.45;
const SULFATE: f64 = 32.06 + 4.0 * 15.999;
const BICARBONATE: f64 = 1.008 + 12.011 + 3.0 * 15.999;

#[test]
fn published_ranges_of_hardness_stand_on_the_map_with_their_source() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let path = folder.path().join("map.svg");
    let target = path.to_str().ok_or("a path that is no text")?;
    let report = json(&bench, &["mix", "--svg", target])?;
    let published = report.pointer("/map/published").and_then(Value::as_array).ok_or("none")?;
    let of =
        |measure: &str| published.iter().find(|p| p.get("measure").is_some_and(|m| m == measure));
    let hardness = of("hardness").ok_or("nothing of hardness")?;
    // "Above about 200 mg/l can result in scale deposition"; "less than about 100 mg/l ... more corrosive".
    let range = (number(hardness, "/at_least")?, number(hardness, "/at_most")?);
    assert!((range.0 - 100.0).abs() < 1e-9 && (range.1 - 200.0).abs() < 1e-9, "{range:?}");
    assert!(of("alkalinity").is_some());
    let picture = fs::read_to_string(&path)?;
    let words: String = picture
        .split('<')
        .filter_map(|piece| piece.split_once('>').map(|(_, text)| text))
        .filter(|text| !text.trim().is_empty())
        .collect::<Vec<_>>()
        .join(" ");
    for (measure, range) in
        [("hardness", hardness), ("alkalinity", of("alkalinity").ok_or("none")?)]
    {
        let source = range.get("source").and_then(Value::as_str).ok_or("no source")?;
        let first = source.split(',').next().ok_or("no source")?;
        assert!(words.contains(&format!("{measure}: {first}")), "no source of {measure}");
    }
    for label in ["L–S 0.8", "L–S 1.2", "Cl 80", "index 0"] {
        assert!(words.contains(label), "no line {label}");
    }
    // No text of the map lies over its edge, and each limit says where it comes from.
    assert!(words.contains("Larson &amp; Skold 1958") && words.contains("Nickel Institute"));
    Ok(())
}

/// At places of the grid the same water is planned by itself, with nothing but its place as a goal; its
/// composition gives the ratio and the chloride by hand, and `water` its calcite index and limescale.
#[test]
fn the_grid_of_a_map_holds_what_waters_planned_there_hold() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let path = folder.path().join("map.svg");
    let target = path.to_str().ok_or("a path that is no text")?;
    let report = json(&bench, &["mix", "--svg", target])?;
    let grid = report.pointer("/map/limescale").ok_or("no grid")?;
    let flight = bench.join("flights/first-flight.ron");
    let text = fs::read_to_string(&flight)?;
    let (head, _) = text.split_once("targets: [").ok_or("no targets")?;
    let places = [(3, 2), (7, 4), (7, 9), (11, 6), (13, 12)];
    let mut targets = String::new();
    for (n, (i, j)) in places.iter().enumerate() {
        let at = |list: &str, k: usize| number(grid, &format!("/{list}/{k}"));
        let goal = |at: f64| format!("{at} ± 0.02 mg/L as CaCO3");
        targets.push_str(&format!(
            "Target(name: \"place {n}\", goals: (hardness: \"{}\", alkalinity: \"{}\")),",
            goal(at("columns", *i)?),
            goal(at("rows", *j)?)
        ));
    }
    fs::write(&flight, format!("{head}targets: [{targets}])\n"))?;
    let mix = json(&bench, &["mix"])?;
    for (n, (i, j)) in places.iter().enumerate() {
        let of_grid = |list: &str| number(grid, &format!("/{list}/{j}/{i}"));
        let mg = |ion: &str| number(&mix, &format!("/waters/{n}/mg_per_l/{ion}")).unwrap_or(0.0);
        let ratio = (mg("Cl") / CHLORIDE + 2.0 * mg("SO4") / SULFATE) / (mg("HCO3") / BICARBONATE);
        let near = |what: &str, got: f64, want: f64, within: f64| {
            assert!((got - want).abs() <= within, "place {n}, {what}: {got} for {want}");
        };
        near("ratio", of_grid("larson_skold")?, ratio, 0.01 * ratio);
        near("chloride", of_grid("chloride_mg_per_l")?, mg("Cl"), 0.1 + 0.005 * mg("Cl"));
        let water = json(&bench, &["water", &format!("place {n}")])?;
        let brew = number(grid, "/celsius")?;
        let reports = water.pointer("/0/reports").and_then(Value::as_array).ok_or("no reports")?;
        let state = |state: &str| {
            reports.iter().find(|r| {
                r.get("state").is_some_and(|s| s == state)
                    && number(r, "/celsius").is_ok_and(|c| (c - brew).abs() < 1e-9)
            })
        };
        let closed = state("closed").ok_or("no closed brew boiler")?;
        let degassed = state("degassed").ok_or("no degassed brew boiler")?;
        near("index", of_grid("calcite_index")?, number(closed, "/si/calcite")?, 0.01);
        let grams = number(degassed, "/scale_g_per_1000_l")?;
        near("limescale", of_grid("g_per_1000_l")?, grams, 0.2 + 0.01 * grams);
    }
    Ok(())
}

/// A surface over scores that follow no slope is drawn flat: one shade for more and less, no contours.
#[test]
fn a_surface_without_a_slope_is_drawn_flat() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let mut plan = vec![
        "session",
        "plan",
        "first-flight",
        "--name",
        "level",
        "--tasters",
        "ann, bo, cy, di, ed, fay, gus, hal, ida",
    ];
    for water in ["soft", "middle", "hard", "sulfate side", "chloride side"] {
        plan.extend(["--water", water]);
    }
    plan.extend(["--attribute", "liking", "--seed", "rehearsal"]);
    run(&bench, &plan)?;
    let text = fs::read_to_string(bench.join("sessions/level/plan.json"))?;
    let planned: Value = serde_json::from_str(&text)?;
    let trays = planned.pointer("/trays").and_then(Value::as_array).ok_or("no trays")?;
    // Codes are the same for every taster: in turn each water is given 4, 5 and 6, three times each.
    let mut codes: Vec<String> = Vec::new();
    for (n, tray) in trays.iter().enumerate() {
        let taster = tray.get("taster").and_then(Value::as_str).ok_or("no taster")?;
        for cup in tray.get("cups").and_then(Value::as_array).into_iter().flatten() {
            let code = cup.as_str().map_or_else(|| cup.to_string(), str::to_owned);
            let known = codes.iter().position(|c| *c == code);
            let place = known.unwrap_or_else(|| {
                codes.push(code.clone());
                codes.len() - 1
            });
            let liking = (4 + (n + place) % 3).to_string();
            run(&bench, &["session", "score", "level", taster, &code, &liking])?;
        }
    }
    run(&bench, &["session", "reveal", "level"])?;
    let path = folder.path().join("next.svg");
    let target = path.to_str().ok_or("a path that is no text")?;
    let command = ["next", "first-flight", "--over", "hardness,alkalinity", "--waters", "2"];
    let drawn: Vec<&str> = command.into_iter().chain(["--svg", target]).collect();
    let report = json(&bench, &drawn)?;
    let verdict = report.pointer("/next/verdict").and_then(Value::as_str);
    assert_eq!(verdict, Some("flat"), "the scores follow a slope");
    let picture = fs::read_to_string(&path)?;
    assert!(picture.contains("the scores follow no slope"), "{picture}");
    assert!(!picture.contains("class=\"scale\""), "a flat surface has contours");
    Ok(())
}
