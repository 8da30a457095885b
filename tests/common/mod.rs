//! What several tests begin with.

pub(crate) mod answers;
pub(crate) mod flights;
pub(crate) mod pages;
pub(crate) mod place;
pub(crate) mod requests;
pub(crate) mod shelf;
#[cfg(feature = "serve")]
pub(crate) mod table;
pub(crate) mod tables;
#[cfg(unix)]
pub(crate) mod terminal;
pub(crate) mod webdriver;

use proptest::prelude::ProptestConfig;
use proptest::test_runner::FileFailurePersistence;
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

/// So many random cases; the seed of one that fails is kept beside its test.
pub(crate) fn cases(number: u32) -> ProptestConfig {
    ProptestConfig {
        cases: number,
        failure_persistence: Some(Box::new(FileFailurePersistence::WithSource(
            "proptest-regressions",
        ))),
        ..ProptestConfig::default()
    }
}
