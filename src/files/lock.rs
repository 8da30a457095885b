//! One writer at a time. The lock is the system's, so it ends with the process, however that ends.

use std::fs::{File, OpenOptions, TryLockError};
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant};

use crate::files::{Diagnostic, Fault};

/// Our choice: a writer holds the lock for milliseconds, so whoever waits longer than this waits
/// for a process that is stuck.
const LONGEST_WAIT: Duration = Duration::from_secs(5);
const BETWEEN_TRIES: Duration = Duration::from_millis(20);

/// A lock that is held until this is dropped.
#[derive(Debug)]
pub struct Lock {
    _file: File,
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
        let fail = |error: &std::io::Error| {
            Diagnostic::new(Fault::Write, format!("this cannot be locked: {error}")).about(path)
        };
        let file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(path)
            .map_err(|e| fail(&e))?;
        let start = Instant::now();
        loop {
            match file.try_lock() {
                Ok(()) => return Ok(Self { _file: file }),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_writer_waits_and_gives_up() -> std::io::Result<()> {
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("lock");
        let first = Lock::take(&path);
        assert!(first.is_ok());
        assert!(Lock::take_within(&path, Duration::from_millis(30)).is_err());
        drop(first);
        assert!(Lock::take_within(&path, Duration::from_millis(30)).is_ok());
        Ok(())
    }
}
