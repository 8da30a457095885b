//! Short first: one screen for the starter flight, tables within the width of the terminal, no word
//! broken.

use std::error::Error;
use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::common::answers::{run, tried};
use crate::common::starter_bench;

type Fallible = Result<(), Box<dyn Error>>;

/// A small terminal.
const ROWS: usize = 24;
const COLUMNS: usize = 80;

/// A starter bench with a batch, a scored and a ranked session of the flight, and one that is still open.
fn bench() -> Result<(tempfile::TempDir, PathBuf), Box<dyn Error>> {
    let (folder, bench) = starter_bench()?;
    let day = ["--date", "2026-03-01"];
    let weighed = ["weighed", "calcium", "--salt", "30.52 g", "--total", "1018 g"];
    run(&bench, &[&weighed[..], &day].concat())?;
    run(&bench, &[&["poured", "first-flight"][..], &day].concat())?;
    let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo, cy, di", "--seed", "one"];
    run(&bench, &[&plan[..], &["--name", "scored"]].concat())?;
    run(&bench, &["session", "reveal", "scored", "--force", "a test"])?;
    let best = ["--name", "ranked", "--question", "best"];
    let three = ["--water", "soft", "--water", "middle", "--water", "hard"];
    let ranked = run(&bench, &[&plan[..], &best, &three, &["--json"]].concat())?;
    let ranked: Value = serde_json::from_str(&ranked)?;
    let trays = ranked.pointer("/plan/trays").and_then(|t| t.as_array()).ok_or("no trays")?;
    for tray in trays {
        let taster = tray.get("taster").and_then(Value::as_str).ok_or("no taster")?;
        let cups = tray.get("cups").and_then(Value::as_array).ok_or("no cups")?;
        let mut codes: Vec<String> = cups.iter().filter_map(code).collect();
        // Everyone ranks by the code, so that all agree.
        codes.sort();
        let mut words = vec!["session", "score", "ranked", taster];
        words.extend(codes.iter().map(String::as_str));
        run(&bench, &words)?;
    }
    run(&bench, &["session", "reveal", "ranked"])?;
    run(&bench, &[&plan[..], &["--name", "open"]].concat())?;
    Ok((folder, bench))
}

/// The code of a cup, whether it stands alone or with more.
fn code(cup: &Value) -> Option<String> {
    let code = cup.get("code").unwrap_or(cup);
    code.as_str().map(str::to_owned).or_else(|| code.as_u64().map(|n| n.to_string()))
}

/// A recipe of two readings, since it leaves a hydrate open, and one of four.
const REVERSED: &str = "magnesium sulfate=10 g, NaHCO3=5 g";
const FOUR_READINGS: &str = "calcium chloride=10 g, magnesium sulfate=5 g, NaHCO3=2 g";

/// What is asked at the bench.
const AT_THE_BENCH: &[&[&str]] = &[
    &["mix"],
    &["mix", "--for", "3", "--bottle", "1.9 L"],
    &["mix", "--dispenser", "syringe"],
    &["mix", "--for", "3", "--dispenser", "dropper"],
    &["mix", "--dispenser", "syringe", "--fewest"],
    &["why", "hard, all bicarbonate"],
    &["why", "sulfate side"],
    &["alternatives", "hard"],
    &["stock"],
    &["stock", "magchlor"],
    &["weigh", "calcium", "--make", "1 L"],
    &["weigh", "soda"],
    &["verify", "calcium"],
    &["verify", "calcium", "--read", "217 µS/cm", "--read", "109 ppm factor 0.5"],
    &["advise"],
    &["stocktake"],
    &["log"],
    &["check"],
    &["water"],
    &["water", "middle"],
    &["water", "harbour tap"],
    &["water", "harbour tap", "middle"],
    &["water", "5 mL/L epsom"],
    &["water", "250x middle"],
    &["water", "scored/soft"],
    &["read", "sulfate side", "200"],
    &["read", "middle", "373"],
    &["batch", "middle", "--make", "20 L"],
    &["batch", "hard", "--make", "5 L", "--ready-product", "0.60 per L", "--balance-price", "35"],
    &["concentrate", "middle"],
    &["concentrate", "hard"],
    &["targets"],
    &["salts"],
    &["salts", "calcium chloride"],
    &["salts", "epsom salt"],
    &["session", "progress", "open"],
    &["session", "sheet", "open", "--for", "server"],
    &["session", "sheet", "open", "--for", "pourer"],
    &["session", "sheet", "open", "--for", "taster"],
    &["session", "sheet", "open", "--for", "taster", "--taster", "ann"],
    &["sources"],
    &["concentrate", "--reverse", REVERSED, "--into-water", "500 mL", "--dose", "4 mL"],
    &["concentrate", "--reverse", FOUR_READINGS, "--into-water", "500 mL", "--dose", "4 mL"],
    &["session", "results", "scored"],
    &["session", "results", "ranked"],
    &["journal"],
    &["next", "--over", "hardness,alkalinity", "--waters", "3"],
    &["next"],
];

/// Longer by what they are: the help, and lists to look things up in.
const LONGER: &[&[&str]] = &[&["help"], &["sources", "density"]];

#[test]
fn what_is_needed_at_the_bench_fits_a_small_terminal() -> Fallible {
    let (_folder, bench) = bench()?;
    let mut wrong = Vec::new();
    for command in AT_THE_BENCH {
        let text = run(&bench, command)?;
        let lines = text.lines().count();
        if lines > ROWS {
            wrong.push(format!("{command:?} has {lines} lines:\n{text}"));
        }
        let full = run(&bench, &[command, &["--full"][..]].concat())?;
        let is_cut = full.lines().count() > lines;
        if is_cut && !text.contains("--full") {
            wrong.push(format!("{command:?} does not say how to see the rest:\n{text}"));
        }
    }
    // A session of the whole flight is planned anew each time.
    let plan = ["session", "plan", "first-flight", "--tasters", "ann, bo, cy, di", "--seed", "two"];
    let text = run(&bench, &plan)?;
    if text.lines().count() > ROWS {
        wrong.push(format!("the plan has {} lines:\n{text}", text.lines().count()));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

/// Doses stand on the first screen together with what they do not reach, and so does what clouds and what
/// is an extrapolation.
#[test]
fn the_first_screen_of_a_recipe_has_what_is_to_be_minded() -> Fallible {
    let (_folder, bench) = bench()?;
    for (recipe, filled, words) in [
        (
            "KCl=2 g, Na2SO4=3 g",
            ["--total", "1 L", "--dose", "100 mL"],
            &["with the stocks of the shelf", "not reached with the stocks:"][..],
        ),
        (
            "CaCl2·2H2O=50 g, NaHCO3=50 g",
            ["--total", "1 L", "--dose", "20 mL"],
            &["finished water: CLOUDS", "an extrapolation"],
        ),
    ] {
        let asked = [&["concentrate", "--reverse", recipe][..], &filled].concat();
        for text in [run(&bench, &asked)?, run(&bench, &[&asked[..], &["--full"]].concat())?] {
            let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
            for word in words {
                assert!(text.contains(word), "{word}: {text}");
            }
        }
    }
    Ok(())
}

/// A quarter of a millilitre of a base water is none where whole millilitres are said.
#[test]
fn a_base_water_that_shows_as_nothing_is_not_poured() -> Fallible {
    let (_folder, bench) = bench()?;
    let flight = "Flight(title: \"trace\", base: [\"distilled\", \"harbour tap\"], bottle: \"500 mL\", \
                  targets: [Target(name: \"t\", goals: (nitrate: \"0.006 mg/L ± 0 mg/L\"))])";
    std::fs::write(bench.join("flights/trace.ron"), flight)?;
    let text = run(&bench, &["mix", "trace"])?;
    assert!(text.contains("fill up with 500 mL distilled"), "{text}");
    assert!(!text.contains("harbour tap"), "{text}");
    Ok(())
}

#[test]
fn the_first_screen_of_a_flight_has_what_is_poured() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let text = run(&bench, &["mix"])?;
    // Every stock, every water, what fills the bottle, what is missed.
    for words in
        ["table salt", "8 hard, all", "one of each", "hill spring", "OUT OF REACH", "doctor"]
    {
        assert!(text.contains(words), "{words}:\n{text}");
    }
    // Of several bottles all that is taken stands below, in steps too.
    for command in [&["mix", "--for", "3"][..], &["mix", "--for", "3", "--dispenser", "syringe"]] {
        let text = run(&bench, command)?;

        let used: Value =
            serde_json::from_str(&run(&bench, &[command, &["--json"][..]].concat())?)?;
        let used = used.pointer("/stocks_used/0/ml").and_then(Value::as_f64).ok_or("no use")?;
        let shown = waterflight::quantities::show::three_figures(used);
        assert!(text.contains(&shown), "{shown}:\n{text}");
    }
    Ok(())
}

/// Whether a line holds one proposed command and nothing else: it stands whole, to be copied.
fn is_command(line: &str) -> bool {
    let line = line.trim().trim_start_matches("next: ").trim_start_matches("Next: ");
    let inside = line.trim_end_matches([',', '.', ';', ':', ')']).trim_matches('`');
    inside.starts_with("waterflight ") && !inside.contains('`')
}

/// Everything is within 80 columns where no terminal says otherwise.
#[test]
fn nothing_is_wider_than_eighty_columns() -> Fallible {
    let (_folder, bench) = bench()?;
    let mut wrong = Vec::new();
    for command in AT_THE_BENCH.iter().chain(LONGER) {
        // `help` has no more to say.
        let extents = if command.contains(&"help") { 1 } else { 2 };
        for full in [&[][..], &["--full"]].into_iter().take(extents) {
            let text = run(&bench, &[command, full].concat())?;
            let wide =
                text.lines().filter(|line| line.chars().count() > COLUMNS && !is_command(line));
            wrong.extend(wide.map(|line| format!("{command:?}: `{line}`")));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

/// The width stands for what a person sees; a mistake is drawn within it as well.
#[test]
fn a_slip_is_told_on_one_screen() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for command in [&["mix", "fist"][..], &["water", "midle"], &["weigh", "x"], &["mix", "--fewst"]]
    {
        let (done, _, errors) = tried(&bench, command)?;
        assert!(!done && errors.lines().count() < ROWS, "{errors}");
    }
    Ok(())
}

#[cfg(unix)]
mod narrow {
    use super::{AT_THE_BENCH, Fallible, LONGER, Path, bench, is_command};
    use crate::common::terminal::Terminal;

    fn shown(folder: &Path, bench: &str, command: &[&str], columns: u16) -> Result<String, String> {
        let arguments = [command, &["--bench", bench]].concat();
        let ended = Terminal::wide(folder, &arguments, columns).and_then(Terminal::end);
        ended.map(|(_, screen)| strip(&screen)).map_err(|error| error.to_string())
    }

    /// Lines of a command that do not fit into 40 or 60 columns, and pieces of words there.
    fn faults(folder: &Path, bench: &str, command: &[&str]) -> Result<Vec<String>, String> {
        let mut wrong = Vec::new();
        let full = [command, &["--full"][..]].concat();
        let full = if command.contains(&"help") { command } else { &full };
        let wide = shown(folder, bench, full, 80)? + &shown(folder, bench, command, 80)?;
        let words: Vec<&str> = wide.split_whitespace().collect();
        for columns in [40, 60] {
            let narrow = shown(folder, bench, command, columns)?;
            for line in narrow.lines() {
                // A seal is one long word.
                let is_wide = line.trim_end().chars().count() > usize::from(columns);
                let is_one = line.split_whitespace().count() == 1 || is_command(line);
                if is_wide && !is_one {
                    wrong.push(format!("{command:?} at {columns}: `{line}` is too wide"));
                }
            }
            let is_word = |w: &&str| w.chars().any(char::is_alphanumeric);
            for word in narrow.split_whitespace().filter(is_word) {
                // A head before its cell has a colon.
                if !words.contains(&word) && !words.contains(&word.trim_end_matches(':')) {
                    wrong.push(format!("{command:?} at {columns}: `{word}` is a piece"));
                }
            }
        }
        Ok(wrong)
    }

    /// At 40 and 60 columns every line fits, and no word is a piece of one.
    #[test]
    fn lines_fit_and_words_are_whole() -> Fallible {
        let (folder, bench) = bench()?;
        let bench = bench.display().to_string();
        let mut wrong = Vec::new();
        for command in AT_THE_BENCH.iter().chain(LONGER) {
            // A search that its time ended may end with other doses the next time.
            let mut found = faults(folder.path(), &bench, command)?;
            for _ in 0..2 {
                if found.is_empty() {
                    break;
                }
                found = faults(folder.path(), &bench, command)?;
            }
            wrong.extend(found);
        }
        assert!(wrong.is_empty(), "{} faults:\n{}", wrong.len(), wrong.join("\n"));
        Ok(())
    }

    /// So do mistakes: of the command line, of names, and in a file, whose line is cut around the place.
    #[test]
    fn mistakes_fit_as_well() -> Fallible {
        let (folder, bench) = bench()?;
        let flight = bench.join("flights/wide.ron");
        let wide = "Flight(title: \"a title that is as long as a title may be\", bottle: \"500 mL\", targets: \
                    [Target(name: \"one\", goals: (hardness: \"100 mgL\"))])";
        std::fs::write(flight, wide)?;
        let bench = bench.display().to_string();
        for command in [
            &["mix", "--bottel", "1 L"][..],
            &["session", "plan"],
            &["why", "nowhere"],
            &["read", "first-flight/middle", "116 ppm"],
            &["mix", "wide"],
            &["check"],
        ] {
            for columns in [40, 60, 80] {
                let screen = shown(folder.path(), &bench, command, columns)?;
                let is_wide = |line: &&str| line.trim_end().chars().count() > usize::from(columns);
                // A path is one word.
                let wide: Vec<&str> =
                    screen.lines().filter(is_wide).filter(|l| !l.contains("wide.ron:")).collect();
                assert!(wide.is_empty(), "{command:?} at {columns}: {wide:?}\n{screen}");
                assert!(screen.contains("error"), "{command:?}: {screen}");
            }
        }
        Ok(())
    }

    /// A text without the marks of colour.
    fn strip(text: &str) -> String {
        let mut out = String::new();
        let mut rest = text.chars();
        while let Some(c) = rest.next() {
            if c == '\u{1b}' {
                let _mark: String =
                    rest.by_ref().take_while(|c| !c.is_ascii_alphabetic()).collect();
            } else {
                out.push(c);
            }
        }
        out
    }
}
