//! Logs: whole lines are added, none is ever changed. A line counts once its line break is on
//! disk; what a killed writer left behind the last line break is kept aside, never read.

use std::fs::{File, OpenOptions};
use std::io::{ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use crate::files::write::sync_folder;
use crate::files::{Diagnostic, Fault};

/// The lines of a log.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Log {
    /// Whole lines in the order in which they were added, without their line breaks.
    pub lines: Vec<String>,
    /// What stands behind the last line break: the piece of a line that never became whole.
    pub torn: Option<String>,
}

/// Reads a log; one that is not there yet has no lines.
///
/// # Errors
/// When it is there and cannot be read, or is not UTF-8 up to its last line break.
pub fn read(path: &Path) -> Result<Log, Diagnostic> {
    let (lines, tail) = halves(path)?;
    Ok(Log {
        lines: lines.lines().map(str::to_owned).collect(),
        torn: (!tail.is_empty()).then(|| String::from_utf8_lossy(&tail).into_owned()),
    })
}

/// The whole lines of a log as one text: a long one is not held twice.
///
/// # Errors
/// As [`read`].
pub fn read_whole_lines(path: &Path) -> Result<String, Diagnostic> {
    halves(path).map(|(lines, _)| lines)
}

/// What a log holds up to its last line break, and behind it.
fn halves(path: &Path) -> Result<(String, Vec<u8>), Diagnostic> {
    let fail = |what: String| Diagnostic::new(Fault::Missing, what).about(path);
    let mut bytes = match std::fs::read(path) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Default::default()),
        Err(error) => return Err(fail(format!("the log cannot be read: {error}"))),
    };
    let whole = whole_length(&bytes);
    let tail = bytes.split_off(whole.min(bytes.len()));
    let text = String::from_utf8(bytes).map_err(|_| {
        Diagnostic::new(Fault::Content, "the log is not UTF-8 text")
            .about(path)
            .remedy("it was changed by another program; restore it from a copy")
    })?;
    Ok((text, tail))
}

/// Where the torn piece of a log is kept aside: the same name with `.torn` behind it.
#[must_use]
pub fn aside(path: &Path) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(".torn");
    path.with_file_name(name)
}

/// Adds one line and waits until it is on disk. A torn piece that an earlier writer left at the
/// end is first copied aside, then cut off. The caller holds the lock of the log.
///
/// # Errors
/// When the line holds a line break, or the disk does not take it.
pub fn append(path: &Path, line: &str) -> Result<(), Diagnostic> {
    append_all(path, &[line])
}

/// Adds several lines in one write, as [`append`] adds one. A process killed in between leaves the
/// first few of them, each whole.
///
/// # Errors
/// As [`append`].
pub fn append_all(path: &Path, lines: &[&str]) -> Result<(), Diagnostic> {
    if lines.iter().any(|line| line.contains(['\n', '\r'])) {
        return Err(Diagnostic::new(Fault::Internal, "a line of a log cannot hold a line break")
            .about(path));
    }
    let text: String = lines.iter().flat_map(|line| [*line, "\n"]).collect();
    add(path, &text).map_err(|error| {
        Diagnostic::new(Fault::Write, format!("the log cannot be written: {error}"))
            .about(path)
            .remedy("nothing was recorded; free some space or choose a folder you may write to")
    })
}

fn add(path: &Path, text: &str) -> std::io::Result<()> {
    let is_new = !path.exists();
    let mut file =
        OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path)?;
    let mut bytes = Vec::new();
    file.read_to_end(&mut bytes)?;
    let whole = whole_length(&bytes);
    if let Some(tail) = bytes.get(whole..).filter(|tail| !tail.is_empty()) {
        keep_aside(&aside(path), tail)?;
        file.set_len(whole as u64)?;
    }
    file.seek(SeekFrom::Start(whole as u64))?;
    file.write_all(text.as_bytes())?;
    file.sync_all()?;
    if is_new {
        sync_folder(path.parent().unwrap_or_else(|| Path::new(".")))?;
    }
    Ok(())
}

fn keep_aside(path: &Path, tail: &[u8]) -> std::io::Result<()> {
    let mut file: File = OpenOptions::new().append(true).create(true).open(path)?;
    file.write_all(tail)?;
    file.write_all(b"\n")?;
    file.sync_all()
}

fn whole_length(bytes: &[u8]) -> usize {
    bytes.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    type Fallible = Result<(), Box<dyn std::error::Error>>;

    fn added(path: &Path, line: &str) -> Result<(), Diagnostic> {
        append(path, line)
    }

    #[test]
    fn lines_come_back_in_order() -> Fallible {
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("log");
        assert_eq!(read(&path).ok(), Some(Log::default()));
        added(&path, "one")?;
        added(&path, "two")?;
        assert_eq!(read(&path).map(|l| l.lines).ok(), Some(vec!["one".into(), "two".into()]));
        assert!(added(&path, "a\nb").is_err());
        Ok(())
    }

    /// A log cut at any byte, as a kill may leave it, gives all whole lines, and the next line
    /// is added behind them; the piece that was cut is found aside.
    #[test]
    fn a_log_cut_anywhere_goes_on() -> Fallible {
        let text = "eins\nzwölf\n";
        for cut in 0..=text.len() {
            let folder = tempfile::tempdir()?;
            let path = folder.path().join("log");
            let kept = text.as_bytes().get(..cut).unwrap_or_default();
            std::fs::write(&path, kept)?;
            let whole: Vec<String> = String::from_utf8_lossy(kept)
                .split_inclusive('\n')
                .filter_map(|l| l.strip_suffix('\n').map(str::to_owned))
                .collect();
            let log = read(&path)?;
            assert_eq!(log.lines, whole, "cut at {cut}");
            assert_eq!(log.torn.is_some(), cut > 0 && !kept.ends_with(b"\n"));
            added(&path, "next")?;
            let after = read(&path)?;
            assert_eq!(after.lines, [whole, vec!["next".to_owned()]].concat());
            assert_eq!(after.torn, None);
            assert_eq!(aside(&path).exists(), log.torn.is_some());
        }
        Ok(())
    }
}
