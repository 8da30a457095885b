//! A folder that is no bench: said with the way out where it was one, or nearly is.

use std::path::{Path, PathBuf};

use crate::bench::layout::MARK;
use crate::bench::records::{batches_path, pours_path};
use crate::bench::strays::nearly_the_mark;
use crate::files::{Diagnostic, Fault, read};

/// The bench folder that `start` is in: itself or the nearest folder above it with `bench.ron`.
///
/// # Errors
/// When there is none up to the root.
pub fn find_root(start: &Path) -> Result<PathBuf, Diagnostic> {
    start.ancestors().find(|folder| folder.join(MARK).is_file()).map(Path::to_owned).ok_or_else(
        || {
            let otherwise = "start one with `waterflight new DIR`, or name one with `--bench DIR`";
            Diagnostic::new(Fault::Missing, "there is no bench here")
                .about(start)
                .expected(format!("a folder with `{MARK}`, here or above"))
                .remedy(start.ancestors().find_map(lost_mark).unwrap_or(otherwise.to_owned()))
        },
    )
}

/// That a folder is no bench.
pub(super) fn no_bench_in(root: &Path) -> Diagnostic {
    Diagnostic::new(Fault::Missing, "this is no bench folder")
        .about(root)
        .expected(format!("a folder with `{MARK}` in it"))
        .remedy(lost_mark(root).unwrap_or("start one with `waterflight new DIR`".to_owned()))
}

/// The way out where a folder was a bench and has no mark, or one of another name.
pub(super) fn lost_mark(folder: &Path) -> Option<String> {
    let again = || {
        format!(
            "if this is the bench, restore `{MARK}` from a copy, or write a file of that name with \
             `Bench(title: \"My bench\")` in it: all else is still here, but for what `{MARK}` said of \
             tools, dispensers and prices"
        )
    };
    renamed_mark(folder).or_else(|| was_a_bench(folder).then(again))
}

/// Whether a folder without a mark holds what only a bench has: records, or stocks and flights.
fn was_a_bench(folder: &Path) -> bool {
    let holds =
        |name: &str| read::ron_files(&folder.join(name)).is_ok_and(|files| !files.is_empty());
    let is_recorded = [batches_path(folder), pours_path(folder)].iter().any(|log| log.is_file());
    is_recorded || (holds("stocks") && holds("flights"))
}

/// The remedy where a folder holds a file that may have been meant as the mark of a bench.
fn renamed_mark(folder: &Path) -> Option<String> {
    let nearly = nearly_the_mark(folder)?;
    Some(format!("if this is the bench, rename `{}` to `{MARK}`", nearly.display()))
}
