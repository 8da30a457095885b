//! Sessions that were on the bench and are not there any more, as far as anything tells of them.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use crate::bench::Records;
use crate::bench::layout::OF_A_SESSION;
use crate::files::read::is_hidden;
use crate::files::{Diagnostic, Fault};
use crate::session::blind::PLAN;
use crate::text::command_line::typed;

/// The folders of sessions that hold files of one and no plan; none where they cannot be listed.
fn folders_without_plan(root: &Path) -> Vec<String> {
    let listed = fs::read_dir(root.join("sessions")).into_iter().flatten().flatten();
    let is_left = |path: &Path| {
        let holds = |file: &str| path.join(file).is_file();
        !is_hidden(path) && !holds(PLAN) && OF_A_SESSION.into_iter().any(holds)
    };
    listed
        .filter(|entry| is_left(&entry.path()))
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect()
}

/// The sessions that a folder without a plan or a record tells of, each with the record that says that it was
/// poured; also those that are whole.
#[must_use]
pub(super) fn mentioned(root: &Path, records: &Records) -> BTreeMap<String, Option<u64>> {
    let mut found: BTreeMap<String, Option<u64>> =
        folders_without_plan(root).into_iter().map(|name| (name, None)).collect();
    for pour in &records.pours {
        if let Some(session) = &pour.session {
            found.entry(session.clone()).or_default().get_or_insert(pour.n.unwrap_or_default());
        }
    }
    found
}

/// What is lost of the sessions beside those that are `there`. One that was taken back is not missed.
#[must_use]
pub(super) fn lost_sessions(root: &Path, records: &Records, there: &[String]) -> Vec<Diagnostic> {
    let is_missed =
        |name: &String| !there.contains(name) && !records.withdrawn_sessions.contains(name);
    let missed = mentioned(root, records).into_iter().filter(|(name, _)| is_missed(name));
    missed.map(|(name, poured)| lost(root, &name, poured)).collect()
}

fn lost(root: &Path, name: &str, poured: Option<u64>) -> Diagnostic {
    let folder = root.join("sessions").join(name);
    let (what, path) = if folder.is_dir() {
        ("the plan of this session is lost", folder.join(PLAN))
    } else {
        ("the folder of this session is lost", folder)
    };
    let (known_from, poured) = match poured {
        Some(n) => (
            format!("record {n}, which says that it was poured"),
            ", and what was poured for it stays poured",
        ),
        None => ("other files of the session".to_owned(), ""),
    };
    Diagnostic::new(Fault::Missing, what).about(path).found(known_from).remedy(format!(
        "restore it from a copy of the bench; if the session was thrown away on purpose, `waterflight undo \
         {}` says so{poured}",
        typed(name)
    ))
}
