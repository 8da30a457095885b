//! What lies in a bench, looks like one of its files and is not read: a file whose ending an editor
//! has changed, a copy that a system left, a file in the wrong folder. It is said, so that nobody
//! waits for a stock that the program never saw.

use std::ffi::OsStr;
use std::fmt;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};

use crate::bench::open::MARK;
use crate::files::read::{ENDING, is_hidden, is_read};

/// The folders of what people write, with the word that their files begin with.
const WRITTEN: [(&str, &str); 5] = [
    ("salts", "Salt"),
    ("stocks", "Stock"),
    ("waters", "Water"),
    ("flights", "Flight"),
    ("targets", "Target"),
];

/// The folders of what the tool records.
const RECORDED: [&str; 2] = ["records", "sessions"];

/// The files of the folder `records`.
pub(super) const RECORDS: [&str; 2] = ["batches.jsonl", "pours.jsonl"];

/// The files of a session.
pub(super) const OF_A_SESSION: [&str; 5] =
    ["plan.json", "key.sealed", "key.json", "waters.json", "scores.jsonl"];

/// What is kept of a log's torn end.
const TORN: &str = ".torn";

/// Something that is not read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stray {
    /// Where it is.
    pub path: PathBuf,
    /// Why it is not read, and what to do.
    pub why: NotRead,
}

/// Why something is not read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotRead {
    /// Its name begins with a dot.
    Hidden,
    /// It ends in another way.
    Ending {
        /// The name that would be read; nothing where a file of that name is there already.
        rename: Option<String>,
    },
    /// It is a folder.
    Folder,
    /// It lies beside the folders, not in one of them.
    Outside {
        /// The folder that it belongs into, where its text says which.
        folder: Option<&'static str>,
    },
    /// A folder with nearly the name of one of the bench.
    Misspelt {
        /// The name.
        folder: &'static str,
    },
    /// A file with the name of a folder of the bench.
    NoFolder,
    /// A folder of `sessions` without a plan.
    NoPlan,
    /// Something with nearly the name of a file that the tool writes.
    NearlyRecorded {
        /// That file.
        file: &'static str,
    },
}

impl fmt::Display for NotRead {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Hidden => f.write_str(
                "names that begin with a dot or a tilde are left by systems and editors; remove it, or \
                 give it a name without",
            ),
            Self::Ending { rename: Some(name) } => {
                write!(f, "its name does not end in `.ron`; rename it to `{name}`, or remove it")
            }
            Self::Ending { rename: None } => {
                f.write_str("its name does not end in `.ron`; the file of that name beside it counts")
            }
            Self::Folder => f.write_str("folders in here are not looked into; move its files out of it"),
            Self::Outside { folder: Some(folder) } => {
                write!(f, "it belongs into the folder `{folder}`")
            }
            Self::Outside { folder: None } => {
                f.write_str("a file belongs into `stocks`, `waters`, `flights` or `salts`")
            }
            Self::Misspelt { folder } => write!(f, "the folder is called `{folder}`"),
            Self::NoFolder => f.write_str("a folder of this name belongs here; rename the file"),
            Self::NoPlan => f.write_str("a session is a folder with a `plan.json`"),
            Self::NearlyRecorded { file } => write!(f, "the file is called `{file}`"),
        }
    }
}

/// Everything in a bench that looks like a file of it and is not read, folder by folder; nothing of
/// a folder that is no bench.
#[must_use]
pub fn strays(root: &Path) -> Vec<Stray> {
    if !root.join(MARK).is_file() {
        return Vec::new();
    }
    let mut found = beside_the_folders(root);
    for (folder, _) in WRITTEN {
        found.extend(entries(&root.join(folder)).into_iter().filter_map(|path| written(&path)));
    }
    found.extend(nearly(&root.join("records"), &RECORDS));
    for path in entries(&root.join("sessions")) {
        if path.join("plan.json").is_file() {
            found.extend(nearly(&path, &OF_A_SESSION));
        } else if path.is_dir() && !is_hidden(&path) {
            found.push(Stray { path, why: NotRead::NoPlan });
        }
    }
    found
}

/// A file that may have been meant as the mark of a bench: `bench.ron.txt`, `Bench.ron`.
#[must_use]
pub fn nearly_the_mark(folder: &Path) -> Option<PathBuf> {
    entries(folder).into_iter().find(|path| lower_name(path).contains(MARK) && !path.is_dir())
}

/// What is in a folder, sorted; nothing where it cannot be listed: that is said where it is read.
fn entries(folder: &Path) -> Vec<PathBuf> {
    let listed = fs::read_dir(folder).into_iter().flatten();
    let mut paths: Vec<PathBuf> = listed.filter_map(|e| Some(e.ok()?.path())).collect();
    paths.sort();
    paths
}

fn lower_name(path: &Path) -> String {
    path.file_name().map(OsStr::to_string_lossy).unwrap_or_default().to_lowercase()
}

fn ends_like_one(path: &Path) -> bool {
    lower_name(path).contains(&format!(".{ENDING}"))
}

/// Whether something in a folder of written files looks like one of them and is not read.
fn written(path: &Path) -> Option<Stray> {
    let why = if is_read(path) {
        return None;
    } else if path.is_dir() {
        let holds_some = entries(path).iter().any(|p| ends_like_one(p));
        Some(NotRead::Folder).filter(|_| holds_some || ends_like_one(path))
    } else if !ends_like_one(path) && kind_of(path).is_none() {
        None
    } else if is_hidden(path) {
        Some(NotRead::Hidden)
    } else {
        Some(NotRead::Ending { rename: name_to_be_read(path) })
    };
    why.map(|why| Stray { path: path.to_owned(), why })
}

/// `epsom.ron.txt` should be `epsom.ron`, and so should `epsom.txt`.
fn name_to_be_read(path: &Path) -> Option<String> {
    let name = path.file_name()?.to_string_lossy().into_owned();
    let at = name.to_ascii_lowercase().find(&format!(".{ENDING}"));
    let stem = match at {
        Some(at) => name.get(..at)?,
        None => path.file_stem()?.to_str()?,
    };
    let stem = stem.trim_matches(['#', '~', '.']);
    let new = format!("{stem}.{ENDING}");
    (!stem.is_empty() && !path.with_file_name(&new).exists()).then_some(new)
}

/// The folder that a text belongs into by its first word; nothing for other texts and bytes.
fn kind_of(path: &Path) -> Option<&'static str> {
    /// Our choice: comments longer than this before the first word are no file of a bench.
    const HEAD_BYTES: u64 = 8192;
    if !path.is_file() {
        return None;
    }
    let mut head = Vec::new();
    File::open(path).ok()?.take(HEAD_BYTES).read_to_end(&mut head).ok()?;
    kind_of_text(&String::from_utf8_lossy(&head))
}

/// The folder that a text belongs into by its first word.
fn kind_of_text(text: &str) -> Option<&'static str> {
    let first = first_line(text)?;
    let kind = WRITTEN.iter().find(|(_, word)| {
        first.strip_prefix(word).is_some_and(|rest| rest.trim_start().starts_with('('))
    });
    kind.map(|(folder, _)| *folder)
}

/// The first line that is no comment.
fn first_line(text: &str) -> Option<&str> {
    let lines = text.trim_start_matches('\u{feff}').lines().map(str::trim_start);
    lines.filter(|line| !line.is_empty()).find(|line| !line.starts_with("//"))
}

/// Whether a text was meant as a file of a folder, however wrong it is: it begins with the word of such
/// files, or with the bracket behind it; or nothing is left of it.
pub(super) fn is_meant_for(folder: Option<&str>, text: &str) -> bool {
    let word = WRITTEN.iter().find(|(name, _)| Some(*name) == folder).map(|(_, word)| *word);
    let is_lost = text.trim_matches(['\u{feff}', '\0']).trim().is_empty();
    is_lost
        || first_line(text).zip(word).is_some_and(|(first, word)| {
            let rest = first.strip_prefix(word);
            let ends = |rest: &str| !rest.starts_with(char::is_alphanumeric);
            first.starts_with(['(', '#']) || rest.is_some_and(ends)
        })
}

fn beside_the_folders(root: &Path) -> Vec<Stray> {
    let mut found = Vec::new();
    let all = entries(root);
    let exact = |folder: &str| all.iter().any(|p| p.file_name().is_some_and(|n| n == folder));
    let folders = || WRITTEN.iter().map(|(folder, _)| *folder).chain(RECORDED);
    for path in &all {
        let name = lower_name(path);
        let why = if path.is_dir() {
            // `Stocks` and `stock`; where the system does not tell cases apart, `Stocks` is read.
            let meant = folders().find(|f| name == *f || format!("{name}s") == **f);
            let read = |folder: &str| exact(folder) || !root.join(folder).is_dir();
            meant
                .filter(|f| path.file_name().is_none_or(|own| own != *f) && read(f))
                .map(|folder| NotRead::Misspelt { folder })
        } else if name == "sessions" {
            Some(NotRead::NoFolder)
        } else if name.contains(MARK) {
            // Where the system does not tell cases apart, `Bench.ron` is the mark itself.
            let is_the_mark = path.ends_with(MARK) || (name == MARK && !exact(MARK));
            let nearly = if is_hidden(path) {
                NotRead::Hidden
            } else {
                NotRead::NearlyRecorded { file: MARK }
            };
            (!is_the_mark).then_some(nearly)
        } else {
            let kind = kind_of(path);
            let hidden = is_hidden(path);
            let why = if hidden { NotRead::Hidden } else { NotRead::Outside { folder: kind } };
            (kind.is_some() || ends_like_one(path)).then_some(why)
        };
        found.extend(why.map(|why| Stray { path: path.clone(), why }));
    }
    found
}

/// What of a folder that the tool writes has nearly the name of one of its files.
fn nearly(folder: &Path, files: &[&'static str]) -> Vec<Stray> {
    let is_known = |path: &Path| {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        files.contains(&name.as_str()) || name.ends_with(TORN)
    };
    let looked_at = entries(folder).into_iter().filter(|path| !is_known(path));
    looked_at
        .filter_map(|path| {
            let name = lower_name(&path);
            // `batches (1).jsonl`, `batches.json` and `batches.jsonl.txt` alike.
            let ends = name.contains(".json") || name.contains(".sealed");
            let begins = |file: &&&str| name.contains(file.split('.').next().unwrap_or_default());
            let file = files.iter().find(begins).filter(|_| ends)?;
            let why =
                if is_hidden(&path) { NotRead::Hidden } else { NotRead::NearlyRecorded { file } };
            Some(Stray { path, why })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    type Fallible = Result<(), Box<dyn std::error::Error>>;

    #[test]
    fn only_what_looks_like_a_file_of_the_bench_is_a_stray() -> Fallible {
        let folder = tempfile::tempdir()?;
        let root = folder.path();
        for name in ["stocks", "records", "sessions/autumn"] {
            fs::create_dir_all(root.join(name))?;
        }
        for (file, text) in [
            ("bench.ron", "Bench(title: \"x\")"),
            ("README.md", "# Our bench"),
            ("stocks/.DS_Store", "\u{0}"),
            ("stocks/notes.txt", "buy more"),
            ("stocks/epsom.ron", "Stock()"),
            ("stocks/SALT.RON", "Stock()"),
            ("records/batches.jsonl", ""),
            ("records/batches.jsonl.torn", "{"),
            ("records/lock", ""),
            ("sessions/autumn/plan.json", "{}"),
            ("sessions/autumn/keyboard.jpg", ""),
        ] {
            fs::write(root.join(file), text)?;
        }
        assert_eq!(strays(root), []);
        Ok(())
    }

    #[test]
    fn a_text_says_where_it_belongs() -> Fallible {
        let folder = tempfile::tempdir()?;
        let root = folder.path();
        fs::create_dir_all(root.join("stocks"))?;
        fs::write(root.join("bench.ron"), "Bench(title: \"x\")")?;
        fs::write(root.join("epsom.txt"), "// mine\n\nStock(\n)")?;
        fs::write(root.join("stocks/soda.txt"), "Stock (name: \"soda\")")?;
        let found = strays(root);
        let why: Vec<&NotRead> = found.iter().map(|s| &s.why).collect();
        assert_eq!(
            why,
            [
                &NotRead::Outside { folder: Some("stocks") },
                &NotRead::Ending { rename: Some("soda.ron".to_owned()) }
            ]
        );
        Ok(())
    }
}
