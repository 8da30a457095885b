//! Text to disk: whole or not at all.

use std::fs::{self, File, OpenOptions, Permissions};
use std::io::{self, ErrorKind, Read, Write};
use std::path::Path;

use tempfile::{Builder, NamedTempFile, TempDir};

use crate::files::disk::{around, sync, sync_folder};
use crate::files::disk_errors::{
    WHEN_NOT_ALLOWED, is_not_allowed, is_not_offered, is_of_the_disk, why_not,
};
use crate::files::unfinished::{RANDOM_CHARACTERS, UNFINISHED};
use crate::files::{Diagnostic, Fault};

/// Who may read a new file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Readers {
    /// Whom the user's umask lets.
    AsUsual,
    /// The user alone.
    Owner,
}

/// Writes a new file: an unfinished one beside it, synced, then brought into place without ever
/// replacing a file that is already there.
///
/// # Errors
/// When the file exists or the folder cannot be written.
pub fn new_file(path: &Path, text: &str) -> Result<(), Diagnostic> {
    put(path, text.as_bytes(), Readers::AsUsual).map_err(|error| cannot_write(path, &error))
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
    replace(path, text).map_err(|error| cannot_write(path, &error))
}

/// Writes a file that this program alone makes, over what is there. Who reads it finds the whole one
/// before or the whole one after.
///
/// # Errors
/// When the folder cannot be written.
pub fn replace(path: &Path, text: &str) -> io::Result<()> {
    put_over(path, text, Readers::AsUsual)
}

/// The same for a file that nobody but the user may read.
///
/// # Errors
/// When the folder cannot be written.
pub fn own_file(path: &Path, text: &str) -> Result<(), Diagnostic> {
    put_over(path, text, Readers::Owner).map_err(|error| cannot_write(path, &error))
}

fn put_over(path: &Path, text: &str, readers: Readers) -> io::Result<()> {
    unfinished_bytes(path, text.as_bytes(), readers)?
        .persist(path)
        .map_err(|failed| failed.error)?;
    sync_folder(around(path))
}

/// A mark stands within so many bytes from the beginning.
const MARKED_WITHIN: u64 = 1024;

/// Writes a new file that nobody but the user may read.
///
/// # Errors
/// As [`new_file`].
pub fn new_private_file(path: &Path, text: &str) -> Result<(), Diagnostic> {
    put(path, text.as_bytes(), Readers::Owner).map_err(|error| cannot_write(path, &error))
}

fn put(path: &Path, bytes: &[u8], readers: Readers) -> io::Result<()> {
    into_place(unfinished_bytes(path, bytes, readers)?, path)?;
    // What the disk does not confirm is taken back, so that what is said of it is true.
    sync_folder(around(path)).inspect_err(|_| drop(fs::remove_file(path)))
}

/// What is on disk and has no name yet.
fn unfinished_bytes(path: &Path, bytes: &[u8], readers: Readers) -> io::Result<NamedTempFile> {
    let mut unfinished = unfinished_file(around(path), readers)?;
    unfinished.write_all(bytes)?;
    sync(unfinished.as_file())?;
    Ok(unfinished)
}

/// A file beside the one that it will become, locked, so that nobody takes it for left behind.
fn unfinished_file(folder: &Path, readers: Readers) -> io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder.prefix(UNFINISHED).rand_bytes(RANDOM_CHARACTERS);
    if let Some(permissions) = permissions(readers) {
        builder.permissions(permissions);
    }
    loop {
        let file = builder.tempfile_in(folder)?;
        let _ = file.as_file().try_lock();
        // Another run may have tidied it away between the two.
        if file.path().exists() {
            return Ok(file);
        }
    }
}

#[cfg(unix)]
#[expect(clippy::unnecessary_wraps, reason = "other systems have no such permissions")]
fn permissions(readers: Readers) -> Option<Permissions> {
    use std::os::unix::fs::PermissionsExt;
    // The system takes away what the umask says.
    Some(Permissions::from_mode(match readers {
        Readers::AsUsual => 0o666,
        Readers::Owner => 0o600,
    }))
}

#[cfg(not(unix))]
fn permissions(_readers: Readers) -> Option<Permissions> {
    None
}

/// Gives an unfinished file its name, unless something of that name is there. A second link does that
/// at once; file systems without links first get an empty file of that name, which is then replaced.
fn into_place(unfinished: NamedTempFile, path: &Path) -> io::Result<()> {
    match fs::hard_link(unfinished.path(), path) {
        Ok(()) => return Ok(()),
        Err(error) if is_not_offered(&error) || error.kind() == ErrorKind::PermissionDenied => {}
        Err(error) => return Err(error),
    }
    match OpenOptions::new().write(true).create_new(true).open(path) {
        Ok(_) => {}
        // What a run left that was killed between the two steps holds nothing.
        Err(error) if error.kind() == ErrorKind::AlreadyExists && is_empty_file(path) => {}
        Err(error) => return Err(error),
    }
    match unfinished.persist(path) {
        Ok(_) => Ok(()),
        Err(failed) => {
            let _ = fs::remove_file(path);
            Err(failed.error)
        }
    }
}

fn is_empty_file(path: &Path) -> bool {
    fs::symlink_metadata(path).is_ok_and(|m| m.is_file() && m.len() == 0)
}

/// Whether a file is there and holds exactly this.
#[must_use]
pub fn holds(path: &Path, content: impl AsRef<[u8]>) -> bool {
    let content = content.as_ref();
    let same_length =
        fs::metadata(path).is_ok_and(|m| m.is_file() && m.len() == content.len() as u64);
    same_length && fs::read(path).is_ok_and(|bytes| bytes == content)
}

/// Writes several new files, all or none: what was written of them is taken back when one cannot be.
/// A file that is there and holds the very same counts as written, so that a run that was stopped can
/// be finished by the same run again.
///
/// # Errors
/// When one of them exists with another content, or cannot be written.
pub fn new_files<T: AsRef<[u8]>>(files: &[(&Path, T)]) -> Result<(), Diagnostic> {
    let mut written: Vec<&Path> = Vec::new();
    for (path, content) in files {
        if holds(path, content) {
            continue;
        }
        if let Err(error) = put(path, content.as_ref(), Readers::AsUsual) {
            for path in written {
                let _ = fs::remove_file(path);
            }
            return Err(cannot_write(path, &error));
        }
        written.push(path);
    }
    Ok(())
}

/// Creates a folder that is new, or holds nothing but some of `files` as they are to be written, as a
/// run leaves them that was stopped. What systems and editors leave in folders does not count.
///
/// # Errors
/// When it holds anything else, or cannot be created.
pub fn folder_for<T: AsRef<[u8]>>(path: &Path, files: &[(&str, T)]) -> Result<(), Diagnostic> {
    let is_file_of_systems = |path: &Path| {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        name.starts_with('.') || name.ends_with('~')
    };
    let belongs = |found: &Path| {
        if found.is_dir() {
            return files.iter().any(|(name, _)| path.join(name).starts_with(found))
                || found.read_dir().is_ok_and(|mut entries| entries.next().is_none());
        }
        files.iter().any(|(name, content)| path.join(name) == found && holds(found, content))
            || is_file_of_systems(found)
    };
    let mut folders = vec![path.to_owned()];
    while let Some(folder) = folders.pop() {
        let entries = match fs::read_dir(&folder) {
            Ok(entries) => entries,
            Err(error) if error.kind() == ErrorKind::NotFound && folder == path => {
                return fs::create_dir_all(path).map_err(|e| cannot_write(path, &e));
            }
            Err(error) => return Err(cannot_write(&folder, &error)),
        };
        for entry in entries {
            let found = entry.map_err(|error| cannot_write(&folder, &error))?.path();
            if !belongs(&found) {
                return Err(Diagnostic::new(Fault::Write, "this folder is not empty")
                    .about(path)
                    .found(format!("`{}`", found.strip_prefix(path).unwrap_or(&found).display()))
                    .expected("a new folder, or an empty one: nothing is ever written over")
                    .remedy(format!(
                        "a bench has a folder of its own: name one inside it, as in `{}`",
                        path.join("bench").display()
                    )));
            }
            if found.is_dir() && !is_file_of_systems(&found) {
                folders.push(found);
            }
        }
    }
    Ok(())
}

/// Writes a new folder with its files, whole or not at all: they are written into an unfinished
/// folder beside it, which is then renamed.
///
/// # Errors
/// [`ErrorKind::AlreadyExists`] when something of that name is there, also when another run put it there
/// in between; or what the disk says.
pub fn new_folder(path: &Path, files: &[(&str, &str, Readers)]) -> io::Result<()> {
    let around = around(path);
    if path.exists() {
        return Err(ErrorKind::AlreadyExists.into());
    }
    let (unfinished, _held) = unfinished_folder(around)?;
    for (name, text, readers) in files {
        put(&unfinished.path().join(name), text.as_bytes(), *readers)?;
    }
    if let Err(error) = fs::rename(unfinished.path(), path) {
        // Systems have errors of their own for a name that is taken.
        return Err(if path.exists() { ErrorKind::AlreadyExists.into() } else { error });
    }
    // Back under its unfinished name, it goes with what else is unfinished.
    sync_folder(around).inspect_err(|_| drop(fs::rename(path, unfinished.path())))
}

/// A folder beside the one that it will become, with what locks it.
fn unfinished_folder(around: &Path) -> io::Result<(TempDir, Option<File>)> {
    let mut builder = Builder::new();
    builder.prefix(UNFINISHED).rand_bytes(RANDOM_CHARACTERS);
    loop {
        let folder = builder.tempdir_in(around)?;
        let held = File::open(folder.path()).ok();
        if let Some(held) = &held {
            let _ = held.try_lock();
        }
        if folder.path().exists() {
            return Ok((folder, held));
        }
    }
}

/// Creates a folder inside one that exists.
///
/// # Errors
/// When it cannot be created.
pub fn subfolder(path: &Path) -> Result<(), Diagnostic> {
    fs::create_dir_all(path).map_err(|e| cannot_write(path, &e))
}

/// That nothing was written, since what was asked for is there.
#[must_use]
pub fn exists_already(path: &Path) -> Diagnostic {
    cannot_write(path, &ErrorKind::AlreadyExists.into())
}

/// That something cannot be written, and the way out.
#[must_use]
pub fn cannot_write(path: &Path, error: &io::Error) -> Diagnostic {
    let title = match error.kind() {
        ErrorKind::AlreadyExists | ErrorKind::DirectoryNotEmpty => "this exists already".to_owned(),
        ErrorKind::NotADirectory => "this is a file, not a folder".to_owned(),
        _ => format!("this cannot be written: {}", why_not(error)),
    };
    let wrong = Diagnostic::new(Fault::Write, title).about(path);
    if is_not_allowed(error) {
        return wrong.remedy(WHEN_NOT_ALLOWED);
    }
    if is_of_the_disk(error) {
        return wrong.remedy("nothing was written: make room on the disk, and see that it works");
    }
    wrong.remedy("choose another name, or a folder that you may write to")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::unfinished::remove_unfinished;

    type Fallible = Result<(), Box<dyn std::error::Error>>;

    #[test]
    fn what_a_stopped_run_left_goes_and_what_another_writes_stays() -> Fallible {
        let folder = tempfile::tempdir()?;
        let at = |name: &str| folder.path().join(name);
        for name in [".tmpAb3x9Q", ".unfinished-Ab3x9Q", ".tmp", ".unfinished-mine", "x.ron"] {
            fs::write(at(name), "x")?;
        }
        fs::create_dir(at(".unfinished-000000"))?;
        fs::write(at(".unfinished-000000/key.sealed"), "x")?;
        let writing = unfinished_file(folder.path(), Readers::AsUsual)?;
        let (making, _held) = unfinished_folder(folder.path())?;
        remove_unfinished(folder.path());
        for gone in [".tmpAb3x9Q", ".unfinished-Ab3x9Q", ".unfinished-000000"] {
            assert!(!at(gone).exists(), "{gone}");
        }
        for kept in [".tmp", ".unfinished-mine", "x.ron"] {
            assert!(at(kept).exists(), "{kept}");
        }
        assert!(writing.path().exists() && making.path().exists());
        Ok(())
    }

    #[test]
    fn several_files_are_written_all_or_none_and_once() -> Fallible {
        let folder = tempfile::tempdir()?;
        let at = |name: &str| folder.path().join(name);
        fs::write(at("b"), "another")?;
        let (a, b) = (at("a"), at("b"));
        assert!(new_files(&[(&a, "1"), (&b, "2")]).is_err());
        assert!(!a.exists() && holds(&b, "another"));
        fs::write(&b, "2")?;
        assert!(new_files(&[(&a, "1"), (&b, "2")]).is_ok());
        assert!(new_files(&[(&a, "1"), (&b, "2")]).is_ok(), "again, as after a stop");
        Ok(())
    }
}
