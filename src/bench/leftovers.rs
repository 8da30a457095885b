//! What stopped runs leave in a bench: files and folders that never became whole.

use std::path::Path;

use crate::files::unfinished;

/// The folders of a bench in which the tool writes.
const FOLDERS: [&str; 6] = ["salts", "stocks", "waters", "flights", "records", "sessions"];

/// Removes it. What another run is writing is left alone.
pub fn remove_unfinished(root: &Path) {
    unfinished::remove_unfinished(root);
    for folder in FOLDERS {
        unfinished::remove_unfinished(&root.join(folder));
    }
    let sessions = std::fs::read_dir(root.join("sessions"));
    for session in sessions.into_iter().flatten().filter_map(Result::ok) {
        unfinished::remove_unfinished(&session.path());
    }
}
