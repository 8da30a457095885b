//! The structure of the code: arrows point one way, files stay small, the library never prints.
//!
//! Above 400 lines: the map of the rooms and every law that is checked against it.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

type Fallible = Result<(), Box<dyn Error>>;

/// The rooms in their order, each with the ones it may use; DEVELOPERS.md draws the same map. A room
/// within a room is named with it, and what a room's `mod.rs` passes on counts as the room.
const MAY_USE: &[(&str, &str)] = &[
    ("reference", ""),
    ("quantities", "reference"),
    ("numerics", "quantities"),
    ("files", ""),
    ("text", "reference quantities files"),
    ("chemistry", "reference quantities"),
    ("svg", "quantities text"),
    ("water", "reference quantities chemistry"),
    ("stock", "reference quantities numerics text chemistry water"),
    ("flight", "quantities chemistry water"),
    ("planner/lp", "chemistry water stock flight"),
    ("planner", "chemistry water stock flight planner/lp"),
    ("planner/steps", "stock flight planner/lp planner"),
    ("planner/whole_flight", "stock flight planner/lp planner planner/steps"),
    ("planner/explain", "chemistry water stock flight planner/lp planner"),
    ("assessment", "reference quantities text chemistry water stock flight planner"),
    (
        "mix",
        "quantities text chemistry water stock flight planner/lp planner planner/steps planner/whole_flight planner/explain assessment",
    ),
    (
        "everyday",
        "reference quantities numerics text chemistry water stock flight planner/lp planner planner/steps assessment mix",
    ),
    ("session/plan", "quantities numerics"),
    ("session/score", "session/plan"),
    ("session/blind", "quantities files session/plan session/score"),
    ("session/analysis", "quantities numerics session/plan session/score"),
    (
        "session/serve",
        "quantities text chemistry stock mix session/plan session/score session/analysis",
    ),
    (
        "session/results",
        "quantities text chemistry water session/plan session/score session/analysis session/serve",
    ),
    ("journal", "quantities text session/plan session/score session/analysis session/results"),
    (
        "next_flight",
        "quantities numerics text chemistry water stock flight planner assessment everyday session/plan session/score session/analysis session/results",
    ),
    (
        "page",
        "quantities text water svg stock flight mix assessment everyday session/plan session/score session/serve session/results journal next_flight",
    ),
    (
        "bench",
        "quantities files text chemistry water stock flight assessment mix everyday session/plan session/score session/blind session/serve session/results page",
    ),
    (
        "app",
        "quantities files text chemistry water stock flight planner/lp planner planner/steps planner/whole_flight planner/explain assessment mix everyday session/plan session/score session/analysis session/serve session/results journal next_flight bench",
    ),
    (
        "guide",
        "quantities files text chemistry water stock flight planner planner/whole_flight mix bench",
    ),
    ("serve/transport", "files"),
    ("serve/blind", "files svg session/plan session/score session/blind serve/transport"),
    (
        "serve/explore",
        "files quantities text water stock flight planner planner/explain assessment mix svg bench app serve/transport serve/blind",
    ),
    (
        "serve",
        "files text svg session/blind page bench app serve/transport serve/blind serve/explore",
    ),
    (
        "cli",
        "reference quantities files text svg water stock flight assessment mix everyday session/plan session/score session/serve page bench app guide serve/transport serve/blind serve/explore serve",
    ),
];

/// The room that a path belongs to: the longest one that is listed.
fn room_of<'a>(parts: impl Iterator<Item = &'a str>) -> Option<String> {
    let parts: Vec<&str> = parts.take(2).collect();
    let listed = |name: &str| MAY_USE.iter().any(|(room, _)| *room == name);
    let both = parts.join("/");
    if listed(&both) {
        return Some(both);
    }
    let first = (*parts.first()?).to_owned();
    let is_outer = MAY_USE.iter().any(|(room, _)| room.starts_with(&format!("{first}/")));
    (listed(&first) || is_outer).then_some(first)
}

pub(crate) fn sources(folder: &Path) -> Result<Vec<PathBuf>, Box<dyn Error>> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            files.extend(sources(&path)?);
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

#[test]
fn rooms_stand_in_one_order() {
    for (place, (room, may_use)) in MAY_USE.iter().enumerate() {
        for used in may_use.split_whitespace() {
            let before = MAY_USE.iter().take(place).any(|(earlier, _)| *earlier == used);
            assert!(before, "{room} may use {used}, which does not stand before it");
        }
    }
}

#[test]
fn arrows_point_one_way() -> Fallible {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut wrong = Vec::new();
    for file in sources(&src)? {
        let inside = file.strip_prefix(&src)?.with_extension("");
        let path = inside.to_string_lossy().replace('\\', "/");
        let Some((folder, name)) = path.rsplit_once('/') else { continue };
        let room = room_of(folder.split('/')).ok_or(format!("{path} has no place in the map"))?;
        let is_door = name == "mod";
        let listed = MAY_USE.iter().find(|(r, _)| *r == room).map(|(_, used)| *used);
        if is_door && listed.is_none() {
            continue;
        }
        let may_use: Vec<&str> = listed.unwrap_or_default().split_whitespace().collect();
        for part in fs::read_to_string(&file)?.split("crate::").skip(1) {
            let used: String = part
                .chars()
                .take_while(|c| c.is_ascii_lowercase() || matches!(c, '_' | ':'))
                .collect();
            let Some(used) = room_of(used.split("::")) else { continue };
            if used != room && !may_use.contains(&used.as_str()) {
                wrong.push(format!("{path} uses {used}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

/// The rooms of which nobody who tastes may learn which code is which water, because they do not know it.
const BLIND: [&str; 2] = ["session/blind", "serve/blind"];

/// What would tell: the key, the list of waters, the reveal, what is computed from them.
const TELLING: &str = "Key KeyCup KeyError key SessionWaters SessionFolder session_folder session_waters \
                       reveal_entry revealed stickers_belong Revealed Unblinding unblinding verify \
                       tidy_rows cups_to_serve draw Seed Nonce super";

/// The files that a blind room names.
const BLIND_FILES: [&str; 3] = ["plan.json", "scores.jsonl", "links.json"];

/// A file without its tests and comments.
pub(crate) fn code_of(text: &str) -> String {
    let (code, _) = text.split_once("#[cfg(test)]\nmod tests").unwrap_or((text, ""));
    let lines = code.lines().filter(|line| !line.trim_start().starts_with("//"));
    lines.flat_map(|line| [line, "\n"]).collect()
}

/// The words of a path such as `session::plan::Key`, and names that are imported.
fn names(code: &str) -> impl Iterator<Item = &str> {
    code.split(|c: char| !(c.is_ascii_alphanumeric() || c == '_')).filter(|word| !word.is_empty())
}

/// Rooms that must not know which code is which water neither name what would tell nor open a file that
/// says so; what they may use is tested above.
#[test]
fn what_is_blind_cannot_see() -> Fallible {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut wrong = Vec::new();
    for room in BLIND {
        let files = sources(&src.join(room))?;
        assert!(!files.is_empty(), "{room} is not where it was");
        for file in files {
            let text = fs::read_to_string(&file)?;
            let code = code_of(&text);
            let name = file.display();
            // What comes from other rooms comes by name; `::` stands before it, or an import around it.
            let imported = code.split("use ").skip(1).filter_map(|rest| rest.split(';').next());
            let paths =
                code.match_indices("::").filter_map(|(at, _)| names(code.get(at + 2..)?).next());
            for used in imported.flat_map(names).chain(paths) {
                if TELLING.split_whitespace().any(|telling| telling == used) {
                    wrong.push(format!("{name} uses {used}"));
                }
                let opens = matches!(used, "fs" | "File" | "OpenOptions" | "read" | "append");
                if opens && room == "serve/blind" && !name.to_string().ends_with("links.rs") {
                    wrong.push(format!("{name} opens a file"));
                }
            }
            for literal in code.split('"').skip(1).step_by(2) {
                let is_file =
                    [".json", ".jsonl", ".sealed", ".ron"].iter().any(|e| literal.ends_with(e));
                if is_file && !BLIND_FILES.contains(&literal) {
                    wrong.push(format!("{name} names {literal}"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

/// What the commands share: how options are read, a bench is opened, an answer is given. Each may use
/// those before it.
const SHARED_BY_COMMANDS: [&str; 12] = [
    "help",
    "outcome",
    "bench",
    "amount",
    "progress",
    "print",
    "order",
    "aim",
    "ready_product",
    "ask",
    "session_arguments",
    "session_prompt",
];

/// The files that name the commands: all arguments, which command is meant, and whether it can be read.
const NAME_THE_COMMANDS: [&str; 4] = ["mod", "arguments", "session", "quotes"];

#[test]
fn no_command_uses_another() -> Fallible {
    let cli = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/cli");
    let files = sources(&cli)?;
    let mut wrong = Vec::new();
    for file in &files {
        let name = file.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        if NAME_THE_COMMANDS.contains(&name.as_str()) {
            continue;
        }
        let end = SHARED_BY_COMMANDS.iter().position(|s| *s == name);
        let shared = SHARED_BY_COMMANDS.get(..end.unwrap_or(SHARED_BY_COMMANDS.len()));
        let text = fs::read_to_string(file)?;
        assert!(!text.contains("super::") || text.contains("use super::*"), "{name} says super");
        for part in text.split("crate::cli::").skip(1) {
            let used: String =
                part.chars().take_while(|c| c.is_ascii_lowercase() || *c == '_').collect();
            let own_arguments = used == "arguments" && end.is_none();
            if !own_arguments && !shared.unwrap_or_default().contains(&used.as_str()) {
                wrong.push(format!("cli/{name} uses cli/{used}"));
            }
        }
    }
    assert!(files.len() > SHARED_BY_COMMANDS.len(), "the commands are not where they were");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

/// What does the work of the program: it writes records and files of a bench, or makes what is written and
/// computed.
const WORK: &str = "add_batch add_verified add_bottle add_pour add_session_pour take_back take_session_back \
                    Records NewPour Verified NewFlight write_new write_all_new Lab Meter ConcentrateContext";

/// What a bench holds, and what only the library looks through.
const ON_THE_BENCH: &str = "records set_aside stocks bottles waters flights dispensers labels salts tools \
                            water_prices unread";

/// Our choice: what fits on a screen, and what a command does beside its options.
const MOST_LINES_OF_A_FUNCTION: usize = 60;
const MOST_LINES_OF_A_COMMAND: usize = 120;

/// The functions of a file as `rustfmt` lays them out: the name and the lines of code of each.
fn functions(code: &str) -> Vec<(&str, usize)> {
    let mut found: Vec<(&str, usize)> = Vec::new();
    let mut open: Option<usize> = None;
    for line in code.lines().filter(|line| !line.trim().is_empty()) {
        let indent = line.len() - line.trim_start().len();
        let (before, head) = line.split_once("fn ").unwrap_or((line, ""));
        let begins =
            open.is_none() && (before.trim().is_empty() || before.trim().starts_with("pub"));
        if begins && !head.is_empty() {
            found.push((head.split(['(', '<']).next().unwrap_or_default(), 0));
            open = Some(indent);
        }
        if let (Some(at), Some((_, lines))) = (open, found.last_mut()) {
            *lines += 1;
            let ends = indent == at && (line.trim() == "}" || line.ends_with(" }"));
            open = if ends { None } else { Some(at) };
        }
    }
    found
}

/// What a user of the library needs as well is not done by a command: it reads its options, makes a call and
/// prints the answer. What it may use at all is tested above.
#[test]
fn the_command_line_computes_nothing() -> Fallible {
    let cli = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/cli");
    let mut wrong = Vec::new();
    let mut measured = 0;
    for file in sources(&cli)? {
        let name = file.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let code = code_of(&fs::read_to_string(&file)?);
        for word in names(&code).filter(|word| WORK.split_whitespace().any(|work| work == *word)) {
            wrong.push(format!("cli/{name} does the work of {word}"));
        }
        // Whatever an opened bench is called.
        let opened = code.split("let ").skip(1).filter_map(|rest| rest.split_once(" = "));
        let opened = opened.filter(|(_, value)| {
            value.starts_with("bench::open") || value.starts_with("Bench::open")
        });
        let benches: Vec<&str> = opened.map(|(bench, _)| bench).chain(["bench"]).collect();
        // A call may stand on a line of its own.
        let dense = code.split_whitespace().collect::<Vec<_>>().join(" ").replace(" .", ".");
        let words = |text: &'static str| text.split_whitespace();
        for (bench, list) in benches.iter().flat_map(|b| words(ON_THE_BENCH).map(move |l| (b, l))) {
            let field = format!("{bench}.{list}");
            let is_inside = |c: Option<char>| c.is_some_and(|c| c.is_alphanumeric() || c == '_');
            let looks = dense.match_indices(&field).any(|(at, _)| {
                let (before, behind) = (dense.get(..at), dense.get(at + field.len()..));
                !is_inside(before.and_then(|text| text.chars().next_back()))
                    && !is_inside(behind.and_then(|text| text.chars().next()))
            });
            if looks {
                wrong.push(format!("cli/{name} looks through {field}"));
            }
        }
        let functions = functions(&code);
        measured += functions.len();
        let is_command = !SHARED_BY_COMMANDS.contains(&name.as_str())
            && !NAME_THE_COMMANDS.contains(&name.as_str());
        let all: usize = functions.iter().map(|(_, lines)| lines).sum();
        if is_command && all > MOST_LINES_OF_A_COMMAND {
            wrong.push(format!("the functions of cli/{name} have {all} lines"));
        }
        // What names all commands is as long as there are many.
        let long = functions.iter().filter(|(_, lines)| *lines > MOST_LINES_OF_A_FUNCTION);
        for (function, lines) in long.filter(|_| !NAME_THE_COMMANDS.contains(&name.as_str())) {
            wrong.push(format!("{function} of cli/{name} has {lines} lines"));
        }
    }
    assert!(measured > 100, "only {measured} functions were found");
    wrong.sort();
    wrong.dedup();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

#[test]
fn files_stay_small() -> Fallible {
    // Our choice: a reason in one file of twenty is none any more; tests of one thing stay together longer.
    for (folder, most, long_in) in
        [("src", 600, Some(20)), ("tests", 700, None), ("benches", 600, None)]
    {
        let files = sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join(folder))?;
        let mut without_a_reason = Vec::new();
        let mut long = 0;
        for file in &files {
            let text = fs::read_to_string(file)?;
            let lines = text.lines().count();
            if lines > 400 {
                long += 1;
                let mut head = text.lines().take_while(|l| l.starts_with("//!"));
                if lines > most || !head.any(|l| l.contains("bove 400 lines: ")) {
                    without_a_reason.push(format!("{} has {lines} lines", file.display()));
                }
            }
        }
        assert!(without_a_reason.is_empty(), "{}", without_a_reason.join("\n"));
        assert!(
            long_in.is_none_or(|of| long * of <= files.len()),
            "{long} files of {folder} are long"
        );
    }
    Ok(())
}

#[test]
fn every_test_file_is_in_the_program() -> Fallible {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    let listed = fs::read_to_string(tests.join("main.rs"))?;
    for entry in fs::read_dir(&tests)? {
        let path = entry?.path();
        let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        if path.extension().is_some_and(|e| e == "rs") && name != "main" {
            let line = format!("mod {name};");
            assert!(listed.lines().any(|l| l == line), "tests/main.rs does not name {name}");
        }
    }
    Ok(())
}

fn developers() -> Result<String, Box<dyn Error>> {
    Ok(fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md"))?)
}

/// What stands between backticks outside of code blocks.
fn quoted(markdown: &str) -> Vec<&str> {
    let prose = markdown.split("```").step_by(2);
    prose.flat_map(|text| text.split('`').skip(1).step_by(2)).collect()
}

/// Whether there is a file or folder of that path; `*` stands for anything in a file's name.
fn is_there(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let Some((begin, end)) = name.split_once('*') else { return path.exists() };
    let entries = path.parent().into_iter().filter_map(|folder| fs::read_dir(folder).ok());
    entries.flatten().flatten().any(|entry| {
        let name = entry.file_name().to_string_lossy().into_owned();
        name.starts_with(begin) && name.ends_with(end)
    })
}

#[test]
fn developers_md_names_what_is_there() -> Fallible {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = developers()?;
    let mut missing = Vec::new();
    let mut named = 0;
    for words in quoted(&text) {
        let like_a_path = words.chars().all(|c| c.is_ascii_alphanumeric() || "_./*-".contains(c))
            && (words.contains('/') || Path::new(words).extension().is_some_and(|e| e == "rs"));
        if like_a_path {
            named += 1;
            if !is_there(&root.join(words)) && !is_there(&root.join("src").join(words)) {
                missing.push(words);
            }
        }
    }
    assert!(named > 100, "only {named} paths were found");
    assert!(missing.is_empty(), "DEVELOPERS.md names what is not there: {missing:?}");
    Ok(())
}

#[test]
fn developers_md_draws_the_same_map() -> Fallible {
    let text = developers()?;
    let lines = text.lines().count();
    // Our choice: what a newcomer reads in a quarter of an hour.
    assert!(lines <= 250, "DEVELOPERS.md has {lines} lines");
    for (room, may_use) in MAY_USE {
        let head = format!("| `{room}` |");
        let row = text.lines().find(|l| l.starts_with(&head));
        let row = row.ok_or(format!("DEVELOPERS.md has no row for {room}"))?;
        let said = row.trim_end_matches([' ', '|']).rsplit('|').next().unwrap_or_default().trim();
        let said = if said == "–" { "" } else { said };
        assert_eq!(said, *may_use, "what {room} may use, in DEVELOPERS.md and here");
    }
    Ok(())
}

#[test]
fn every_room_explains_itself() -> Fallible {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for (room, _) in MAY_USE {
        let text = fs::read_to_string(src.join(room).join("mod.rs"))?;
        let head: Vec<&str> = text.lines().take_while(|l| l.starts_with("//!")).collect();
        assert!(head.iter().any(|l| l.contains("assert")), "{room}/mod.rs has no example");
        for (heading, what) in [("May use", "what may come in"), ("Never", "what may not")] {
            let said = head.iter().any(|l| l.contains(heading));
            assert!(said, "{room}/mod.rs does not say {what}");
        }
    }
    Ok(())
}
