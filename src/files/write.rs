//! Text to disk: whole or not at all.

use std::fs::{self, File};
use std::io::{ErrorKind, Read, Write};
use std::path::Path;

use crate::files::{Diagnostic, Fault};

/// Writes a new file: a temporary one beside it, synced, then renamed into place without ever
/// replacing a file that is already there.
///
/// # Errors
/// When the file exists or the folder cannot be written.
pub fn new_file(path: &Path, text: &str) -> Result<(), Diagnostic> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let fail = |error: &std::io::Error| cannot_write(path, error);
    let mut temporary = tempfile::NamedTempFile::new_in(folder).map_err(|e| fail(&e))?;
    temporary.write_all(text.as_bytes()).map_err(|e| fail(&e))?;
    temporary.as_file().sync_all().map_err(|e| fail(&e))?;
    temporary.persist_noclobber(path).map_err(|e| fail(&e.error))?;
    sync_folder(folder).map_err(|e| fail(&e))
}

/// Writes a file that this program makes anew whenever it is asked: a new one, or over one that bears
/// `mark` near its beginning. Any other file is left as it is.
///
/// # Errors
/// When another file is there, or the folder cannot be written.
pub fn page_file(path: &Path, text: &str, mark: &str) -> Result<(), Diagnostic> {
    match fs::symlink_metadata(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => return new_file(path, text),
        Err(error) => return Err(cannot_write(path, &error)),
        Ok(found) if !found.is_file() => {
            return Err(Diagnostic::new(Fault::Write, "this is no file that can be replaced")
                .about(path)
                .remedy("choose another name"));
        }
        Ok(_) => {}
    }
    let mut begins = Vec::new();
    let read = File::open(path).and_then(|file| file.take(MARKED_WITHIN).read_to_end(&mut begins));
    read.map_err(|error| cannot_write(path, &error))?;
    if !String::from_utf8_lossy(&begins).contains(mark) {
        return Err(Diagnostic::new(
            Fault::Write,
            "another file is there, and it is left as it is",
        )
        .about(path)
        .expected("a new name, or a page that waterflight has written")
        .remedy("choose another name"));
    }
    own_file(path, text)
}

/// Writes a file that only this program writes, in the place of the one before: the old one or the new
/// one is there, whole. Where systems tell owners apart, only the owner may read it.
///
/// # Errors
/// When the folder cannot be written.
pub fn own_file(path: &Path, text: &str) -> Result<(), Diagnostic> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let fail = |error: &std::io::Error| cannot_write(path, error);
    let mut temporary = tempfile::NamedTempFile::new_in(folder).map_err(|e| fail(&e))?;
    temporary.write_all(text.as_bytes()).map_err(|e| fail(&e))?;
    temporary.as_file().sync_all().map_err(|e| fail(&e))?;
    temporary.persist(path).map_err(|e| fail(&e.error))?;
    sync_folder(folder).map_err(|e| fail(&e))
}

/// A mark stands within so many bytes from the beginning.
const MARKED_WITHIN: u64 = 1024;

/// Creates a folder that is new or empty.
///
/// # Errors
/// When it holds anything already, or cannot be created.
pub fn empty_folder(path: &Path) -> Result<(), Diagnostic> {
    match fs::read_dir(path) {
        Ok(mut entries) => {
            if entries.next().is_some() {
                return Err(Diagnostic::new(Fault::Write, "this folder is not empty")
                    .about(path)
                    .expected("a new folder, or an empty one: nothing is ever written over")
                    .remedy(format!(
                        "a bench has a folder of its own: name one inside it, as in `{}`",
                        path.join("bench").display()
                    )));
            }
            Ok(())
        }
        Err(error) if error.kind() == ErrorKind::NotFound => {
            fs::create_dir_all(path).map_err(|e| cannot_write(path, &e))
        }
        Err(error) => Err(cannot_write(path, &error)),
    }
}

/// Writes a new folder with its files, whole or not at all: they are written into a temporary
/// folder beside it, which is then renamed.
///
/// # Errors
/// When something of that name exists or the folder around it cannot be written.
pub fn new_folder(path: &Path, files: &[(&str, &str)]) -> Result<(), Diagnostic> {
    let around = path.parent().unwrap_or_else(|| Path::new("."));
    let fail = |error: &std::io::Error| cannot_write(path, error);
    if path.exists() {
        return Err(fail(&ErrorKind::AlreadyExists.into()));
    }
    let temporary =
        tempfile::Builder::new().prefix(".unfinished-").tempdir_in(around).map_err(|e| fail(&e))?;
    for (name, text) in files {
        new_file(&temporary.path().join(name), text)?;
    }
    fs::rename(temporary.path(), path).map_err(|e| fail(&e))?;
    sync_folder(around).map_err(|e| fail(&e))
}

/// Creates a folder inside one that exists.
///
/// # Errors
/// When it cannot be created.
pub fn subfolder(path: &Path) -> Result<(), Diagnostic> {
    fs::create_dir_all(path).map_err(|e| cannot_write(path, &e))
}

fn cannot_write(path: &Path, error: &std::io::Error) -> Diagnostic {
    let title = match error.kind() {
        ErrorKind::AlreadyExists | ErrorKind::DirectoryNotEmpty => "this exists already".to_owned(),
        ErrorKind::NotADirectory => "this is a file, not a folder".to_owned(),
        _ => format!("this cannot be written: {error}"),
    };
    Diagnostic::new(Fault::Write, title)
        .about(path)
        .remedy("choose another name, or a folder that you may write to")
}

/// A rename is only certain to survive a power cut once the folder itself is on disk. Systems
/// that cannot open a folder as a file do not need this.
pub(super) fn sync_folder(folder: &Path) -> std::io::Result<()> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    match File::open(folder) {
        Ok(handle) => handle.sync_all(),
        Err(error) if error.kind() == ErrorKind::PermissionDenied => Ok(()),
        Err(error) => Err(error),
    }
}
