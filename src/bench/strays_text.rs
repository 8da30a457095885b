//! What of a bench is not read, as text.

use std::path::PathBuf;

use crate::text::table::wrapped;

/// One line for each reason, with everything that it holds for.
#[must_use]
pub fn text(strays: impl IntoIterator<Item = (PathBuf, String)>) -> String {
    let mut by_reason: Vec<(String, Vec<String>)> = Vec::new();
    for (path, why) in strays {
        let path = path.display().to_string();
        match by_reason.iter_mut().find(|(reason, _)| *reason == why) {
            Some((_, paths)) => paths.push(path),
            None => by_reason.push((why, vec![path])),
        }
    }
    by_reason
        .iter()
        .map(|(why, paths)| wrapped(&format!("note: not read: {}: {why}", paths.join(", ")), 2))
        .collect()
}
