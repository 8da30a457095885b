//! How fast waters are computed, against PHREEQC on the same table in the same run.
//!
//! `cargo bench --bench water_speed`: every state of `tests/oracle/waters_phreeqc.csv` with pH, ionic
//! strength, conductivity, saturation indices and CCPP. PHREEQC runs through its Python binding
//! (`tests/oracle/waters_phreeqc_times.py`, needs `pip install phreeqc`), the whole table as one input;
//! without it only this program's own times are printed. Constants are made once per temperature and
//! databases loaded once, both off the clock.
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::error::Error;
use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

use serde_json::Value;
use waterflight::assessment::{BoilerSettings, Lab};
use waterflight::chemistry::{Aqueous, Carbon, Composition, Conductor, Conserved};
use waterflight::quantities::Celsius;

/// Passes over the table, of which the fastest counts.
const PASSES: usize = 50;

/// A state of a water, with the place of its temperature in the list.
struct State {
    water: Composition,
    carbon: Carbon,
    temperature: usize,
}

struct Table {
    states: Vec<State>,
    celsius: Vec<f64>,
    waters: Vec<Composition>,
}

fn table() -> Result<Table, Box<dyn Error>> {
    let mut table = Table { states: Vec::new(), celsius: Vec::new(), waters: Vec::new() };
    let mut names = Vec::new();
    for line in include_str!("../tests/oracle/waters_phreeqc.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let [name, state, celsius, rest @ ..] = cells.as_slice() else {
            return Err("a line is short".into());
        };
        let mut water = Composition::PURE_WATER;
        for (total, cell) in Conserved::ALL.into_iter().zip(rest) {
            water.set_mmol_per_l(total, cell.parse()?);
        }
        let celsius: f64 = celsius.parse()?;
        let known = table.celsius.iter().position(|t| (t - celsius).abs() < 1e-9);
        let temperature = known.unwrap_or_else(|| {
            table.celsius.push(celsius);
            table.celsius.len() - 1
        });
        let carbon = if *state == "open" { Carbon::AIR } else { Carbon::Closed };
        table.states.push(State { water, carbon, temperature });
        if !names.contains(&(*name).to_owned()) {
            names.push((*name).to_owned());
            table.waters.push(water);
        }
    }
    Ok(table)
}

/// Computes every state; returns the sum of pH, which PHREEQC's must match.
fn all_states(table: &Table, constants: &[(Aqueous, Conductor)]) -> Result<f64, Box<dyn Error>> {
    let mut sum = 0.0;
    for state in &table.states {
        let (aqueous, conductor) = constants.get(state.temperature).ok_or("no constants")?;
        let species = aqueous.speciate(&state.water, state.carbon)?;
        sum += species.ph();
        black_box(species.ionic_strength_mol_per_kg());
        black_box(species.saturation());
        black_box(conductor.conductivity(&species));
        black_box(species.ccpp()?);
    }
    Ok(sum)
}

/// The fastest of some passes, in seconds.
fn fastest<T>(mut work: impl FnMut() -> Result<T, Box<dyn Error>>) -> Result<f64, Box<dyn Error>> {
    let mut best = f64::INFINITY;
    for _ in 0..PASSES {
        let start = Instant::now();
        black_box(work()?);
        best = best.min(start.elapsed().as_secs_f64());
    }
    Ok(best)
}

/// What the other engine takes, or why that is not known.
fn phreeqc() -> Result<Value, String> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/oracle/waters_phreeqc_times.py");
    let run = Command::new("python3").arg(script).output().map_err(|e| format!("python3: {e}"))?;
    if !run.status.success() {
        let words = String::from_utf8_lossy(&run.stderr);
        return Err(words.lines().last().unwrap_or("it failed without a word").to_owned());
    }
    serde_json::from_slice(&run.stdout).map_err(|e| e.to_string())
}

fn main() -> Result<(), Box<dyn Error>> {
    let table = table()?;
    let constants = table
        .celsius
        .iter()
        .map(|celsius| {
            let aqueous = Aqueous::at(Celsius::new(*celsius))?;
            let conductor = Conductor::at(&aqueous);
            Ok((aqueous, conductor))
        })
        .collect::<Result<Vec<_>, Box<dyn Error>>>()?;
    let states = f64::from(u32::try_from(table.states.len())?);
    let waters = f64::from(u32::try_from(table.waters.len())?);
    let sum = all_states(&table, &constants)?;
    // Half of the passes before the other engine and half after, so that neither has the quieter
    // machine to itself.
    let before = fastest(|| all_states(&table, &constants))?;
    let other = phreeqc();
    let seconds = before.min(fastest(|| all_states(&table, &constants))?);
    println!("{waters} waters, {states} states: pH, ionic strength, conductivity, indices, CCPP");
    println!("waterflight       {:8.2} µs per state", 1e6 * seconds / states);
    println!(
        "waterflight       {:8.2} µs per water, {:.0} waters per second",
        1e6 * seconds / waters,
        waters / seconds
    );
    match other {
        Ok(found) => {
            let number = |key: &str| found.get(key).and_then(Value::as_f64).ok_or("no number");
            let (theirs, theirs_sum) = (number("seconds_per_state")?, number("ph_sum")?);
            let engine = found.get("engine").and_then(Value::as_str).unwrap_or("PHREEQC");
            println!("{engine:17} {:8.2} µs per state", 1e6 * theirs);
            println!(
                "{engine:17} {:8.2} µs per water, {:.0} waters per second",
                1e6 * theirs * states / waters,
                waters / (theirs * states)
            );
            println!("ratio             {:8.0} (goal: 100)", theirs * states / seconds);
            println!("mean difference in pH {:.1e}", (sum - theirs_sum).abs() / states);
        }
        Err(why) => println!("PHREEQC was not timed: {why}"),
    }
    let lab = Lab::new(BoilerSettings::default())?;
    let report = fastest(|| {
        for water in &table.waters {
            // The strongest waters cannot be concentrated in a boiler; they count all the same.
            black_box(lab.water_report("timed", water).ok());
        }
        Ok(())
    })?;
    println!("a whole report    {:8.2} µs per water", 1e6 * report / waters);
    Ok(())
}
