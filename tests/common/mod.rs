//! What several tests begin with.

pub(crate) mod answers;
pub(crate) mod flights;
pub(crate) mod pages;
#[cfg(feature = "serve")]
pub(crate) mod phone;
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
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use waterflight::bench::session_folder::SessionFolder;
use waterflight::bench::starter;

/// What the program keeps for a user, away from the user who runs the tests.
pub(crate) fn state() -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).join("state")
}

/// The program, as a user of the tests runs it.
pub(crate) fn program() -> Result<Command, Box<dyn Error>> {
    let mut command = Command::cargo_bin("waterflight")?;
    command.env("XDG_STATE_HOME", state());
    Ok(command)
}

/// The text of a session's key, which only its secret opens.
pub(crate) fn key_text(bench: &Path, session: &str) -> Result<String, Box<dyn Error>> {
    let secret = state().join("waterflight/session-secret");
    let opened = SessionFolder::open(bench, session).and_then(|s| s.key_text(Some(&secret)));
    Ok(opened.map_err(|mistake| format!("{mistake:?}"))?)
}

/// A starter bench in a temporary folder, which is removed when the first value is dropped.
pub(crate) fn starter_bench() -> Result<(tempfile::TempDir, PathBuf), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let bench = folder.path().join("bench");
    starter::start(&bench)?;
    Ok((folder, bench))
}

/// So many random cases, or `CASES_TIMES` as many; the seed of one that fails is kept beside its test.
pub(crate) fn cases(number: u32) -> ProptestConfig {
    let times = std::env::var("CASES_TIMES").ok().and_then(|times| times.parse().ok());
    let times = times.unwrap_or(1_u32);
    let usual = ProptestConfig::default();
    ProptestConfig {
        cases: number.saturating_mul(times),
        max_global_rejects: usual.max_global_rejects.saturating_mul(times),
        failure_persistence: Some(Box::new(FileFailurePersistence::WithSource(
            "proptest-regressions",
        ))),
        ..usual
    }
}
