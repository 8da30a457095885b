//! Numbers of any size in every place where one can stand: on the command line and in every file of a
//! bench. The answer is an answer or a mistake of the user, never a fault of the program, and never says
//! `inf` or `NaN`.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use crate::common::pages::tasted_bench;
use crate::common::program;

type Fallible = Result<(), Box<dyn Error>>;

/// Commands with numbers, words apart by `|`.
const COMMANDS: &[&str] = &[
    "mix|--monte-carlo|1000|--seed|3",
    "mix|--at-most|3",
    "mix|--left|calcium=200 mL",
    "mix|--most-solids|120 mg/L",
    "weigh|epsom|--make|1 L",
    "weighed|epsom|--salt|40 g|--total|1000 g",
    "weighed|epsom|--salt|40 g|--volume|1000 mL",
    "advise|--least|0.5 mL|--most|10 mL|--error|20 %",
    "verify|calcium|--read|250 µS/cm|--take|5 mL|--to|1 L|--blank|2 µS/cm",
    "verify|calcium|--edta|15 mL of 0.01 mol/L on 25 mL",
    "verify|calcium|--edta|12 drops of 1 °dH",
    "poured|--bottles|3",
    "water|2x middle",
    "water|5 mL/L epsom",
    "read|middle|250",
    "alternatives|middle|--most|3",
    "ladder|middle|--into|x|--vary|hardness=20..120 mg/L as CaCO3|--steps|5",
    "ladder|middle|--into|x|--vary|hardness=20..120 mg/L as CaCO3|--fill|7|--seed|3",
    "ladder|middle|--into|x|--shares|calcium,magnesium|--parts|4",
    "batch|middle|--make|100 L|--within|2 %|--at-worst|3 %",
    "batch|middle|--ready-product|0.30 per L|--balance-price|300",
    "concentrate|middle|--total|200 g|--dose|4 mL",
    "concentrate|--reverse|MgSO4=10 g, NaHCO3=5 g|--into-water|500 mL|--dose|4 mL",
    "concentrate|--reverse|MgSO4=10 g, NaHCO3=5 g|--keg|19 L",
    "next|first-flight|--between|hardness=20..120 mg/L as CaCO3|--waters|3|--seed|1",
    "session|plan|--tasters|ann,bo|--rounds|2|--duplicates|1|--cup|60 mL|--served|60 °C",
    "session|plan|--tasters|ann,bo|--attribute|body, 0 to 10 by 0.5, thin to heavy",
    "session|plan|--tasters|ann,bo|--per-tray|3|--breaks-after|3",
    "session|plan|--tasters|ann|--brew|coffee: 15 g on 250 mL at 94 °C gives 220 mL",
    "session|sheet|evening|--for|pourer|--spare|10 %|--least|0.5 mL",
    "session|poured|evening|--spare|10 %|--least|0.5 mL",
    "mix|--print|p.html|--labels|3x7|--start|2",
];

/// Sizes that were found to be said as `inf`, or taken for an amount.
#[test]
fn what_no_meter_and_no_scale_shows_is_refused() -> Fallible {
    let (_folder, bench) = tasted_bench()?;
    for line in [
        "read|middle|1e300",
        "read|middle|1e320",
        "verify|calcium|--read|1e9 µS/cm",
        "verify|calcium|--edta|1e7 mL of 20 mol/L on 0.0001 mL",
        "session|plan|--tasters|ann,bo|--attribute|body, 0 to 10 by 1e320, thin to heavy",
        "session|plan|--tasters|ann,bo|--attribute|body, 0 to 1e320, thin to heavy",
        "session|plan|--tasters|ann,bo|--wanted|body: near=1e320",
    ] {
        let arguments: Vec<&str> = line.split('|').collect();
        let output = program()?.current_dir(&bench).args(&arguments).output()?;
        assert_eq!(output.status.code(), Some(2), "{line}");
        let said = String::from_utf8_lossy(&output.stderr).replace("1e320", "");
        assert!(!said.contains("inf"), "{line}: {said}");
    }
    Ok(())
}

/// A number of any size, as a person or a broken file may write it.
fn extreme(random: &mut StdRng) -> String {
    const ODD: [&str; 16] = [
        "0",
        "-0",
        "-1",
        "1e-320",
        "1e320",
        "1e308",
        "1e-300",
        "4294967296",
        "18446744073709551616",
        "9223372036854775807",
        "1e12",
        "1e-12",
        "NaN",
        "inf",
        "-inf",
        "1e",
    ];
    match random.random_range(0..4) {
        0 => ODD.get(random.random_range(0..ODD.len())).copied().unwrap_or("0").to_owned(),
        1 => format!("{:.3}e{}", random.random_range(1.0..10.0), random.random_range(-321..309)),
        2 => format!("{:e}", 10_f64.powf(random.random_range(-16.0..16.0))),
        _ => (10_f64.powf(random.random_range(-9.0..12.0))).to_string(),
    }
}

/// Where numbers stand in a text: the first byte of each and the byte behind it.
fn numbers(text: &str) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let mut before = ' ';
    let mut begin = None;
    for (at, c) in text.char_indices().chain([(text.len(), ' ')]) {
        let goes_on = c.is_ascii_digit() || (c == '.' && begin.is_some());
        match begin {
            None if c.is_ascii_digit() && !before.is_alphanumeric() && before != '_' => {
                begin = Some(at);
            }
            Some(from) if !goes_on => {
                found.push((from, at));
                begin = None;
            }
            _ => {}
        }
        before = c;
    }
    found
}

fn put(text: &str, (from, to): (usize, usize), number: &str) -> String {
    [text.get(..from).unwrap_or_default(), number, text.get(to..).unwrap_or_default()].concat()
}

/// Runs a command; what is wrong with how it ended, if anything is.
fn wrong(bench: &Path, arguments: &[&str], put_in: &str) -> Result<Option<String>, Box<dyn Error>> {
    let output = program()?.current_dir(bench).args(arguments).output()?;
    let said = String::from_utf8_lossy(&[output.stdout, output.stderr].concat()).into_owned();
    let status = output.status.code();
    let ends_well = matches!(status, Some(0 | 1 | 2 | 65 | 66 | 73));
    // The mistake shows the number as it was written.
    let without = said.replace(put_in, "");
    let mut words = without.split(|c: char| !c.is_alphanumeric());
    let no_number = words.any(|word| matches!(word, "inf" | "NaN"));
    let is_fault = said.contains("fault of the program") || said.contains("panicked");
    Ok((!ends_well || no_number || is_fault).then(|| format!("{arguments:?}: {status:?}: {said}")))
}

fn seed() -> u64 {
    let asked = std::env::var("EXTREMES_SEED").ok().and_then(|text| text.parse().ok());
    asked.unwrap_or_else(|| rand::rng().random())
}

#[test]
fn no_number_of_an_option_is_a_fault_of_the_program() -> Fallible {
    /// For each number of each command.
    const TIMES: usize = 4;
    let seed = seed();
    let mut random = StdRng::seed_from_u64(seed);
    let (_folder, bench) = tasted_bench()?;
    for command in COMMANDS {
        for at in numbers(command) {
            for _ in 0..TIMES {
                let number = extreme(&mut random);
                let line = put(command, at, &number);
                let arguments: Vec<&str> = line.split('|').collect();
                let wrong = wrong(&bench, &arguments, &number)?;
                assert!(wrong.is_none(), "EXTREMES_SEED={seed}: {}", wrong.unwrap_or_default());
                // What was written would stop the next command of the kind.
                let _ = fs::remove_file(bench.join("flights/x.ron"));
                let _ = fs::remove_file(bench.join("p.html"));
                let _ = fs::remove_dir_all(bench.join("sessions/first-flight-1"));
            }
        }
    }
    Ok(())
}

/// Every file with numbers below a folder.
fn files(folder: &Path) -> Result<Vec<PathBuf>, Box<dyn Error>> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            found.extend(files(&path)?);
        } else if path.extension().is_some_and(|e| e == "ron" || e == "json" || e == "jsonl") {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

#[test]
fn no_number_of_a_file_is_a_fault_of_the_program() -> Fallible {
    const TIMES: usize = 60;
    const READERS: [&[&str]; 8] = [
        &["mix"],
        &["mix", "--dispenser", "syringe"],
        &["stock"],
        &["stocktake"],
        &["water"],
        &["verify", "calcium", "--read", "250 µS/cm"],
        &["session", "results", "evening"],
        &["check"],
    ];
    let seed = seed();
    let mut random = StdRng::seed_from_u64(seed);
    let (_folder, bench) = tasted_bench()?;
    let all = files(&bench)?;
    for _ in 0..TIMES {
        let Some(file) = all.get(random.random_range(0..all.len())) else { continue };
        let text = fs::read_to_string(file)?;
        let places = numbers(&text);
        let Some(at) = places.get(random.random_range(0..places.len().max(1))) else { continue };
        let number = extreme(&mut random);
        fs::write(file, put(&text, *at, &number))?;
        for arguments in READERS {
            let wrong = wrong(&bench, arguments, &number)?;
            let place = format!("EXTREMES_SEED={seed}: {number} at {at:?} of {}", file.display());
            assert!(wrong.is_none(), "{place}: {}", wrong.unwrap_or_default());
        }
        fs::write(file, text)?;
    }
    Ok(())
}
