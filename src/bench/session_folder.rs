//! The folder of a session: the plan that everyone may read, the sealed key, the waters, the log of
//! scores. Written by the tool alone; the log only ever grows.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use crate::bench::session_waters::{SessionWaters, WatersError};
use crate::files::{Diagnostic, Fault, Mistakes, read, write};
use crate::session::blind::{BlindSession, PLAN, damaged, log_file};
use crate::session::plan::{Key, Plan, Unwritable, key};
use crate::session::score::{Entry, Line, ScoreLog};
use crate::text::names::meant;

const KEY: &str = "key.sealed";
const WATERS: &str = "waters.json";

/// A session on disk.
#[derive(Debug, Clone)]
pub struct SessionFolder {
    /// Its name.
    pub name: String,
    /// Its folder.
    pub path: PathBuf,
    /// Its plan.
    pub plan: Plan,
    /// Its waters, as they were planned.
    pub waters: SessionWaters,
}

/// The names of all sessions of a bench, sorted.
///
/// # Errors
/// When the folder is there and cannot be read.
pub fn names(root: &Path) -> Result<Vec<String>, Diagnostic> {
    let folder = root.join("sessions");
    let fail = |error: &std::io::Error| {
        Diagnostic::new(Fault::Missing, format!("this folder cannot be read: {error}"))
            .about(&folder)
    };
    let entries = match fs::read_dir(&folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(fail(&error)),
    };
    let mut names = Vec::new();
    for entry in entries {
        let entry = entry.map_err(|e| fail(&e))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if !name.starts_with('.') && entry.path().join(PLAN).is_file() {
            names.push(name);
        }
    }
    names.sort();
    Ok(names)
}

/// The folder of the session of that name; nothing in it is opened.
///
/// # Errors
/// Lists the sessions when there is none of that name.
pub fn folder_of(root: &Path, name: &str) -> Result<PathBuf, Diagnostic> {
    let folder = root.join("sessions");
    let name = name.trim();
    if is_there(&folder, name) {
        return Ok(folder.join(name));
    }
    // Listing all of them is only worth it for a name that is spelled otherwise.
    let known = names(root)?;
    let list: Vec<&str> = known.iter().map(String::as_str).collect();
    if let Some(meant) = meant(name, &list) {
        return Ok(folder.join(meant));
    }
    let diagnostic =
        Diagnostic::new(Fault::Choice, format!("there is no session `{name}`")).about(&folder);
    Err(match (list.as_slice(), read::nearest(name, &list)) {
        ([], _) => diagnostic.remedy("plan one with `waterflight session plan`"),
        (_, Some(near)) => {
            diagnostic.expected(list.join(", ")).remedy(format!("did you mean `{near}`?"))
        }
        _ => diagnostic.expected(list.join(", ")).remedy("name one of them"),
    })
}

/// Whether a name is one of those that [`names`] lists, without listing them all.
fn is_there(folder: &Path, name: &str) -> bool {
    let is_one = Path::new(name).file_name().is_some_and(|only| only == name);
    is_one && !name.starts_with('.') && folder.join(name).join(PLAN).is_file()
}

/// The next free name for a session of a flight: the flight's with a number.
#[must_use]
pub fn next_name(root: &Path, flight: &str) -> String {
    let folder = root.join("sessions");
    let mut number = 1_u32;
    while folder.join(format!("{flight}-{number}")).exists() {
        number += 1;
    }
    format!("{flight}-{number}")
}

/// Writes a new session, whole or not at all. With `key_file` the key is written there instead of
/// into the folder.
///
/// # Errors
/// When the name is taken or cannot be that of a folder, or the disk does not take it.
pub fn create(
    root: &Path,
    plan: &Plan,
    key: &Key,
    waters: &SessionWaters,
    key_file: Option<&Path>,
) -> Result<PathBuf, Diagnostic> {
    let name = plan.session.as_str();
    let fits = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | ' ');
    if !name.chars().all(fits) || name.trim() != name {
        return Err(Diagnostic::new(
            Fault::Choice,
            format!("`{name}` cannot be the name of a session"),
        )
        .expected("letters, digits, blanks, `-` and `_`, as in \"autumn-1\""));
    }
    let folder = root.join("sessions");
    write::subfolder(&folder)?;
    let path = folder.join(name);
    if path.exists() {
        let what = format!("the session `{name}` exists already");
        return Err(Diagnostic::new(Fault::Write, what)
            .about(path)
            .remedy("choose another name with `--name`: a session is never written over"));
    }
    let text = |text: Result<String, Unwritable>| text.map_err(|error| unwritten(&error));
    let (plan_text, waters_text) = (text(plan.to_text())?, text(waters.to_text())?);
    let key_text = text(key.to_text())?;
    let mut files = vec![(PLAN, plan_text.as_str()), (WATERS, waters_text.as_str())];
    match key_file {
        // The key first: a plan without its key could never be revealed.
        Some(file) => write::new_file(file, &key_text)?,
        None => files.push((KEY, key_text.as_str())),
    }
    write::new_folder(&path, &files)?;
    Ok(path)
}

fn unwritten(error: &Unwritable) -> Diagnostic {
    Diagnostic::new(Fault::Internal, error.to_string())
}

fn unread_waters(path: &Path, error: &WatersError) -> Diagnostic {
    match error {
        WatersError::Unreadable { .. } => damaged(path, error),
        WatersError::TooNew { .. } => Diagnostic::new(Fault::Content, error.to_string())
            .about(path)
            .remedy("use the newer program that wrote it"),
    }
}

impl SessionFolder {
    /// Opens the session of that name.
    ///
    /// # Errors
    /// Lists the sessions when there is none of that name; or says what is wrong with its files.
    pub fn open(root: &Path, name: &str) -> Result<Self, Diagnostic> {
        let path = folder_of(root, name)?;
        let plan = BlindSession::open(&path)?.plan().clone();
        let file = path.join(WATERS);
        let waters = SessionWaters::from_text(read::text(&file)?.text())
            .map_err(|error| unread_waters(&file, &error))?;
        Ok(Self { name: plan.session.clone(), path, plan, waters })
    }

    /// The log of scores.
    #[must_use]
    pub fn log_path(&self) -> PathBuf {
        log_file::path(&self.path)
    }

    /// Reads the log.
    ///
    /// # Errors
    /// When a whole line of it cannot be taken in.
    pub fn score_log(&self) -> Result<ScoreLog, Diagnostic> {
        log_file::read(&self.path, &self.plan)
    }

    /// The piece of a line that a killed run left at the end of the log; it was never confirmed.
    ///
    /// # Errors
    /// When the log cannot be read.
    pub fn torn(&self) -> Result<Option<String>, Diagnostic> {
        log_file::torn(&self.path)
    }

    /// The text of the key, from the folder or from where it is kept.
    ///
    /// # Errors
    /// When it is not there.
    pub fn key_text(&self, elsewhere: Option<&Path>) -> Result<String, Diagnostic> {
        let path = elsewhere.map_or_else(|| self.path.join(KEY), Path::to_owned);
        if !path.is_file() {
            // What reads a revealed session takes the key from its folder and nowhere else.
            let revealed =
                self.score_log().is_ok_and(|score_log| score_log.revealed_in().is_some());
            let remedy = if revealed {
                format!(
                    "`waterflight session reveal \"{}\" --key FILE` puts it here; say where it is kept",
                    self.name
                )
            } else {
                "say where it is kept with `--key FILE`".to_owned()
            };
            return Err(Diagnostic::new(Fault::Missing, "the sealed key is not here")
                .about(path)
                .remedy(remedy));
        }
        Ok(read::text(&path)?.text().to_owned())
    }

    /// The waters that are compared, in the order of the flight. A warm-up is told from them by the key
    /// alone; where that is kept elsewhere, all waters that are served.
    #[must_use]
    pub fn compared_waters(&self) -> Vec<String> {
        let key = fs::read_to_string(self.path.join(KEY)).ok();
        let key = key.and_then(|text| key::open(&text, &self.plan.seal).ok());
        let served = self.waters.waters.iter().map(|water| water.name.clone());
        served.filter(|name| key.as_ref().is_none_or(|key| key.waters.contains(name))).collect()
    }

    /// Whether the key lies in the folder.
    #[must_use]
    pub fn keeps_key(&self) -> bool {
        self.path.join(KEY).is_file()
    }

    /// Puts a key that was kept elsewhere into the folder, once it is revealed.
    ///
    /// # Errors
    /// When the disk does not take it.
    pub fn keep_key(&self, text: &str) -> Result<(), Diagnostic> {
        if self.keeps_key() { Ok(()) } else { write::new_file(&self.path.join(KEY), text) }
    }

    /// Records entries, all or none, each decided on the log as it then is. They are on disk when
    /// this returns.
    ///
    /// # Errors
    /// What `entries` refuses, a refusal of the log, or a disk that does not take them.
    pub fn record(
        &self,
        entries: impl FnOnce(&ScoreLog) -> Result<Vec<Entry>, Mistakes>,
    ) -> Result<(ScoreLog, Vec<Line>), Mistakes> {
        log_file::record(&self.path, &self.plan, entries)
    }
}
