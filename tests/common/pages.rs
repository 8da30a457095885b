//! Every page and picture that the program writes, of one bench.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

pub(crate) use crate::common::answers::{json, run};
use crate::common::starter_bench;

/// A page with the command that wrote it.
pub(crate) struct Written {
    /// Its name.
    pub(crate) name: &'static str,
    /// Where it is.
    pub(crate) path: PathBuf,
    /// The command without the options of the page.
    pub(crate) command: Vec<&'static str>,
    /// All of the command.
    pub(crate) whole: Vec<String>,
    /// Pages on paper, where that is fixed.
    pub(crate) sheets: Option<usize>,
}

/// Name, command, the options that write it, and pages on paper.
type Page = (&'static str, &'static [&'static str], &'static [&'static str], Option<usize>);

/// Every page.
const PAGES: &[Page] = &[
    ("pour.html", &["mix"], &["--print"], None),
    ("drops.html", &["mix", "--dispenser", "dropper"], &["--print"], None),
    // Eight labels from the twentieth of 21 on: two on the first sheet, six on the second, and the cover.
    ("bottles.html", &["mix"], &["--labels", "3x7", "--start", "20", "--print"], Some(3)),
    ("weigh.html", &["weigh", "epsom", "--make", "1 L"], &["--print"], Some(1)),
    ("stocks.html", &["stock"], &["--print"], None),
    ("stock-labels.html", &["stock"], &["--labels", "3x7", "--print"], Some(2)),
    ("stock-label.html", &["weigh", "epsom"], &["--labels", "narrow", "--print"], Some(2)),
    ("batch.html", &["batch", "middle", "--make", "100 L"], &["--print"], Some(1)),
    ("concentrate.html", &["concentrate", "middle"], &["--print"], None),
    (
        "concentrate-label.html",
        &["concentrate", "middle"],
        &["--labels", "2x4", "--print"],
        Some(2),
    ),
    ("serving.html", &["session", "sheet", "evening", "--for", "server"], &["--print"], None),
    (
        "cups.html",
        &["session", "sheet", "evening", "--for", "server"],
        &["--labels", "4x10", "--print"],
        Some(2),
    ),
    (
        "jugs.html",
        &["session", "sheet", "evening", "--for", "pourer"],
        &["--labels", "2x7", "--start", "11", "--print"],
        Some(3),
    ),
    ("scores.html", &["session", "sheet", "evening", "--for", "taster"], &["--print"], Some(3)),
    (
        "ballots.html",
        &["session", "sheet", "evening", "--for", "taster"],
        &["--ballots", "--print"],
        None,
    ),
    ("pouring.html", &["session", "sheet", "evening", "--for", "pourer"], &["--print"], None),
    ("verdict.html", &["session", "results", "evening"], &["--page"], None),
    ("journal.html", &["journal"], &["--page"], None),
];

/// Pictures as files of their own.
pub(crate) const PICTURES: &[(&str, &[&str])] = &[
    ("map.svg", &["mix"]),
    ("map-2.svg", &["mix", "--axes", "sodium,chloride"]),
    ("charges.svg", &["mix", "--picture", "charges"]),
    ("waters.svg", &["water"]),
    ("limescale.svg", &["water", "middle", "--picture", "limescale"]),
    ("next.svg", &["next", "first-flight", "--over", "hardness,alkalinity", "--waters", "3"]),
    ("strength.svg", &["stock", "calcium"]),
];

/// A bench on which a session was tasted and revealed, and a stock was weighed and verified.
pub(crate) fn tasted_bench() -> Result<(tempfile::TempDir, PathBuf), Box<dyn Error>> {
    let (folder, bench) = starter_bench()?;
    let settings = fs::read_to_string(bench.join("bench.ron"))?;
    let labels = "    labels: [(name: \"narrow\", paper: Letter, columns: 2, rows: 9, width: \"80 mm\", \
                  height: \"25 mm\", left: \"20 mm\", top: \"15 mm\", across: \"90 mm\")],\n)";
    let end = settings.trim_end().strip_suffix(')').ok_or("bench.ron does not end in )")?;
    fs::write(bench.join("bench.ron"), format!("{end}{labels}\n"))?;
    run(
        &bench,
        &["weighed", "calcium", "--salt", "30.52 g", "--total", "1018 g", "--date", "2026-03-01"],
    )?;
    run(&bench, &["verify", "calcium", "--read", "250 µS/cm", "--record", "--date", "2026-03-20"])?;
    let waters = ["soft", "middle", "hard", "sulfate side", "chloride side"];
    let mut plan =
        vec!["session", "plan", "first-flight", "--name", "evening", "--tasters", "ann, bo, cy"];
    for water in waters {
        plan.extend(["--water", water]);
    }
    plan.extend(["--attribute", "body", "--attribute", "liking", "--seed", "rehearsal"]);
    run(&bench, &plan)?;
    let plan: Value =
        serde_json::from_str(&fs::read_to_string(bench.join("sessions/evening/plan.json"))?)?;
    let trays = plan.pointer("/trays").and_then(Value::as_array).ok_or("no trays")?;
    for (n, tray) in trays.iter().enumerate() {
        let taster = tray.pointer("/taster").and_then(Value::as_str).ok_or("no taster")?;
        let cups = tray.pointer("/cups").and_then(Value::as_array).ok_or("no cups")?;
        for (k, cup) in cups.iter().enumerate() {
            let code = cup.as_str().map_or_else(|| cup.to_string(), str::to_owned);
            // Scores of no meaning, different for every cup.
            let (body, liking) = ((n + 2 * k) % 10, 1 + (3 * n + 2 * k) % 9);
            let scores = [body.to_string(), liking.to_string()];
            let [body, liking] = &scores;
            run(
                &bench,
                &[
                    "session",
                    "score",
                    "evening",
                    taster,
                    &code,
                    body,
                    liking,
                    "--note",
                    "chalky <end>",
                ],
            )?;
        }
    }
    run(&bench, &["session", "reveal", "evening"])?;
    Ok((folder, bench))
}

/// A starter bench whose one flight has so many waters, of long and of short names; what a folder of
/// pages is made of then.
pub(crate) fn crowded_bench(waters: usize) -> Result<(tempfile::TempDir, PathBuf), Box<dyn Error>> {
    const LONG: &str = "the hardest water of them all, made with calcium chloride and Donaudampfschifffahrtsgesellschaftswasser";
    let (folder, bench) = starter_bench()?;
    let path = bench.join("flights/first-flight.ron");
    let text = fs::read_to_string(&path)?;
    let (head, _) = text.split_once("targets: [").ok_or("no targets")?;
    let target = |n: usize| {
        let name: String = LONG.chars().take(3 + (n * 37) % LONG.len()).collect();
        format!(
            "Target(name: \"{} {}\", goals: (hardness: \"{} mg/L as CaCO3\", alkalinity: \"{} mg/L as CaCO3\")),",
            n + 1,
            name.trim(),
            20 + 6 * n,
            10 + 3 * ((5 * n) % 24)
        )
    };
    let targets: String = (0..waters).map(target).collect();
    fs::write(&path, format!("{head}targets: [{targets}])\n"))?;
    Ok((folder, bench))
}

/// Writes every page into a folder.
pub(crate) fn all(bench: &Path, folder: &Path) -> Result<Vec<Written>, Box<dyn Error>> {
    let mut written = Vec::new();
    for (name, command, how, sheets) in PAGES {
        let path = folder.join(name);
        let target = path.to_str().ok_or("a path that is no text")?;
        let arguments: Vec<&str> = command.iter().chain(*how).copied().chain([target]).collect();
        let said = run(bench, &arguments)?;
        assert!(said.ends_with(&format!("Written: {target}\n")), "{said}");
        let whole = arguments.iter().map(|part| (*part).to_owned()).collect();
        written.push(Written { name, path, command: command.to_vec(), whole, sheets: *sheets });
    }
    Ok(written)
}

/// The text between every pair of marks.
pub(crate) fn between<'a>(text: &'a str, begin: &str, end: &str) -> Vec<&'a str> {
    let pieces = text.split(begin).skip(1);
    pieces.filter_map(|piece| piece.split_once(end).map(|(inside, _)| inside)).collect()
}
