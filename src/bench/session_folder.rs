//! The folder of a session: the plan that everyone may read, the sealed key, the waters, the log of
//! scores. Written by the tool alone; the log only ever grows.
//!
//! A little above 400 lines: what a folder holds, and how each part of it comes to be.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use crate::bench::place::no_such;
use crate::bench::secret;
use crate::bench::session_waters::{SessionWaters, WatersError};
use crate::files::write::Readers;
use crate::files::{Diagnostic, Fault, Mistakes, read, write};
use crate::session::blind::{BlindSession, PLAN, damaged, log_file};
use crate::session::plan::encrypted_key::{NotOpened, Secret, decrypt, encrypt, is_encrypted};
use crate::session::plan::{Key, Plan, Unwritable, key, session};
use crate::session::score::{Entry, Line, ScoreLog};
use crate::text::command_line::typed;
use crate::text::names::meant;

/// The key until the reveal: encrypted, or as plain text in sessions of earlier days.
const KEY: &str = "key.sealed";
/// The key from the reveal on, as plain text.
pub(super) const OPEN_KEY: &str = "key.json";
/// Stands in the place of a key that stayed where the bench was packed.
pub(super) const KEY_ELSEWHERE: &str = "key.elsewhere";
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
    /// Its waters, once they were asked for.
    waters: OnceLock<Result<SessionWaters, Diagnostic>>,
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
        // A file of that name is a stray; who lists the strays names it.
        Err(error) if matches!(error.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) => {
            return Ok(Vec::new());
        }
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
    // Listing all of them is only worth it for a name that is spelled otherwise.
    let name = name.trim();
    if is_there(&folder, name) {
        return Ok(folder.join(name));
    }
    let known = names(root)?;
    let list: Vec<&str> = known.iter().map(String::as_str).collect();
    match meant(name, &list) {
        Some(meant) => Ok(folder.join(meant)),
        None => Err(no_such_session(&folder, name, &list)),
    }
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

/// What became of a session that was to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Created {
    /// It is there, in this folder.
    New(PathBuf),
    /// Its name is taken.
    NameTaken(PathBuf),
}

/// Writes a new session, whole or not at all. Its key is encrypted with the secret in `secret_file`,
/// which is made if need be.
///
/// # Errors
/// When the name cannot be that of a folder, the secret would be inside the bench, or the disk does not
/// take it.
pub fn create(
    root: &Path,
    plan: &Plan,
    key: &Key,
    waters: &SessionWaters,
    secret_file: &Path,
) -> Result<Created, Diagnostic> {
    secret::must_be_outside(root, secret_file)?;
    let name = plan.session.as_str();
    let fits = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | ' ');
    if !name.chars().all(fits) || name.trim() != name {
        return Err(Diagnostic::choice(format!("`{name}` cannot be the name of a session"))
            .expected("letters, digits, blanks, `-` and `_`, as in \"autumn-1\""));
    }
    let folder = root.join("sessions");
    write::subfolder(&folder)?;
    let path = folder.join(name);
    if path.exists() {
        return Ok(Created::NameTaken(path));
    }
    let text = |text: Result<String, Unwritable>| text.map_err(|error| unwritten(&error));
    let (plan_text, waters_text) = (text(plan.to_text())?, text(waters.to_text())?);
    // The secret first: a plan whose key nothing opens could never be revealed. One without a plan
    // serves the next.
    let secret = secret::kept_in(secret_file)?;
    let key_text = encrypt(&text(key.to_text())?, &plan.seal, &secret)
        .map_err(|error| Diagnostic::new(Fault::Internal, error.to_string()))?;
    let files = [
        (PLAN, plan_text.as_str(), Readers::AsUsual),
        (WATERS, waters_text.as_str(), Readers::AsUsual),
        (KEY, key_text.as_str(), Readers::Owner),
    ];
    match write::new_folder(&path, &files) {
        Ok(()) => Ok(Created::New(path)),
        // Another run took the name in between.
        Err(error) if error.kind() == ErrorKind::AlreadyExists => Ok(Created::NameTaken(path)),
        Err(error) => Err(write::cannot_write(&path, &error)),
    }
}

/// The mistake of a name that is taken.
#[must_use]
pub fn name_taken(path: &Path) -> Diagnostic {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    Diagnostic::new(Fault::Write, format!("the session `{name}` exists already"))
        .about(path)
        .remedy("choose another name with `--name`: a session is never written over")
}

fn unwritten(error: &Unwritable) -> Diagnostic {
    Diagnostic::new(Fault::Internal, error.to_string())
}

fn read_waters(file: &Path) -> Result<SessionWaters, Diagnostic> {
    let text = read::text(file).map_err(|error| {
        if file.exists() {
            return error;
        }
        error.remedy(
            "put it back from a copy of this bench: it alone says what the waters of the session are, \
             and nothing makes it anew",
        )
    })?;
    SessionWaters::from_text(text.text()).map_err(|error| unread_waters(file, &error))
}

fn unread_waters(path: &Path, error: &WatersError) -> Diagnostic {
    match error {
        WatersError::Unreadable { .. } => damaged(path, error),
        WatersError::TooNew { .. } => Diagnostic::content(error.to_string())
            .about(path)
            .remedy("use the newer program that wrote it"),
    }
}

fn no_such_session(folder: &Path, name: &str, list: &[&str]) -> Diagnostic {
    if list.is_empty() {
        return Diagnostic::choice(format!("there is no session `{name}`"))
            .about(folder)
            .remedy("plan one with `waterflight session plan`");
    }
    no_such("session", name, list).about(folder).remedy("name one of them").near(name, list)
}

impl SessionFolder {
    /// Opens the session of that name.
    ///
    /// # Errors
    /// Lists the sessions when there is none of that name; or says what is wrong with its files.
    pub fn open(root: &Path, name: &str) -> Result<Self, Diagnostic> {
        let path = folder_of(root, name)?;
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let plan = BlindSession::open(&path)?.plan().clone();
        Ok(Self { name, path, plan, waters: OnceLock::new() })
    }

    /// Its waters, as they were planned. They are read when they are asked for: scores are taken in
    /// without them.
    ///
    /// # Errors
    /// When their file is not there, or cannot be read.
    pub fn waters(&self) -> Result<&SessionWaters, Diagnostic> {
        let read = self.waters.get_or_init(|| read_waters(&self.path.join(WATERS)));
        read.as_ref().map_err(Clone::clone)
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

    /// The text of the key. `elsewhere` names the file of the secret that opens it, where that is not
    /// kept in its usual place; or the key itself, of a session of earlier days.
    ///
    /// # Errors
    /// When key or secret are not there, or the one does not open the other.
    pub fn key_text(&self, elsewhere: Option<&Path>) -> Result<String, Diagnostic> {
        if let Some(file) = elsewhere {
            if !file.is_file() {
                return Err(self.no_key(file));
            }
            let text = read::text(file)?.text().to_owned();
            return match Secret::from_text(&text) {
                Some(secret) => self.decrypted(&secret, file),
                None => Ok(text),
            };
        }
        let open = self.path.join(OPEN_KEY);
        if open.is_file() {
            return Ok(read::text(&open)?.text().to_owned());
        }
        let sealed = self.path.join(KEY);
        if !sealed.is_file() {
            return Err(self.no_key(&sealed));
        }
        let text = read::text(&sealed)?.text().to_owned();
        if !is_encrypted(&text) {
            return Ok(text);
        }
        let file = secret::usual_place()?;
        if !file.is_file() {
            return Err(Diagnostic::new(Fault::Missing, "the secret that opens the key is not here")
                .about(file)
                .remedy(
                    "it is on the computer on which the session was planned, under this name or the one \
                     given with `--key`; copy it, and name it with `--key FILE`",
                ));
        }
        match Secret::from_text(read::text(&file)?.text()) {
            Some(secret) => self.decrypted(&secret, &file),
            None => Err(Diagnostic::content("this file holds no secret")
                .about(file)
                .remedy("restore it from a copy, or name another with `--key FILE`")),
        }
    }

    fn decrypted(&self, secret: &Secret, file: &Path) -> Result<String, Diagnostic> {
        let sealed = self.path.join(KEY);
        if !sealed.is_file() {
            return Err(self.no_key(&sealed));
        }
        let text = read::text(&sealed)?;
        decrypt(text.text(), &self.plan.seal, secret).map_err(|error| {
            let mistake = Diagnostic::content(error.to_string());
            match error {
                NotOpened::OtherSecret => mistake.about(file).remedy(
                    "name the file that `session plan` named with `--key FILE`; if it is this one, \
                     restore `key.sealed` from a copy",
                ),
                NotOpened::TooNew { .. } => {
                    mistake.about(sealed).remedy("use the newer program that wrote it")
                }
                NotOpened::Unreadable { .. } => mistake.about(sealed).remedy(
                    "the tool writes this file and nobody else should: restore it from a copy",
                ),
            }
        })
    }

    fn no_key(&self, path: &Path) -> Diagnostic {
        // What reads a revealed session takes the key from its folder and nowhere else.
        let revealed = self.score_log().is_ok_and(|score_log| score_log.revealed_in().is_some());
        let remedy = if self.path.join(KEY_ELSEWHERE).is_file() {
            "it stayed on the bench that was packed: reveal the session there".to_owned()
        } else if revealed {
            format!(
                "`waterflight session reveal {} --key FILE` puts it here; say where it is kept",
                typed(&self.name)
            )
        } else {
            "say where it is kept with `--key FILE`".to_owned()
        };
        Diagnostic::new(Fault::Missing, "the sealed key is not here").about(path).remedy(remedy)
    }

    /// That a key is there which can be read, or which a secret kept elsewhere may open.
    ///
    /// # Errors
    /// When it is not there, or cannot be read.
    pub fn key_is_there(&self) -> Result<(), Diagnostic> {
        let sealed = self.path.join(KEY);
        let is_encrypted_here = || read::text(&sealed).is_ok_and(|text| is_encrypted(text.text()));
        match self.key_text(None) {
            Err(wrong) if wrong.details().fault == Fault::Missing && is_encrypted_here() => Ok(()),
            Err(wrong) if wrong.details().fault == Fault::Content && is_encrypted_here() => {
                // Another secret's, as `session plan --key` makes them, looks like a damaged one.
                let text = read::text(&sealed)?;
                let unreadable = decrypt(text.text(), &self.plan.seal, &Secret::nobodys());
                match unreadable {
                    Err(NotOpened::OtherSecret) | Ok(_) => Ok(()),
                    Err(_) => Err(wrong),
                }
            }
            other => {
                let text = other?;
                session::verify(&self.plan, &text).map(|_| ()).map_err(|error| {
                    Diagnostic::content(error.to_string()).about(&self.path).remedy(error.remedy())
                })
            }
        }
    }

    /// The waters that are compared, in the order of the flight. A warm-up is told from them by the key
    /// alone; where its secret is kept elsewhere, all waters that are served.
    ///
    /// # Errors
    /// As [`Self::waters`].
    pub fn compared_waters(&self) -> Result<Vec<String>, Diagnostic> {
        let key = self.key_text(None).ok();
        let key = key.and_then(|text| key::open(&text, &self.plan.seal).ok());
        let served = self.waters()?.waters.iter().map(|water| water.name.clone());
        Ok(served.filter(|name| key.as_ref().is_none_or(|key| key.waters.contains(name))).collect())
    }

    /// Whether the key lies open in the folder, as it does from the reveal on; in sessions of earlier
    /// days it did so from the start.
    #[must_use]
    pub fn keeps_open_key(&self) -> bool {
        let sealed = self.path.join(KEY);
        let is_plain = || read::text(&sealed).is_ok_and(|text| !is_encrypted(text.text()));
        self.path.join(OPEN_KEY).is_file() || (sealed.is_file() && is_plain())
    }

    /// Puts the open key into the folder, once it is revealed: its seal can then be checked by anyone,
    /// and the session no longer needs the secret.
    ///
    /// # Errors
    /// When the disk does not take it.
    pub fn keep_open_key(&self, text: &str) -> Result<(), Diagnostic> {
        if self.keeps_open_key() {
            Ok(())
        } else {
            write::new_file(&self.path.join(OPEN_KEY), text)
        }
    }

    /// Records entries, all or none, each decided on the log as it then is. They are on disk when
    /// this returns, in one line of the log.
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
