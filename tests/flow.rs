//! The structure of the code: arrows point one way, files stay small, the library never prints.

use std::collections::BTreeMap;
use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

type Fallible = Result<(), Box<dyn Error>>;

/// Which rooms each room may use; the list in DEVELOPERS.md is this one.
fn may_use() -> BTreeMap<&'static str, Vec<&'static str>> {
    BTreeMap::from([
        ("reference", vec![]),
        ("quantities", vec!["reference"]),
        ("chemistry", vec!["reference", "quantities"]),
        ("shelf", vec!["reference", "quantities", "chemistry"]),
        ("waters", vec!["reference", "quantities", "chemistry"]),
        ("planner", vec!["reference", "quantities", "chemistry", "shelf", "waters"]),
        ("chance", vec![]),
        ("tasting", vec!["quantities", "chance"]),
        ("scores", vec!["tasting"]),
        ("analysis", vec!["quantities", "chance", "tasting", "scores"]),
        ("next_flight", vec!["quantities", "chemistry", "shelf", "waters", "planner", "chance"]),
        (
            "report",
            vec![
                "reference",
                "quantities",
                "chemistry",
                "shelf",
                "waters",
                "planner",
                "tasting",
                "scores",
                "analysis",
                "next_flight",
                "chance",
            ],
        ),
        ("files", vec![]),
        (
            "bench",
            vec![
                "quantities",
                "chemistry",
                "shelf",
                "waters",
                "report",
                "tasting",
                "scores",
                "files",
            ],
        ),
        ("render", vec!["reference", "quantities", "report", "files"]),
        (
            "cli",
            vec![
                "reference",
                "quantities",
                "shelf",
                "waters",
                "planner",
                "tasting",
                "scores",
                "analysis",
                "next_flight",
                "report",
                "files",
                "bench",
                "render",
            ],
        ),
    ])
}

fn sources(folder: &Path) -> Result<Vec<PathBuf>, Box<dyn Error>> {
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
fn arrows_point_one_way() -> Fallible {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let rooms = may_use();
    let mut wrong = Vec::new();
    for entry in fs::read_dir(&src)? {
        let folder = entry?.path();
        if !folder.is_dir() {
            continue;
        }
        let room = folder.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let allowed = rooms.get(room.as_str()).ok_or(format!("{room} has no place in the map"))?;
        for file in sources(&folder)? {
            for part in fs::read_to_string(&file)?.split("crate::").skip(1) {
                let used: String =
                    part.chars().take_while(|c| c.is_ascii_lowercase() || *c == '_').collect();
                if used != room
                    && !allowed.contains(&used.as_str())
                    && rooms.contains_key(used.as_str())
                {
                    wrong.push(format!("{} uses {used}", file.display()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

#[test]
fn files_stay_small() -> Fallible {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut long = Vec::new();
    let files = sources(&src)?;
    for file in &files {
        let lines = fs::read_to_string(file)?.lines().count();
        if lines > 400 {
            long.push(format!("{} has {lines} lines", file.display()));
        }
    }
    // Our choice: one file in ten may be longer, none twice as long.
    assert!(long.len() * 10 <= files.len(), "{}", long.join("\n"));
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
