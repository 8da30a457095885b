//! Limescale over the temperature against PHREEQC, and the picture of it against the JSON.
//!
//! `oracle/limescale_curves.csv` is made by `oracle/limescale_curves.py` with IPHREEQC 3.8.6; see
//! `oracle/README.md`.

use std::collections::BTreeMap;
use std::error::Error;

use serde_json::Value;
use waterflight::assessment::{BoilerSettings, Lab};
use waterflight::chemistry::{Composition, Conserved};

use crate::common::pages::json;
use crate::common::starter_bench;

type Fallible = Result<(), Box<dyn Error>>;

/// A water with what it precipitates: °C, grams per 1,000 L closed and degassed.
type Case = (Composition, Vec<[f64; 3]>);

fn cases() -> Result<BTreeMap<String, Case>, Box<dyn Error>> {
    let mut cases: BTreeMap<String, Case> = BTreeMap::new();
    let mut lines = include_str!("oracle/limescale_curves.csv").lines();
    let head: Vec<&str> = lines.next().ok_or("empty")?.split(',').collect();
    for line in lines {
        let row: BTreeMap<&str, &str> = head.iter().copied().zip(line.split(',')).collect();
        let number = |column: &str| -> Result<f64, Box<dyn Error>> {
            Ok(row.get(column).ok_or(format!("no column {column}"))?.parse()?)
        };
        let mut water = Composition::PURE_WATER;
        for total in Conserved::ALL {
            let column = match total {
                Conserved::Alkalinity => "Alkalinity",
                Conserved::Lactate | Conserved::Citrate => continue,
                other => other.key(),
            };
            water.set_mmol_per_l(total, number(column)?);
        }
        let id = (*row.get("id").ok_or("no id")?).to_owned();
        let (_, points) = cases.entry(id).or_insert((water, Vec::new()));
        let of = ["celsius", "closed_g_per_1000_l", "degassed_g_per_1000_l"].map(number);
        let [celsius, closed, degassed] = of;
        points.push([celsius?, closed?, degassed?]);
    }
    Ok(cases)
}

/// To 1 % or half a gram, as the boilers are: the other program has a pressure term above 100 °C.
#[test]
fn the_course_of_limescale_is_that_of_phreeqc() -> Fallible {
    let lab = Lab::new(BoilerSettings::default())?;
    let (mut compared, mut scaling) = (0, 0);
    for (id, (water, points)) in cases()? {
        let curve = lab.limescale_curve(&id, &water)?.ok_or("no course")?;
        for [celsius, closed, degassed] in points {
            let here = curve.points.iter().find(|p| (p.celsius - celsius).abs() < 1e-9);
            let here = here.ok_or(format!("no point at {celsius} °C"))?;
            for (got, want) in
                [(here.closed_g_per_1000_l, closed), (here.degassed_g_per_1000_l, degassed)]
            {
                let near = (got - want).abs() <= 0.5 + 0.01 * want;
                assert!(near, "{id} at {celsius} °C: {got} for {want}");
                compared += 1;
                scaling += usize::from(want > 5.0);
            }
        }
    }
    assert!(compared == 360 && scaling > 100, "{compared} {scaling}");
    Ok(())
}

/// The numbers of the picture are in the JSON of the command that draws it, and not without one.
#[test]
fn the_picture_has_the_numbers_of_the_json() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let path = folder.path().join("limescale.svg");
    let target = path.to_str().ok_or("a path that is no text")?;
    let drawn = ["water", "middle", "--picture", "limescale", "--svg", target];
    let report = json(&bench, &drawn)?;
    let points = report.pointer("/0/limescale_curve/points").and_then(Value::as_array);
    let points = points.ok_or("no course in the JSON")?;
    assert_eq!(points.len(), 23);
    let text = std::fs::read_to_string(&path)?;
    for point in points {
        let number = |key: &str| point.get(key).and_then(Value::as_f64).ok_or("no number");
        let celsius = number("celsius")?;
        for key in ["closed_g_per_1000_l", "degassed_g_per_1000_l"] {
            let grams = number(key)?;
            // Three figures stand in the description.
            let found = text.split([':', ',']).filter_map(|part| part.split_once(" at ")).any(
                |(shown, at)| {
                    let at = at.split(|c: char| !c.is_ascii_digit()).next();
                    let shown: Option<f64> = shown.trim().parse().ok();
                    at.and_then(|at| at.parse().ok()) == Some(celsius)
                        && shown.is_some_and(|s| (s - grams).abs() <= 0.005 * grams + 1e-9)
                },
            );
            assert!(found, "{key} at {celsius} °C: {grams} is not in the picture");
        }
    }
    assert!(json(&bench, &["water", "middle"])?.pointer("/0/limescale_curve").is_none());
    Ok(())
}
