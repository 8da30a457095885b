//! One writer at a time. The lock is the system's, so it ends with the process, however that ends.
//! Where the file system has none, a file that only one writer can create stands for it.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

use crate::files::disk_errors::{WHEN_NOT_ALLOWED, is_not_allowed, is_not_offered, why_not};
use crate::files::{Diagnostic, Fault, append};

/// Our choice: a writer holds the lock for milliseconds, so whoever waits longer than this waits
/// for a process that is stuck.
const LONGEST_WAIT: Duration = Duration::from_secs(5);
const BETWEEN_TRIES: Duration = Duration::from_millis(20);

/// A lock that is held until this is dropped.
#[derive(Debug)]
pub struct Lock {
    _file: File,
    /// The file that stands for the lock where the file system has none.
    in_its_place: Option<PathBuf>,
}

impl Lock {
    /// Takes the lock of a file, which is created if need be and holds nothing; waits for a
    /// moment when another process has it.
    ///
    /// # Errors
    /// When another process keeps it, or the file cannot be created.
    pub fn take(path: &Path) -> Result<Self, Diagnostic> {
        Self::take_within(path, LONGEST_WAIT)
    }

    fn take_within(path: &Path, time_limit: Duration) -> Result<Self, Diagnostic> {
        let fail = |error: &io::Error| {
            // Whoever may not make the lock may write nothing beside it.
            if is_not_allowed(error) {
                let folder = path.parent().unwrap_or(path);
                let what = format!("this folder cannot be written: {}", why_not(error));
                return Diagnostic::new(Fault::Write, what).about(folder).remedy(WHEN_NOT_ALLOWED);
            }
            Diagnostic::new(Fault::Write, format!("this cannot be locked: {error}"))
                .about(path)
                .remedy("nothing was written: work on a copy of the whole folder on another disk")
        };
        if !append::may_be_opened(path) {
            let what = "this cannot be locked: it is no file but a pipe or a device";
            return Err(Diagnostic::new(Fault::Write, what)
                .about(path)
                .remedy("remove it: it holds nothing, and is made anew"));
        }
        let file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(path)
            .map_err(|e| fail(&e))?;
        let start = Instant::now();
        loop {
            match file.try_lock() {
                Ok(()) => return Ok(Self { _file: file, in_its_place: None }),
                Err(TryLockError::Error(error)) if is_not_offered(&error) => {
                    return by_creation(path, file, start, time_limit);
                }
                Err(TryLockError::Error(error)) => return Err(fail(&error)),
                Err(TryLockError::WouldBlock) if start.elapsed() > time_limit => {
                    return Err(Diagnostic::new(Fault::Write, "another run is writing here")
                        .about(path)
                        .remedy("wait until it has ended, then try again"));
                }
                Err(TryLockError::WouldBlock) => sleep(BETWEEN_TRIES),
            }
        }
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        if let Some(path) = &self.in_its_place {
            // One that stays is named, with the way out, by the next writer.
            let _ = fs::remove_file(path);
        }
    }
}

/// The lock as a file that can be created once. It outlives a process that is killed; the next
/// writer then says which file to remove.
fn by_creation(
    path: &Path,
    file: File,
    start: Instant,
    time_limit: Duration,
) -> Result<Lock, Diagnostic> {
    let held = path.with_added_extension("held");
    loop {
        match OpenOptions::new().write(true).create_new(true).open(&held) {
            Ok(mut by) => {
                // Who holds it is for people to read: the lock is that the file is there.
                let _ = writeln!(by, "process {}", std::process::id());
                return Ok(Lock { _file: file, in_its_place: Some(held) });
            }
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {
                if start.elapsed() > time_limit {
                    let what = "another run is writing here, or was stopped while it did";
                    return Err(Diagnostic::new(Fault::Write, what).about(&held).remedy(format!(
                        "this file system has no locks; when no other run is writing, remove `{}`",
                        held.display()
                    )));
                }
                sleep(BETWEEN_TRIES);
            }
            Err(error) => {
                let what = format!("this cannot be locked: {error}");
                return Err(Diagnostic::new(Fault::Write, what).about(&held));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_writer_waits_and_gives_up() -> io::Result<()> {
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("lock");
        let first = Lock::take(&path);
        assert!(first.is_ok());
        assert!(Lock::take_within(&path, Duration::from_millis(30)).is_err());
        drop(first);
        assert!(Lock::take_within(&path, Duration::from_millis(30)).is_ok());
        Ok(())
    }

    #[test]
    fn without_locks_of_the_system_a_created_file_keeps_others_out() -> io::Result<()> {
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("lock");
        let short = Duration::from_millis(30);
        let take = || {
            by_creation(&path, File::create(&path)?, Instant::now(), short)
                .map_err(|d| io::Error::other(d.details().remedy.clone().unwrap_or_default()))
        };
        let first = take()?;
        let refused = take().map_err(|e| e.to_string());
        assert!(refused.as_ref().is_err_and(|way| way.contains("remove")), "{refused:?}");
        drop(first);
        assert!(take().is_ok());
        Ok(())
    }
}
