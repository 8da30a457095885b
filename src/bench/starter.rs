//! The starter bench: an invented scenario, embedded in the program.

use std::path::{Path, PathBuf};

use crate::bench::layout::{MARK, WRITTEN};
use crate::bench::leftovers::remove_unfinished;
use crate::bench::no_bench::lost_mark;
use crate::files::{Diagnostic, Fault, write};

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

/// Writes the starter bench into a folder that is new, empty, or holds what a start left that was
/// stopped.
///
/// # Errors
/// When the folder holds anything else, or cannot be written.
pub fn start(folder: &Path) -> Result<Vec<PathBuf>, Diagnostic> {
    no_bench_yet(folder)?;
    folder_for_bench(folder, FILES)?;
    lay_out(folder, FILES)
}

/// Writes the folders of a bench and its files, those that are there and hold the same left as they are.
/// The mark comes last, so that an interrupted run leaves no bench.
///
/// # Errors
/// When one of them exists with another text, or cannot be written.
pub(crate) fn lay_out<T: AsRef<[u8]>>(
    folder: &Path,
    files: &[(&str, T)],
) -> Result<Vec<PathBuf>, Diagnostic> {
    for (name, _) in WRITTEN {
        write::subfolder(&folder.join(name))?;
    }
    write::new_files(&[(&folder.join(IGNORED.0), IGNORED.1)])?;
    let (mark, others): (Vec<_>, Vec<_>) = files.iter().partition(|(path, _)| *path == MARK);
    let mut written = Vec::new();
    for (path, content) in others.into_iter().chain(mark) {
        let file = folder.join(path);
        if let Some(around) = file.parent() {
            write::subfolder(around)?;
        }
        write::new_files(&[(&file, content)])?;
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
    no_bench_yet(folder)?;
    let files = [(MARK, EMPTY_MARK)];
    folder_for_bench(folder, &files)?;
    lay_out(folder, &files)
}

/// Creates a folder as [`write::folder_for`] does; of a bench that lost its mark it says how to go on.
///
/// # Errors
/// When it holds anything else, or cannot be created.
pub(crate) fn folder_for_bench<T: AsRef<[u8]>>(
    folder: &Path,
    files: &[(&str, T)],
) -> Result<(), Diagnostic> {
    write::folder_for(folder, files).map_err(|wrong| match lost_mark(folder) {
        Some(way) => wrong.remedy(way),
        None => wrong,
    })
}

/// That a folder holds no bench; what a stopped run left unfinished in it is removed.
///
/// # Errors
/// When it holds one.
pub(crate) fn no_bench_yet(folder: &Path) -> Result<(), Diagnostic> {
    remove_unfinished(folder);
    if folder.join(MARK).exists() {
        let add = format!(
            "`waterflight add stock --bench {0}` adds to it, and so do `add water` and `add target`; \
             another bench needs another name: nothing is ever written over",
            folder.display()
        );
        return Err(Diagnostic::new(Fault::Write, "there is a bench here already")
            .about(folder)
            .remedy(add));
    }
    Ok(())
}
