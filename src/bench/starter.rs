//! The starter bench: an invented scenario, embedded in the program.

use std::path::{Path, PathBuf};

use crate::files::{Diagnostic, write};

macro_rules! starter {
    ($($path:literal),* $(,)?) => {
        /// Files of the starter bench: path inside the folder, and text.
        pub const FILES: &[(&str, &str)] =
            &[$(($path, include_str!(concat!("../../stocks/demo/", $path))),)*];
    };
}

starter! {
    "bench.ron",
    "stocks/calcium.ron",
    "stocks/epsom.ron",
    "stocks/magchlor.ron",
    "stocks/potash.ron",
    "stocks/soda.ron",
    "stocks/table-salt.ron",
    "waters/harbour-tap.ron",
    "waters/hill-spring.ron",
    "flights/first-flight.ron",
}

/// Folders of a bench, in the order of the job; `salts` and `targets` are for the user's own.
pub(crate) const FOLDERS: [&str; 5] = ["salts", "stocks", "waters", "flights", "targets"];

/// Writes the starter bench into a new or empty folder. The mark of a bench comes last, so an
/// interrupted start is no bench.
///
/// # Errors
/// When the folder holds anything, or cannot be written.
pub fn start(folder: &Path) -> Result<Vec<PathBuf>, Diagnostic> {
    write::empty_folder(folder)?;
    for name in FOLDERS {
        write::subfolder(&folder.join(name))?;
    }
    write::new_file(&folder.join(IGNORED.0), IGNORED.1)?;
    let (mark, others): (Vec<_>, Vec<_>) =
        FILES.iter().partition(|(path, _)| *path == crate::bench::open::MARK);
    let mut written = Vec::new();
    for (path, text) in others.into_iter().chain(mark) {
        let file = folder.join(path);
        write::new_file(&file, text)?;
        written.push(file);
    }
    Ok(written)
}

/// What a bench in a repository leaves out of it: locks, and what a killed run left of a line.
pub(crate) const IGNORED: (&str, &str) = (
    ".gitignore",
    "# Locks hold nothing; torn ends of logs are kept aside for people.\nlock\n*.torn\n",
);

/// The mark of a bench that holds nothing yet.
const EMPTY_MARK: &str = "// This file marks the folder as a bench. Stocks, waters, flights and targets are files of \
     the\n// folders beside it; `waterflight add stock`, `add water` and `add target` ask for them.\n\
     Bench(\n    title: \"My bench\",\n)\n";

/// Writes the folders and the mark of a bench without any example.
///
/// # Errors
/// As [`start`].
pub fn empty(folder: &Path) -> Result<Vec<PathBuf>, Diagnostic> {
    write::empty_folder(folder)?;
    for name in FOLDERS {
        write::subfolder(&folder.join(name))?;
    }
    write::new_file(&folder.join(IGNORED.0), IGNORED.1)?;
    let mark = folder.join(crate::bench::open::MARK);
    write::new_file(&mark, EMPTY_MARK)?;
    Ok(vec![mark])
}
