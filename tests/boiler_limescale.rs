//! Limescale in hot boilers against PHREEQC, all minerals together, over random waters.
//!
//! `oracle/boiler_limescale.csv` is made by `oracle/boiler_limescale.py` with IPHREEQC 3.8.6; see
//! `oracle/README.md`.

use std::collections::HashMap;
use std::error::Error;

use waterflight::assessment::{BoilerSettings, Lab, State};
use waterflight::chemistry::{Aqueous, Carbon, Composition, Conserved, Mineral};
use waterflight::quantities::Celsius;

use crate::common::tables::mineral_water;

type Fallible = Result<(), Box<dyn Error>>;

const MINERALS: [Mineral; 5] = [
    Mineral::Calcite,
    Mineral::Gypsum,
    Mineral::Anhydrite,
    Mineral::Brucite,
    Mineral::AmorphousSilica,
];

struct Case {
    id: String,
    celsius: f64,
    state: State,
    cycles: f64,
    water: Composition,
    ph: f64,
    /// mmol per kg of the concentrated water.
    minerals: [f64; 5],
    g_per_1000_l: f64,
}

fn cases() -> Result<Vec<Case>, Box<dyn Error>> {
    let mut lines = include_str!("oracle/boiler_limescale.csv").lines();
    let head: Vec<&str> = lines.next().ok_or("empty")?.split(',').collect();
    let mut cases = Vec::new();
    for line in lines {
        let row: HashMap<&str, &str> = head.iter().copied().zip(line.split(',')).collect();
        let text = |column: &str| row.get(column).copied().ok_or(format!("no column {column}"));
        let number =
            |column: &str| -> Result<f64, Box<dyn Error>> { Ok(text(column)?.parse::<f64>()?) };
        let water = mineral_water(number)?;
        let mut minerals = [0.0; 5];
        for (amount, mineral) in minerals.iter_mut().zip(MINERALS) {
            *amount = number(mineral.key())?;
        }
        cases.push(Case {
            id: line.split(',').take(4).collect::<Vec<_>>().join(" "),
            celsius: number("celsius")?,
            state: if text("state")? == "closed" { State::Closed } else { State::Degassed },
            cycles: number("cycles")?,
            water,
            ph: number("ph")?,
            minerals,
            g_per_1000_l: number("scale_g_per_1000_l")?,
        });
    }
    Ok(cases)
}

/// Each mineral to 1 % or 0.01 mmol/kg: the same constants are on both sides, and what is left is
/// the pressure term of the other program above 100 °C.
#[test]
fn each_mineral_agrees_with_phreeqc() -> Fallible {
    let mut misses = Vec::new();
    let (mut found, mut sets) = (0, Vec::new());
    for case in cases()? {
        let at = Aqueous::at(Celsius::new(case.celsius))?;
        let carbon = if case.state == State::Closed { Carbon::Closed } else { Carbon::AIR };
        let got = at.precipitate(&(case.water * case.cycles), carbon, &MINERALS)?;
        for (mineral, want) in MINERALS.into_iter().zip(case.minerals) {
            let amount = got.mmol_per_kg(mineral);
            if (amount - want).abs() > 0.01 + 0.01 * want {
                misses.push(format!("{} {}: {amount} for {want}", case.id, mineral.key()));
            }
        }
        // Without alkalinity a pH hangs on the last digits of the charge balance.
        let is_buffered = case.water.mmol_per_l(Conserved::Alkalinity) > 0.0;
        if is_buffered && (got.rest.ph() - case.ph).abs() > 0.02 {
            misses.push(format!("{} pH: {} for {}", case.id, got.rest.ph(), case.ph));
        }
        found += 1;
        sets.push(MINERALS.map(|m| got.mmol_per_kg(m) > 0.0));
    }
    sets.sort_unstable();
    sets.dedup();
    assert!(found == 960 && sets.len() >= 8, "{found} {sets:?}");
    assert!(misses.is_empty(), "{}", misses.join("\n"));
    Ok(())
}

/// What the report of a water says of its boilers: grams of everything, and of what.
#[test]
fn reported_grams_agree_with_phreeqc() -> Fallible {
    let lab = Lab::new(BoilerSettings::default())?;
    let mut misses = Vec::new();
    let mut more_than_calcite = 0;
    for case in cases()? {
        let is_steam = case.celsius > 100.0;
        let report = lab.water_report(&case.id, &case.water)?;
        let of_state = report
            .reports
            .iter()
            .find(|r| r.state == case.state && (r.celsius - case.celsius).abs() < 1e-9);
        let of_steam = report.steam.iter().find(|s| s.state == case.state);
        let got = if case.cycles < 2.0 {
            of_state.map(|r| (r.scale_g_per_1000_l, r.precipitates_g_per_1000_l.total()))
        } else if is_steam {
            let steam = of_steam.ok_or("no steam boiler")?;
            steam.scale_g_per_1000_l.zip(steam.precipitates_g_per_1000_l.map(|p| p.total()))
        } else {
            continue;
        };
        let (grams, of_minerals) = got.ok_or("no figure")?;
        let want = case.g_per_1000_l;
        if (grams - want).abs() > 0.5 + 0.01 * want || (grams - of_minerals).abs() > 1e-9 {
            misses.push(format!("{}: {grams} g of {of_minerals} for {want}", case.id));
        }
        let [calcite, ..] = case.minerals;
        more_than_calcite += usize::from(case.cycles < 2.0 && want > 1.2 * 100.09 * calcite + 5.0);
    }
    assert!(misses.is_empty(), "{}", misses.join("\n"));
    // The table is worth its name only if other minerals matter.
    assert!(more_than_calcite > 60, "{more_than_calcite}");
    Ok(())
}
