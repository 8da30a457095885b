//! Files and folders that never became whole, as stopped runs leave them.

use std::fs::{self, File};
use std::path::Path;
use std::time::{Duration, SystemTime};

/// How the names of files and folders begin that are not whole yet.
pub(super) const UNFINISHED: &str = ".unfinished-";

/// Random characters behind [`UNFINISHED`]; `tempfile`'s own number, which older programs used too.
pub(super) const RANDOM_CHARACTERS: usize = 6;

/// Our choice: where the file system has no locks, an unfinished file is taken for left behind when
/// nobody has written to it for so long.
const LEFT_BEHIND: Duration = Duration::from_hours(1);

/// Removes what stopped runs left in a folder: files and folders that never became whole. Those that
/// another run is writing are left alone. What cannot be removed stays: it stands in nobody's way.
pub fn remove_unfinished(folder: &Path) {
    // The second as programs of earlier days called them.
    remove_left(folder, &[UNFINISHED, ".tmp"]);
}

/// The same for a folder that is not ours alone, in which other programs have theirs.
pub fn remove_unfinished_beside_others(folder: &Path) {
    remove_left(folder, &[UNFINISHED]);
}

fn remove_left(folder: &Path, beginnings: &[&str]) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.filter_map(Result::ok) {
        let name = entry.file_name().to_string_lossy().into_owned();
        let is_ours = |rest: &str| {
            rest.len() == RANDOM_CHARACTERS && rest.bytes().all(|b| b.is_ascii_alphanumeric())
        };
        let begins = beginnings.iter().any(|begin| name.strip_prefix(begin).is_some_and(is_ours));
        // To open a pipe would mean to wait for its writer.
        let can_be = entry.file_type().is_ok_and(|kind| kind.is_file() || kind.is_dir());
        let path = entry.path();
        if !begins || !can_be {
            continue;
        }
        let Ok(held) = File::open(&path) else { continue };
        let is_left = match held.try_lock() {
            Ok(()) => true,
            Err(fs::TryLockError::WouldBlock) => false,
            Err(fs::TryLockError::Error(_)) => is_old(&path),
        };
        if is_left {
            let _ = if path.is_dir() { fs::remove_dir_all(&path) } else { fs::remove_file(&path) };
        }
    }
}

fn is_old(path: &Path) -> bool {
    let written = fs::metadata(path).and_then(|m| m.modified());
    let age = written.ok().and_then(|at| SystemTime::now().duration_since(at).ok());
    age.is_some_and(|age| age > LEFT_BEHIND)
}
