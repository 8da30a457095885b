//! How fast flights are planned, against HiGHS on the same rows in the same run.
//!
//! `cargo bench --bench planner_speed [-- COUNT]`: a flight of COUNT targets (10,000 unless
//! given) on 12 stocks, all stages. HiGHS runs through its own Python interface
//! (`tests/oracle/lp_highs_times.py`, needs `pip install highspy numpy`); without it only the
//! planner's own times are printed.
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::error::Error;
use std::hint::black_box;
use std::io::Write;
use std::process::Command;
use std::time::Instant;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha20Rng;
use serde_json::{Value, json};
use waterflight::bench::built_in_salts;
use waterflight::flight::{
    BaseShare, Convention, DoseLimits, Flight, Goal, MissRule, Preference, Target,
};
use waterflight::planner::explain::Explainer;
use waterflight::planner::lp::program::{PourableColumns, push_rows};
use waterflight::planner::lp::stages::Planner;
use waterflight::planner::plan::priorities_of;
use waterflight::planner::{Plan, plan_flight};
use waterflight::quantities::{Celsius, Fraction, Grams, Litres};
use waterflight::stock::{Lot, Making, Recipe, Stock};
use waterflight::water::{BaseWater, Measure};

/// Salts of the twelve stocks, with the grams that make a kilogram of stock.
const STOCKS: [(&str, f64); 12] = [
    ("CaCl2·2H2O", 30.0),
    ("CaSO4·2H2O", 1.8),
    ("MgSO4·7H2O", 40.0),
    ("MgCl2·6H2O", 35.0),
    ("NaHCO3", 30.0),
    ("KHCO3", 40.0),
    ("NaCl", 20.0),
    ("KCl", 25.0),
    ("Na2SO4", 24.0),
    ("K2SO4", 30.0),
    ("Na2CO3", 18.0),
    ("K2CO3", 24.0),
];

/// Measures of the goals; each target goals for all of them.
const MEASURES: [(Measure, f64); 7] = [
    (Measure::Calcium, 60.0),
    (Measure::Magnesium, 30.0),
    (Measure::Sodium, 40.0),
    (Measure::Potassium, 30.0),
    (Measure::Chloride, 80.0),
    (Measure::Sulfate, 90.0),
    (Measure::Bicarbonate, 120.0),
];

fn stocks() -> Result<Vec<Stock>, Box<dyn Error>> {
    let salts = built_in_salts()?;
    STOCKS
        .iter()
        .map(|(formula, grams)| {
            let salt = salts.iter().find(|s| s.formula.to_string() == *formula);
            let recipe = Recipe {
                name: (*formula).to_owned(),
                salt: salt.ok_or("a salt is missing")?.clone(),
                lot: Lot::default(),
                making: Making::ToTotalMass { salt: Grams::new(*grams), total: Grams::new(1000.0) },
                temperature: Celsius::new(25.0),
            };
            Ok(Stock::new(recipe)?)
        })
        .collect()
}

/// Random targets; half of them ask for more cations than anions or the reverse.
fn flight(count: usize) -> Result<Flight, Box<dyn Error>> {
    let mut random = ChaCha20Rng::seed_from_u64(20_240_501);
    let targets = (0..count)
        .map(|n| {
            let goals = MEASURES
                .iter()
                .map(|(measure, most)| {
                    let priorities = random.random_range(0.0..*most);
                    let text = if random.random_bool(0.2) {
                        format!("at most {priorities:.3} mg/L")
                    } else {
                        format!("{priorities:.3} mg/L")
                    };
                    Goal::parse(*measure, &text)
                })
                .collect::<Result<Vec<_>, _>>()?;
            Ok(Target { name: format!("target {n}"), goals })
        })
        .collect::<Result<Vec<_>, Box<dyn Error>>>()?;
    Ok(flight_of(targets))
}

/// A map: waters side by side over two of the measures, the others the same for all, row by row.
fn map(count: usize) -> Result<Flight, Box<dyn Error>> {
    let side = u32::try_from(count.isqrt())?;
    let place = |n: u32, most: f64| most * f64::from(n) / f64::from(side);
    let targets = (0..side * side)
        .map(|n| {
            let goals = MEASURES
                .iter()
                .map(|(measure, most)| {
                    let wanted = match measure {
                        Measure::Calcium => place(n % side, *most),
                        Measure::Bicarbonate => place(n / side, *most),
                        _ => most / 4.0,
                    };
                    Goal::parse(*measure, &format!("{wanted:.3} mg/L"))
                })
                .collect::<Result<Vec<_>, _>>()?;
            Ok(Target { name: format!("target {n}"), goals })
        })
        .collect::<Result<Vec<_>, Box<dyn Error>>>()?;
    Ok(flight_of(targets))
}

fn flight_of(targets: Vec<Target>) -> Flight {
    Flight {
        title: "benchmark".to_owned(),
        base: vec![BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) }],
        bottle: Litres::new(0.5),
        convention: Convention::MadeUpToALitre,
        misses: MissRule::Sum,
        preference: Preference::LeastVolume,
        limits: DoseLimits::default(),
        targets,
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let count = std::env::args().find_map(|a| a.parse().ok()).unwrap_or(10_000);
    let stocks = stocks()?;
    let mut own = 0.0;
    println!("planner, {} stocks, all stages, model building and recheck included", stocks.len());
    for threads in [1, 2] {
        for n in [1, 100, count] {
            let flight = flight(n)?;
            let us = micros_per_target(&flight, &stocks, threads)?;
            println!("  {threads} core(s), {n:>6} targets: {us:8.2} µs per target");
            if threads == 1 {
                own = us;
            }
        }
    }
    let flight = flight(count)?;
    let plans = plan_flight(&flight, &stocks)?;
    let mut explainer = Explainer::new(&flight, &stocks);
    let beyond: Vec<&Target> =
        flight.targets.iter().zip(&plans).filter(|(_, p)| !p.reached()).map(|(t, _)| t).collect();
    let start = Instant::now();
    for target in &beyond {
        black_box(explainer.conflicting_goals(target)?);
        black_box(explainer.hints(target)?);
    }
    let us = start.elapsed().as_secs_f64() * 1e6 / f64::from(u32::try_from(beyond.len().max(1))?);
    println!(
        "  {} out of reach: {us:.1} µs more for the goals that conflict and the hints",
        beyond.len()
    );
    beside_highs(&flight, &stocks, own)?;
    let map = map(count)?;
    let own = micros_per_target(&map, &stocks, 1)?;
    println!(
        "a map of {} waters side by side: {own:.2} µs per target on one core",
        map.targets.len()
    );
    beside_highs(&map, &stocks, own)
}

fn beside_highs(flight: &Flight, stocks: &[Stock], own_us: f64) -> Result<(), Box<dyn Error>> {
    let plans = plan_flight(flight, stocks)?;
    match highs(flight, stocks, &plans) {
        Ok(report) => println!("{}", compare(&report, own_us)?),
        Err(error) => println!("HiGHS was not run: {error}"),
    }
    Ok(())
}

/// The least of several runs, as is usual for code that does the same work each time.
fn micros_per_target(
    flight: &Flight,
    stocks: &[Stock],
    threads: usize,
) -> Result<f64, Box<dyn Error>> {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build()?;
    let n = flight.targets.len();
    let repeats = (20_000 / n).clamp(3, 2000);
    let mut best = f64::INFINITY;
    for _ in 0..5 {
        let start = Instant::now();
        for _ in 0..repeats {
            black_box(pool.install(|| plan_flight(black_box(flight), black_box(stocks)))?);
        }
        let seconds = start.elapsed().as_secs_f64();
        best = best.min(seconds * 1e6 / f64::from(u32::try_from(repeats * n)?));
    }
    Ok(best)
}

/// The rows of every target through HiGHS; adds the planner's stage values for comparison.
fn highs(flight: &Flight, stocks: &[Stock], plans: &[Plan]) -> Result<Value, Box<dyn Error>> {
    let pourable = PourableColumns::new(stocks, &flight.base);
    let priorities = priorities_of(flight, &pourable);
    let finite = |v: &f64| if v.is_finite() { json!(v) } else { Value::Null };
    let planner = Planner::default();
    let mut rows = Vec::new();
    let mut programs = Vec::new();
    for target in &flight.targets {
        rows.clear();
        push_rows(target, &mut rows);
        let program = planner.as_numbers(&pourable, &rows, &priorities);
        programs.push(json!({
            "n": program.lower.len(),
            "m": program.rhs.len(),
            "lo": program.lower.iter().map(finite).collect::<Vec<_>>(),
            "hi": program.upper.iter().map(finite).collect::<Vec<_>>(),
            "rhs": program.rhs,
            "a": program.entries,
            "stages": program.stages,
        }));
    }
    let mut file = tempfile::NamedTempFile::new()?;
    file.write_all(serde_json::to_string(&json!({ "lps": programs }))?.as_bytes())?;
    file.flush()?;
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/oracle/lp_highs_times.py");
    let output = Command::new("python3").arg(script).arg(file.path()).output()?;
    if !output.status.success() {
        return Err(String::from_utf8_lossy(&output.stderr).into_owned().into());
    }
    let mut report: Value = serde_json::from_slice(&output.stdout)?;
    let own: Vec<Vec<f64>> = plans
        .iter()
        .map(|p| {
            let stages = &p.stages;
            [stages.beyond, stages.inside].iter().chain(&stages.preference).copied().collect()
        })
        .collect();
    if let Some(object) = report.as_object_mut() {
        object.insert("own".to_owned(), json!(own));
    }
    Ok(report)
}

fn compare(report: &Value, own_us: f64) -> Result<String, Box<dyn Error>> {
    let stages = |key: &str| -> Result<Vec<Vec<f64>>, Box<dyn Error>> {
        Ok(serde_json::from_value(report.get(key).ok_or("no stages")?.clone())?)
    };
    let (own, theirs) = (stages("own")?, stages("objectives")?);
    let wrong = own
        .iter()
        .zip(&theirs)
        .filter(|(a, b)| a.iter().zip(*b).any(|(x, y)| (x - y).abs() > 1e-6 * y.abs().max(1.0)))
        .count();
    let mut text = format!(
        "HiGHS {} through Python, same rows, {} targets; {wrong} disagree by more than 1e-6",
        report.get("highspy").and_then(Value::as_str).unwrap_or_default(),
        theirs.len()
    );
    for key in ["new_us", "reused_us"] {
        let median = report.pointer(&format!("/{key}/median")).and_then(Value::as_f64);
        let mean = report.pointer(&format!("/{key}/mean")).and_then(Value::as_f64);
        if let (Some(median), Some(mean)) = (median, mean) {
            text.push_str(&format!(
                "\n  {key}: median {median:.0}, mean {mean:.0}; planner on one core is {:.0} \
                 times faster (mean against mean)",
                mean / own_us
            ));
        }
    }
    Ok(text)
}
