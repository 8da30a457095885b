//! A bench as one file, for another computer or a friend: what people wrote, what was recorded, and the
//! sessions. Keys of sessions that are not revealed stay where they are.

use std::path::{Component, Path};

use serde::{Deserialize, Serialize};

use crate::bench::layout::{MARK, RECORDS, WRITTEN};
use crate::bench::session_folder::{KEY_ELSEWHERE, SessionFolder, names};
use crate::bench::starter;
use crate::files::{Diagnostic, Fault, read};
use crate::session::plan::draw::{bytes_from_hex, to_hex};

/// Newest format of the file; one of a later format is refused. 2 says which keys stayed behind; 3 holds
/// files that are no text, as a damaged disk leaves them.
const FORMAT: u32 = 3;
/// Format of a bench whose files are all text.
const ALL_TEXT: u32 = 2;

/// A file of the bench.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct PackedFile {
    /// Path inside the folder, with `/`.
    path: String,
    text: String,
    /// The bytes of a file that is no text, as hexadecimal digits; its text is empty then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    bytes: Option<String>,
}

impl PackedFile {
    fn new(path: String, bytes: Vec<u8>) -> Self {
        match String::from_utf8(bytes) {
            Ok(text) => Self { path, text, bytes: None },
            Err(damaged) => {
                let bytes = Some(to_hex(damaged.as_bytes()));
                Self { path, text: String::new(), bytes }
            }
        }
    }

    /// What is in the file; nothing where its digits are none.
    fn content(&self) -> Option<Vec<u8>> {
        match &self.bytes {
            None => Some(self.text.clone().into_bytes()),
            Some(digits) => bytes_from_hex(digits).ok(),
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct PackedBench {
    waterflight_bench: u32,
    files: Vec<PackedFile>,
}

/// A bench as a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed {
    /// The text of the file.
    pub text: String,
    /// How many files are in it.
    pub files: usize,
    /// Sessions that are not revealed: their keys are not in it.
    pub without_key: Vec<String>,
}

/// The files of a session, beside its key.
const OF_A_SESSION: [&str; 3] = ["plan.json", "waters.json", "scores.jsonl"];
/// The key of a revealed session: open beside the plan, or where sessions of earlier days have it.
const KEYS: [&str; 2] = ["key.json", "key.sealed"];
const KEY_ELSEWHERE_SAYS: &str =
    "The sealed key of this session stayed on the bench that was packed.\n";

/// Packs a bench.
///
/// # Errors
/// When a file of it cannot be read.
pub fn pack(root: &Path) -> Result<Packed, Diagnostic> {
    let mut paths: Vec<String> = vec![MARK.to_owned()];
    for (folder, _) in WRITTEN {
        for file in read::ron_files(&root.join(folder))? {
            let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
            paths.push(format!("{folder}/{name}"));
        }
    }
    paths.extend(RECORDS.map(|file| format!("records/{file}")));
    let mut without_key = Vec::new();
    for name in names(root)? {
        paths.extend(OF_A_SESSION.map(|file| format!("sessions/{name}/{file}")));
        // Where that cannot be read any more, its key stays too.
        let score_log = SessionFolder::open(root, &name).and_then(|session| session.score_log());
        if score_log.is_ok_and(|score_log| score_log.revealed_in().is_some()) {
            paths.extend(KEYS.map(|file| format!("sessions/{name}/{file}")));
        } else {
            without_key.push(name);
        }
    }
    let mut files = Vec::new();
    for path in paths {
        let file = root.join(&path);
        if file.is_file() {
            // The bytes as they are: what was sealed has to stay the same, and of what is damaged a copy
            // is wanted too.
            let bytes = std::fs::read(&file).map_err(|error| {
                Diagnostic::new(Fault::Missing, format!("the file cannot be read: {error}"))
                    .about(&file)
            })?;
            files.push(PackedFile::new(path, bytes));
        }
    }
    for name in &without_key {
        let path = format!("sessions/{name}/{KEY_ELSEWHERE}");
        files.push(PackedFile::new(path, KEY_ELSEWHERE_SAYS.into()));
    }
    let many = files.len();
    let all_text = files.iter().all(|file| file.bytes.is_none());
    let format = if all_text { ALL_TEXT } else { FORMAT };
    let packed = PackedBench { waterflight_bench: format, files };
    let text = serde_json::to_string_pretty(&packed)
        .map_err(|error| Diagnostic::new(Fault::Internal, error.to_string()))?;
    Ok(Packed { text: text + "\n", files: many, without_key })
}

/// Unpacks a bench into a new or empty folder; returns how many files it has.
///
/// # Errors
/// When the file is no packed bench, or the folder holds anything.
pub fn unpack(file: &Path, folder: &Path) -> Result<usize, Diagnostic> {
    let source = read::text(file)?;
    let no_bench = |why: String| {
        Diagnostic::content(format!("this is no packed bench: {why}"))
            .about(file)
            .expected("a file as `waterflight pack` writes it")
    };
    let packed: PackedBench =
        serde_json::from_str(source.text()).map_err(|error| no_bench(unparsed(&error)))?;
    if packed.waterflight_bench > FORMAT {
        return Err(no_bench(format!("format {}", packed.waterflight_bench))
            .remedy("use the newer program that wrote it"));
    }
    if let Some(outside) = packed.files.iter().find(|f| !stays_inside(&f.path)) {
        return Err(no_bench(format!("`{}`, which is no place in a bench", outside.path)));
    }
    if !packed.files.iter().any(|f| f.path == MARK) {
        return Err(no_bench(format!("no `{MARK}`")));
    }
    let mut files: Vec<(&str, Vec<u8>)> = Vec::new();
    for file in &packed.files {
        let content = file.content();
        let content =
            content.ok_or_else(|| no_bench(format!("`{}` is garbled in it", file.path)))?;
        files.push((file.path.as_str(), content));
    }
    starter::no_bench_yet(folder)?;
    starter::folder_for_bench(folder, &files)?;
    starter::lay_out(folder, &files)?;
    Ok(packed.files.len())
}

/// What is wrong with a text that is no packed bench.
fn unparsed(error: &serde_json::Error) -> String {
    if error.is_eof() {
        return "it ends too early, as a file does that was not copied whole".to_owned();
    }
    format!("line {}, column {} is none of it", error.line(), error.column())
}

/// Whether a path is one of the places of a bench's files, and never leads out of its folder.
fn stays_inside(path: &str) -> bool {
    let plain = Path::new(path).components().all(|part| matches!(part, Component::Normal(_)));
    let parts: Vec<&str> = path.split('/').collect();
    let known = match parts.as_slice() {
        [mark] => *mark == MARK,
        ["records", file] => RECORDS.contains(file),
        ["sessions", _, file] => {
            OF_A_SESSION.contains(file) || KEYS.contains(file) || *file == KEY_ELSEWHERE
        }
        [folder, file] => {
            WRITTEN.iter().any(|(name, _)| name == folder) && file.to_lowercase().ends_with(".ron")
        }
        _ => false,
    };
    plain && known && !path.contains('\\')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_leads_out_of_the_folder() {
        for path in
            ["bench.ron", "stocks/epsom.ron", "records/pours.jsonl", "sessions/a b/plan.json"]
        {
            assert!(stays_inside(path), "{path}");
        }
        for path in [
            "../bench.ron",
            "/etc/passwd",
            "stocks/../../x.ron",
            "stocks/run.sh",
            "sessions/../plan.json",
            "stocks\\x.ron",
            "elsewhere/x.ron",
            "",
        ] {
            assert!(!stays_inside(path), "{path}");
        }
    }
}
