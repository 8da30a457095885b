//! How fast a large tasting is planned and analysed, against statsmodels in the same run.
//!
//! `cargo bench --bench tasting_speed [-- TASTERS WATERS ROUNDS]`: 200 tasters, 24 waters and 2
//! rounds unless given. The same mixed model is fitted by `tests/oracle/mixed_time.py` (needs
//! `pip install statsmodels`); without it only our own times are printed.
#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::error::Error;
use std::fmt::Write as _;
use std::hint::black_box;
use std::io::Write as _;
use std::process::Command;
use std::time::Instant;

use serde_json::Value;
use waterflight::numerics::{StudentizedRanges, normal_quantile};
use waterflight::session::analysis::design::Wanted;
use waterflight::session::analysis::mixed::fit;
use waterflight::session::analysis::{MixedFit, ModelChoice};
use waterflight::session::analysis::{Results, ScoreTable, analyse};
use waterflight::session::plan::Plan;
use waterflight::session::plan::session::{plan, verify};
use waterflight::session::plan::{AnalysisPlan, Draw, Purpose, Seed};
use waterflight::session::plan::{Attribute, Method};
use waterflight::session::plan::{Blinding, Duplicates, Request, Serving};
use waterflight::session::plan::{Key, Nonce};
use waterflight::session::score::{Answer, Entry, ScoreLog, replay, reveal_entry, revealed};

fn request(tasters: usize, waters: usize, rounds: usize) -> Request {
    let attribute = Attribute {
        name: "body".to_owned(),
        low: 0.0,
        high: 100.0,
        step: 0.1,
        low_word: "thin".to_owned(),
        high_word: "heavy".to_owned(),
    };
    Request {
        session: "large flight".to_owned(),
        question: "how do they differ".to_owned(),
        method: Method::Scoring { attributes: vec![attribute] },
        waters: (1..=waters).map(|n| format!("water {n}")).collect(),
        tasters: (1..=tasters).map(|n| format!("taster {n}")).collect(),
        rounds,
        per_tray: None,
        duplicates: Duplicates::None,
        pairs: Vec::new(),
        reference: None,
        warm_up: None,
        break_after: None,
        codes: None,
        blinding: Blinding::Double,
        serving: Serving { cup_ml: 30.0, served_c: None, brewing: None, notes: Vec::new() },
        analysis: AnalysisPlan::default(),
    }
}

/// A normal draw, from the portable generator.
fn normal(draw: &mut Draw) -> f64 {
    let step = u32::try_from(draw.below(1_000_000)).unwrap_or(0);
    normal_quantile((f64::from(step) + 0.5) / 1e6)
}

/// A log in which every cup is scored, tasters, waters and cups each with their own noise.
fn log(public: &Plan, key: &Key) -> Result<Vec<u8>, Box<dyn Error>> {
    let mut draw = Draw::new(&Seed::from_phrase("scores of the benchmark"), Purpose::Labels);
    let mut score_log = ScoreLog::new(public);
    let mut text = String::new();
    let mut both = std::collections::BTreeMap::new();
    let mut levels = std::collections::BTreeMap::new();
    for tray in &public.trays {
        for &code in &tray.cups {
            let water = &key.cup(code).ok_or("a code without a water")?.water;
            let place = key.waters.iter().position(|w| w == water).ok_or("no such water")?;
            let level = *levels.entry(&tray.taster).or_insert_with(|| 6.0 * normal(&mut draw));
            let own = *both.entry((&tray.taster, place)).or_insert_with(|| 4.0 * normal(&mut draw));
            let effect = f64::from(u32::try_from(place * 7 % 5)?);
            let value = 50.0 + effect + level + own + 8.0 * normal(&mut draw);
            let value = (value.clamp(0.0, 100.0) * 10.0).round() / 10.0;
            let answer = Answer::Scores {
                taster: tray.taster.clone(),
                code,
                values: [("body".to_owned(), value)].into(),
                note: None,
            };
            let line = score_log.next_line("2031-05-04T10:00:00Z", Entry::Answer(answer))?;
            text.push_str(&line.to_text()?);
            score_log.accept(line)?;
        }
    }
    let line = score_log
        .next_line("2031-05-04T12:00:00Z", reveal_entry(&score_log, &key.to_text()?, None)?)?;
    text.push_str(&line.to_text()?);
    Ok(text.into_bytes())
}

fn timed<T>(what: &str, run: impl FnOnce() -> T) -> (T, f64) {
    let start = Instant::now();
    let made = black_box(run());
    let seconds = start.elapsed().as_secs_f64();
    println!("{what:<58} {seconds:>10.4} s");
    (made, seconds)
}

fn main() -> Result<(), Box<dyn Error>> {
    let sizes: Vec<usize> = std::env::args().skip(1).filter_map(|a| a.parse().ok()).collect();
    let size = |at: usize, usual: usize| sizes.get(at).copied().unwrap_or(usual);
    let (tasters, waters, rounds) = (size(0, 200), size(1, 24), size(2, 2));
    println!("{tasters} tasters × {waters} waters × {rounds} rounds");
    let wanted = request(tasters, waters, rounds);
    let (seed, nonce) = (Seed::from_phrase("benchmark"), Nonce::from_phrase("nonce"));
    let (drawn, _) = timed("plan: orders, codes, key, seal", || plan(&wanted, &seed, &nonce));
    let (public, key) = drawn?;
    let key_text = key.to_text()?;
    let (checked, _) = timed("verify the key by drawing again", || verify(&public, &key_text));
    checked?;
    let log = log(&public, &key)?;
    let (score_log, _) = timed("replay the score log", || replay(&public, &log));
    let score_log = score_log?;
    let (named, _) = timed("reveal: codes to waters", || revealed(&score_log, &key_text));
    let named = named?;
    let with_terms =
        ModelChoice { order: Wanted::Yes, carry_over: Wanted::Yes, multiplicity: None };
    let (all, _) =
        timed("all results: model, pairs, ranks, tasters, words", || analyse(&named, with_terms));
    if let Results::Scores(all) = all {
        println!("{}", all.first().map_or("", |a| &a.verdict.headline));
    }
    let tables = ScoreTable::of(&named);
    let table = tables.first().ok_or("no scores")?;
    let (fitted, ours) = timed("the mixed model with order and carry-over alone", || {
        fit(table, with_terms, &mut StudentizedRanges::default())
    });
    beside(table, &fitted?, ours)
}

/// Fits the same model with the other program and prints ratio and agreement.
fn beside(table: &ScoreTable, fitted: &MixedFit, ours: f64) -> Result<(), Box<dyn Error>> {
    let mut csv = String::from("taster,water,position,previous,value\n");
    for row in &table.rows {
        let previous = row.previous.map_or(0, |water| water + 1);
        let (taster, water) = (row.taster + 1, row.water + 1);
        writeln!(csv, "{taster},{water},{},{previous},{}", row.position, row.value)?;
    }
    let mut file = tempfile::NamedTempFile::new()?;
    file.write_all(csv.as_bytes())?;
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/oracle/mixed_time.py");
    let run = Command::new("python3").arg(script).arg(file.path()).output();
    let output = match run {
        Ok(output) if output.status.success() => output.stdout,
        Ok(output) => {
            let why = String::from_utf8_lossy(&output.stderr);
            println!(
                "statsmodels did not run: {}",
                why.lines().last().unwrap_or("no reason given")
            );
            return Ok(());
        }
        Err(error) => {
            println!("python3 did not run: {error}");
            return Ok(());
        }
    };
    let theirs: Value = serde_json::from_slice(&output)?;
    let number = |name: &str| theirs.get(name).and_then(Value::as_f64).unwrap_or(f64::NAN);
    let seconds = number("seconds");
    println!("{:<58} {seconds:>10.4} s", "statsmodels, the same model");
    println!("ratio: {:.0} times as fast", seconds / ours);
    let variances = [
        ("taster", fitted.variances.taster, number("taster")),
        ("taster × water", fitted.variances.taster_by_water, number("both")),
        ("cup", Some(fitted.variances.cup), number("cup")),
    ];
    for (what, own, other) in variances {
        println!("variance of {what}: {:.6} and {other:.6}", own.unwrap_or(f64::NAN));
    }
    let means = theirs.get("means").and_then(Value::as_array);
    let gap = fitted
        .means
        .iter()
        .zip(means.into_iter().flatten().filter_map(Value::as_f64))
        .map(|(mean, other)| (mean.mean - other).abs())
        .fold(0.0_f64, f64::max);
    println!("largest difference of a water's mean: {gap:.2e}");
    Ok(())
}
