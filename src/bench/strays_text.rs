//! What of a bench is not read, as text.

use std::path::{Path, PathBuf};

use crate::bench::layout::MARK;
use crate::bench::strays::strays;
use crate::bench::unread_files;
use crate::text::table::wrapped;

/// Our choice: so many files that cannot be read are named before an answer.
const FEW: usize = 3;

/// What lies on the bench, looks like a file of it and is not read, and the files that cannot be read, but
/// where those are listed in the answer itself.
#[must_use]
pub fn not_read(root: &Path, listed: bool) -> String {
    // What is no bench is said by the command itself.
    if !root.join(MARK).is_file() {
        return String::new();
    }
    let inside = |path: &Path| path.strip_prefix(root).unwrap_or(path).to_owned();
    let text = text(strays(root).iter().map(|s| (inside(&s.path), s.why.to_string())));
    let unread = if listed { Vec::new() } else { unread_files(root) };
    let mut lines: Vec<(PathBuf, String, usize)> = Vec::new();
    for wrong in unread {
        let details = wrong.details();
        let path = details.path.as_deref().map(inside).unwrap_or_default();
        match lines.iter_mut().find(|(known, ..)| *known == path) {
            Some((.., more)) => *more += 1,
            None => lines.push((path, details.title.clone(), 0)),
        }
    }
    let others = lines.len().saturating_sub(FEW);
    let line = |(path, title, more): (PathBuf, String, usize)| {
        let more = if more == 0 { String::new() } else { format!(", and {more} more") };
        let line = format!("not read: {}: {title}{more} (`waterflight check`)", path.display());
        wrapped(&line, 2)
    };
    let text = lines.into_iter().take(FEW).map(line).fold(text, |all, line| all + &line);
    let rest = match others {
        0 => String::new(),
        1 => "not read: one more file (`waterflight check`)\n".to_owned(),
        n => format!("not read: {n} more files (`waterflight check`)\n"),
    };
    text + &rest
}

/// One line for each reason, with everything that it holds for.
fn text(strays: impl IntoIterator<Item = (PathBuf, String)>) -> String {
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
