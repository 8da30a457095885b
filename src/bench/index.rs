//! The index of a bench: what `journal`, `next` and `session plan` worked out of its sessions, in a file
//! beside them. It is never the truth: it may be thrown away at any time, one that is damaged or was
//! written by another program is made again without a word, and one that cannot be written costs time
//! and nothing else.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use crate::files::write::replace;
use crate::session::plan::key::seal;
use crate::session::results::WorkedOut;

/// Its name in the folder of sessions.
const INDEX: &str = ".index";

/// Our choice: a larger file is no index of ours.
const MOST_BYTES: u64 = 1 << 28;

/// What was worked out of the sessions of a bench before.
#[must_use]
pub fn read(root: &Path) -> WorkedOut {
    let path = path(root);
    // Nothing but a file is read: a pipe would wait for its writer.
    let is_file = fs::metadata(&path).is_ok_and(|meta| meta.is_file() && meta.len() <= MOST_BYTES);
    let text = is_file.then(|| fs::read_to_string(&path).ok()).flatten();
    match text.as_deref().zip(head()).and_then(|(text, head)| sound(text, &head)) {
        Some(lines) => WorkedOut::from_lines(lines.lines()),
        None => WorkedOut::default(),
    }
}

/// Keeps what was worked out, where anything is new.
pub fn keep(root: &Path, worked_out: &WorkedOut) {
    if worked_out.made() > 0
        && let Some(head) = head()
    {
        // It can be made again.
        let _ = write(root, &head, &worked_out.to_lines());
    }
}

fn write(root: &Path, head: &str, lines: &str) -> io::Result<()> {
    let body = format!("{head}\n{lines}");
    let sum = seal(&body);
    replace(&path(root), &(body + &sum + "\n"))
}

fn path(root: &Path) -> PathBuf {
    root.join("sessions").join(INDEX)
}

/// The first line: the very program that writes, since another one may work things out otherwise;
/// nothing where it cannot be told.
fn head() -> Option<String> {
    let program = fs::metadata(std::env::current_exe().ok()?).ok()?;
    let written = program.modified().ok()?.duration_since(SystemTime::UNIX_EPOCH).ok()?;
    let version = env!("CARGO_PKG_VERSION");
    Some(format!("waterflight index {version} {} {}", program.len(), written.as_nanos()))
}

/// The lines of an index, when it is whole and of this program.
fn sound<'a>(text: &'a str, head: &str) -> Option<&'a str> {
    let whole = text.strip_suffix('\n')?;
    let body = whole.get(..whole.rfind('\n')? + 1)?;
    let last = whole.get(body.len()..)?;
    let lines = body.strip_prefix(head)?.strip_prefix('\n')?;
    (last == seal(body)).then_some(lines)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_index_that_lost_or_changed_a_byte_is_none() {
        let body = "head\nsum\tanswer\n";
        let text = format!("{body}{}\n", seal(body));
        assert_eq!(sound(&text, "head"), Some("sum\tanswer\n"));
        assert_eq!(sound(&text, "another"), None);
        for at in 0..text.len() {
            assert_eq!(sound(text.get(..at).unwrap_or_default(), "head"), None, "cut at {at}");
            let mut bytes = text.clone().into_bytes();
            if let Some(byte) = bytes.get_mut(at) {
                *byte ^= 1;
            }
            let changed = String::from_utf8_lossy(&bytes);
            assert_eq!(sound(&changed, "head"), None, "changed at {at}");
        }
    }
}
