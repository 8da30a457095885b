//! What several tests begin with.

pub(crate) mod answers;
#[cfg(unix)]
pub(crate) mod terminal;

use std::error::Error;
use std::path::PathBuf;

use waterflight::bench::starter;

/// A starter bench in a temporary folder, which is removed when the first value is dropped.
pub(crate) fn starter_bench() -> Result<(tempfile::TempDir, PathBuf), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let bench = folder.path().join("bench");
    starter::start(&bench)?;
    Ok((folder, bench))
}
