//! Every reader against mutated inputs: whatever is read, the outcome is an answer or a mistake of the
//! user, never a panic, an endless loop or a fault of the program.
//!
//! `fuzz/corpus` holds a folder for each reader: what was found once, and what to begin with. All of it is
//! read on every run; `FUZZ_SECONDS=60 cargo test --test all fuzz` mutates for so long (2 s when not
//! said), from a seed that is printed (`FUZZ_SEED=…` begins there). What is being read lies in
//! `target/tmp/fuzz-TARGET`, so that an input that ends the process is found there.
//!
//! Above 400 lines: one target for each reader, in one table with its corpus.

use std::error::Error;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use waterflight::app::{NamedWaters, Watch};
use waterflight::bench::check::check;
use waterflight::bench::session_folder::SessionFolder;
use waterflight::bench::{Bench, index, session_rows, starter, table_entry};
use waterflight::chemistry::Formula;
use waterflight::files::{Diagnostic, Fault, SourceText, csv_table};
use waterflight::flight::ladder::Range;
use waterflight::flight::{Goal, Limit, LimitSubject, dose_limits};
use waterflight::next_flight::axis::{Axis, Placed};
use waterflight::page::label_sheet::LabelSheet;
use waterflight::planner::plan_flight;
use waterflight::quantities::{Day, Dimension, Quantity, Within};
use waterflight::session::plan::encrypted_key::{Secret, decrypt};
use waterflight::session::plan::{Aim, Attribute, Brewing, Code, Key, Plan};
use waterflight::session::score::{
    EntryPrompt, Line, answer_parser, expectation, parse_answer, replay,
};
use waterflight::session::serve::progress::SessionProgress;
use waterflight::session::serve::sheets;
use waterflight::stock::Price;
use waterflight::stock::reading::{Reading, Titration};
use waterflight::text::{page_text, visible};
use waterflight::water::Measure;

type Fallible = Result<(), Box<dyn Error>>;

/// What reads a text; it panics when it finds a fault.
type Target = (&'static str, fn(&Place, &str));

const TARGETS: [Target; 15] = [
    ("amounts", amounts),
    ("goals", goals),
    ("formulae", formulae),
    ("readings", readings),
    ("tables", tables),
    ("wording", wording),
    ("plan", plan),
    ("log", log),
    ("prompt", prompt),
    ("rows", rows),
    ("expected", expected),
    ("limits", limits),
    ("waters", waters),
    ("index", index),
    ("bench", bench),
];

/// Where a target may write, and a session's plan and log.
struct Place {
    bench: PathBuf,
    opened: Bench,
    plan: Plan,
    log: String,
}

fn amounts(_: &Place, text: &str) {
    let all = [Dimension::Mass, Dimension::Volume, Dimension::Temperature, Dimension::Percent];
    for dimension in all {
        if let Ok(base) = Quantity::parse_as(text, &[dimension]) {
            assert!(base.is_finite() && base.abs() <= dimension.bounds().most, "{base}");
        }
        if let Ok(within) = Within::parse_as(text, &[dimension]) {
            assert!(within.value.is_finite());
        }
        let _ = dose_limits::read(text, dimension);
        let _ = Price::parse(text, dimension);
    }
    let _ = Day::parse(text).map(|day| assert_eq!(Day::parse(&day.to_string()), Some(day)));
    assert!(!visible(text).contains('\u{1b}'));
}

fn goals(_: &Place, text: &str) {
    for measure in [Measure::Hardness, Measure::Sodium, Measure::Silica, Measure::DissolvedSolids] {
        if let Ok(goal) = Goal::parse(measure, text) {
            assert!(goal.tolerance.is_finite() && goal.weight.is_finite() && goal.miss_unit > 0.0);
            // What is written of it means the same, but for the last digit of an amount in other units.
            let again = Goal::parse(measure, &waterflight::flight::ladder::words(&goal));
            let of = |g: &Goal| (std::mem::discriminant(&g.band), g.weight.to_bits());
            assert_eq!(again.as_ref().map(of), Ok(of(&goal)), "{text}");
            let Ok(again) = again else { unreachable!("it was just read") };
            for (a, b) in
                [(again.band.low(), goal.band.low()), (again.band.high(), goal.band.high())]
            {
                let last_digit = 2.0 * f64::EPSILON * b.abs();
                assert!(a.total_cmp(&b).is_eq() || (a - b).abs() <= last_digit, "{text}: {a} {b}");
            }
        }
    }
    let _ = Goal::parse_ratio(Measure::Hardness, Measure::Alkalinity, text);
    let _ =
        Range::parse(text).map(|range| assert!(range.low.is_finite() && range.high.is_finite()));
}

fn formulae(_: &Place, text: &str) {
    if let Ok(formula) = Formula::parse(text) {
        assert!(formula.molar_mass().value().is_finite() && formula.molar_mass().value() > 0.0);
        assert!(Formula::parse(&formula.to_string()).is_ok(), "{formula}");
    }
}

fn readings(_: &Place, text: &str) {
    let _ = Reading::meter(text);
    let _ = Reading::titration(Titration::Edta, text);
    let _ = Reading::titration(Titration::Acid, text);
}

fn tables(_: &Place, text: &str) {
    let source = SourceText::new("table.csv", text);
    let Ok(table) = csv_table::parse(&source) else { return };
    let _ = table_entry::targets(&source, &table);
    let _ = table_entry::analyses(&source, &table);
    // What is written of a table is read back as it was.
    let rows: Vec<Vec<String>> = table.rows.iter().map(|row| row.cells.clone()).collect();
    for place in table.rows.iter().flat_map(|row| &row.places).chain(&table.head_places) {
        assert!(source.text().get(place.clone()).is_some(), "{place:?}");
    }
    let Ok(written) = csv_table::text(&table.heads, &rows) else { unreachable!("it has rows") };
    let head = table.heads.first().map_or("", String::as_str);
    if !written.lines().next().unwrap_or_default().contains([';', '\t']) && !head.is_empty() {
        let again = csv_table::parse(&SourceText::new("again.csv", &written)).map(|t| t.rows);
        let again = again.map(|rows| rows.into_iter().map(|row| row.cells).collect::<Vec<_>>());
        assert_eq!(again.ok(), Some(rows), "{written}");
    }
}

fn wording(place: &Place, text: &str) {
    let _ = text.parse::<Attribute>().map(|attribute| attribute.is_sound());
    let _ = text.parse::<Brewing>();
    let _ = text.parse::<Code>();
    let _ = Aim::read(text, &place.plan.method);
    let words: Vec<String> = text.split_whitespace().map(str::to_owned).collect();
    let _ = answer_parser::parse_turned(&words);
    let _ = parse_answer(&place.plan, "ann", &words, Some(text.to_owned()));
}

fn plan(_: &Place, text: &str) {
    if let Ok(plan) = Plan::from_text(text) {
        for page in [sheets::server(&plan), sheets::taster(&plan, "ann")] {
            let _ = page_text::text(&page);
        }
        let _ = (sheets::cautions(&plan), sheets::unevenness(&plan));
        if let Ok(replayed) = replay(&plan, b"") {
            let progress = SessionProgress::new(&replayed, Vec::new(), None);
            let _ = page_text::text(&progress.page(true));
        }
    }
    let _ = Key::from_text(text);
    let secret = Secret::from_text(text).unwrap_or(Secret::nobodys());
    let _ = decrypt(text, "seal", &secret);
}

fn log(place: &Place, text: &str) {
    let _ = Line::all_from_text(text);
    if let Ok(replayed) = replay(&place.plan, text.as_bytes()) {
        let progress = SessionProgress::new(&replayed, Vec::new(), None);
        let _ = page_text::text(&progress.page(true));
    }
}

fn prompt(place: &Place, text: &str) {
    let Ok(replayed) = replay(&place.plan, place.log.as_bytes()) else {
        unreachable!("a sound log")
    };
    let Ok(mut prompt) = EntryPrompt::new(&replayed, Some("ann")) else { return };
    for line in text.lines().take(50) {
        let _ = prompt.handle_line(&replayed, line);
        let _ = prompt.asks(&replayed);
    }
}

/// A table of scores.
fn rows(place: &Place, text: &str) {
    let file = place.bench.join("rows.csv");
    let _ = fs::write(&file, text);
    if let Err(mistakes) = session_rows::read(&file, &place.plan) {
        no_fault(mistakes.iter());
    }
}

/// What somebody expects of a session.
fn expected(place: &Place, text: &str) {
    let waters = ["soft".to_owned(), "hard".to_owned()];
    let _ = expectation(&place.plan, &waters, text).map_err(|error| error.remedy());
}

/// Short words that say how much, where to or how many.
fn limits(_: &Place, text: &str) {
    for key in LimitSubject::keys() {
        if let Some(Ok(limit)) = LimitSubject::from_key(key).map(|of| Limit::parse(of, text)) {
            assert!(limit.outside_by(1.0).is_finite() && !limit.words().contains("inf"), "{text}");
        }
    }
    let _ = Axis::parse(text);
    let _ = Placed::parse(text);
    if let Some(sheet) = LabelSheet::named(text) {
        assert!(sheet.is_sound() && sheet.per_sheet() > 0);
    }
}

/// The name of a water, or how one is diluted or made stronger.
fn waters(place: &Place, text: &str) {
    match NamedWaters::of(&place.opened, Watch::default()).find(text) {
        Ok(found) => assert!(Measure::Hardness.of(&found.water).is_finite(), "{text}"),
        Err(mistakes) => no_fault(mistakes.iter()),
    }
}

/// What was worked out of sessions, in a file that anybody may have changed.
fn index(place: &Place, text: &str) {
    let file = place.bench.join("sessions/.index");
    if fs::write(&file, text).is_ok() {
        let _ = index::read(&place.bench);
        let _ = fs::remove_file(file);
    }
}

/// That the program blames nobody but the input, in words that can be drawn.
fn no_fault<'a>(mistakes: impl IntoIterator<Item = &'a Diagnostic>) {
    for mistake in mistakes {
        assert_ne!(mistake.details().fault, Fault::Internal, "{mistake:?}");
        let _ = waterflight::text::diagnostic::text(mistake, false, Some(40));
    }
}

/// A file of the bench, named in the first line; the rest is its text.
fn bench(place: &Place, text: &str) {
    let (name, text) = text.split_once('\n').unwrap_or(("bench.ron", text));
    let known = [
        "bench.ron",
        "stocks/epsom.ron",
        "waters/hill-spring.ron",
        "flights/first-flight.ron",
        "salts/own.ron",
        "records/pours.jsonl",
        "records/batches.jsonl",
        "sessions/night/waters.json",
    ];
    let Some(name) = known.iter().find(|known| **known == name.trim()) else { return };
    let file = place.bench.join(name);
    let before = fs::read(&file).ok();
    let _ = fs::write(&file, text);
    let mut faults = Vec::new();
    match Bench::open(&place.bench) {
        Ok(bench) => {
            for flight in &bench.flights {
                match bench.flight(flight) {
                    // A flight as anyone plans it; many targets take long and show nothing more.
                    Ok((flight, stocks)) if flight.targets.len() <= 12 => {
                        if let Err(error) = plan_flight(&flight, &stocks) {
                            let said = error.to_string();
                            assert!(said.contains("measured"), "a fault of the planner: {said}");
                        }
                    }
                    Ok(_) => {}
                    Err(mistake) => faults.push(mistake),
                }
            }
        }
        Err(mistakes) => faults.extend(mistakes.iter().cloned()),
    }
    faults.extend(check(&place.bench).map(|found| found.damage).unwrap_or_default());
    no_fault(&faults);
    let _ = SessionFolder::open(&place.bench, "night").map(|session| session.score_log());
    let _ = match before {
        Some(bytes) => fs::write(&file, bytes),
        None => fs::remove_file(&file),
    };
}

fn place() -> Result<(tempfile::TempDir, Place), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let bench = folder.path().join("bench");
    starter::start(&bench).map_err(|d| d.details().title.clone())?;
    let planned = crate::common::program()?
        .current_dir(&bench)
        .args(["session", "plan", "--name", "night", "--tasters", "ann,bo", "--water", "soft"])
        .args(["--water", "hard", "--seed", "for the fuzz", "--attribute", "body"])
        .output()?;
    assert!(planned.status.success(), "{}", String::from_utf8_lossy(&planned.stderr));
    let plan = Plan::from_text(&fs::read_to_string(bench.join("sessions/night/plan.json"))?)?;
    fs::create_dir_all(bench.join("records"))?;
    let opened = Bench::open(&bench).map_err(|_| "the starter bench does not open")?;
    Ok((folder, Place { bench, opened, plan, log: String::new() }))
}

/// Targets whose corpus holds an input in each line.
const LINE_BY_LINE: [&str; 8] =
    ["amounts", "goals", "formulae", "readings", "wording", "expected", "limits", "waters"];

/// What a target begins with: its corpus, and for the bench every file of the starter.
fn corpus(name: &str) -> Result<Vec<String>, Box<dyn Error>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus").join(name);
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder)?.map(|entry| entry.map(|e| e.path())).collect::<Result<_, _>>()?;
    files.sort();
    let mut all = Vec::new();
    for file in files {
        let text = String::from_utf8_lossy(&fs::read(file)?).into_owned();
        // Files of one line each hold several inputs.
        if LINE_BY_LINE.contains(&name) {
            all.extend(text.lines().map(str::to_owned));
        } else {
            all.push(text);
        }
    }
    if name == "bench" {
        all.extend(starter::FILES.iter().map(|(path, text)| format!("{path}\n{text}")));
    }
    Ok(all)
}

fn is_digit(letters: &[char], at: usize) -> bool {
    letters.get(at).is_some_and(char::is_ascii_digit)
}

/// From the smallest number there is to the largest and beyond, as often of the sizes of a bench.
fn any_number(random: &mut StdRng) -> String {
    match random.random_range(0..4) {
        0 => format!("{:.2}e{}", random.random_range(1.0..10.0), random.random_range(-322..310)),
        1 => 10_f64.powf(random.random_range(-18.0..18.0)).to_string(),
        2 => random.random::<u64>().to_string(),
        _ => ["0", "-1", "1e308", "1e-320", "NaN", "00"]
            .get(random.random_range(0..6))
            .copied()
            .unwrap_or("0")
            .to_owned(),
    }
}

/// An input made from others: cut, doubled, mixed, with odd numbers and letters put in.
fn mutated(random: &mut StdRng, corpus: &[String]) -> String {
    const PIECES: [&str; 24] = [
        "1e308",
        "-1",
        "0",
        "1e-300",
        "NaN",
        "inf",
        "\u{0}",
        "\u{1b}[2J",
        "18446744073709551615",
        "±",
        "(",
        ")",
        "\"",
        "{",
        "}",
        ",",
        ";",
        "\n",
        "é",
        "\u{feff}",
        "x",
        " mg/L",
        "at most ",
        "9999999999",
    ];
    let pick = |random: &mut StdRng| {
        corpus.get(random.random_range(0..corpus.len().max(1))).cloned().unwrap_or_default()
    };
    let mut letters: Vec<char> = pick(random).chars().collect();
    for _ in 0..random.random_range(1..6) {
        let at = random.random_range(0..=letters.len());
        let end = (at + random.random_range(0..12)).min(letters.len());
        match random.random_range(0..6) {
            0 => drop(letters.drain(at..end)),
            1 => {
                let piece = PIECES.get(random.random_range(0..PIECES.len())).copied().unwrap_or("");
                drop(letters.splice(at..at, piece.chars()));
            }
            2 => {
                let copy: Vec<char> = letters.get(at..end).unwrap_or_default().to_vec();
                let times = random.random_range(1..40);
                drop(letters.splice(at..at, copy.repeat(times)));
            }
            3 => {
                let other: Vec<char> = pick(random).chars().collect();
                let from = random.random_range(0..=other.len());
                let to = (from + random.random_range(0..40)).min(other.len());
                let piece = other.get(from..to).unwrap_or_default().to_vec();
                drop(letters.splice(at..end, piece));
            }
            4 => {
                // One number becomes another, of any size.
                let digits: Vec<usize> =
                    (0..letters.len()).filter(|n| is_digit(&letters, *n)).collect();
                if let Some(from) = digits.get(random.random_range(0..digits.len().max(1))) {
                    let behind = (*from..letters.len()).find(|n| !is_digit(&letters, *n));
                    let to = behind.unwrap_or(letters.len());
                    let number = any_number(random);
                    drop(letters.splice(*from..to, number.chars()));
                }
            }
            _ => letters.truncate(at),
        }
    }
    letters.into_iter().take(20_000).collect()
}

fn tried(place: &Place, (name, target): Target, text: &str) -> Fallible {
    let file = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("fuzz-{name}"));
    fs::write(&file, text)?;
    let start = Instant::now();
    let outcome = catch_unwind(AssertUnwindSafe(|| target(place, text)));
    assert!(outcome.is_ok(), "the input lies in {}: {text:?}", file.display());
    let took = start.elapsed();
    assert!(took < Duration::from_secs(20), "{name} took {took:?}: {}", file.display());
    Ok(())
}

#[test]
fn what_was_found_once_is_not_found_again() -> Fallible {
    let (_folder, place) = place()?;
    for target in TARGETS {
        let corpus = corpus(target.0)?;
        assert!(!corpus.is_empty(), "{} has no corpus", target.0);
        for text in corpus {
            tried(&place, target, &text)?;
        }
    }
    Ok(())
}

/// Our choice: any number does.
const USUAL_SEED: u64 = 15_534_983_832_553_551_877;

#[test]
#[expect(clippy::print_stdout, reason = "the seed is what repeats a run that fails")]
fn no_reader_falls_over_mutated_inputs() -> Fallible {
    let number = |name: &str| std::env::var(name).ok().and_then(|text| text.parse::<u64>().ok());
    let seconds = number("FUZZ_SECONDS").unwrap_or(2);
    // Whoever seeks what is new gives a seed; a check of a change must not depend on chance.
    let seed = number("FUZZ_SEED").unwrap_or(USUAL_SEED);
    println!("FUZZ_SEED={seed}");
    let (_folder, place) = place()?;
    let mut random = StdRng::seed_from_u64(seed);
    let corpora = TARGETS.map(|(name, _)| corpus(name));
    let corpora = corpora.into_iter().collect::<Result<Vec<_>, _>>()?;
    let (start, mut count) = (Instant::now(), 0_u64);
    while start.elapsed() < Duration::from_secs(seconds) {
        for (target, corpus) in TARGETS.iter().zip(&corpora) {
            // The readers of short texts are quick: they take most of the inputs, not of the time.
            let times = if matches!(target.0, "bench" | "plan" | "prompt") { 1 } else { 20 };
            for _ in 0..times {
                tried(&place, *target, &mutated(&mut random, corpus))?;
                count += 1;
            }
        }
    }
    println!("{count} inputs");
    Ok(())
}
