//! Logs: whole lines are added, none is ever changed. A line counts once its line break is on
//! disk; what a killed writer left behind the last line break is kept aside, never read. A line that
//! the disk did not confirm is taken back before anything is said of it.

use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use crate::files::disk::{Disk, OnDisk, around, sync};
use crate::files::disk_errors::{WHEN_NOT_ALLOWED, is_not_allowed, why_not};
use crate::files::read::{bytes as bytes_of, no_file};
use crate::files::{Diagnostic, Fault};

/// Our choice: no log of a bench comes near this size, and a larger one is a mix-up or was damaged;
/// a million lines of batches are smaller.
const LARGEST_BYTES: u64 = 512 * 1024 * 1024;

/// The lines of a log.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Log {
    /// Whole lines in the order in which they were added, without their line breaks. One that is no
    /// text is empty here, as no line is that was written.
    pub lines: Vec<String>,
    /// What stands behind the last line break: the piece of a line that never became whole.
    pub torn: Option<String>,
}

/// Reads a log; one that is not there yet has no lines.
///
/// # Errors
/// When it is there and cannot be read.
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
    let mut bytes = match bytes_of(path, LARGEST_BYTES) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Default::default()),
        Err(error) if error.kind() == ErrorKind::FileTooLarge => {
            return Err(fail("the log is too large".to_owned())
                .expected(format!("at most {} MiB", LARGEST_BYTES / 1024 / 1024))
                .remedy("restore it from a copy"));
        }
        Err(error) => return Err(fail(format!("the log cannot be read: {error}"))),
    };
    let whole = bytes.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
    let tail = bytes.split_off(whole.min(bytes.len()));
    let text = String::from_utf8(bytes).unwrap_or_else(|error| {
        let lines = error.as_bytes().split_inclusive(|b| *b == b'\n');
        lines.map(|line| std::str::from_utf8(line).unwrap_or("\n")).collect()
    });
    Ok((text, tail))
}

/// Where the torn piece of a log is kept aside: the same name with `.torn` behind it.
#[must_use]
pub fn aside(path: &Path) -> PathBuf {
    path.with_added_extension("torn")
}

/// Why a line was not added.
#[derive(Debug)]
enum NotAdded {
    /// The disk did not take it, and the log is as it was.
    TakenBack(io::Error),
    /// The disk did not confirm it, and it cannot be taken back either.
    Uncertain(io::Error),
}

/// Adds one line and waits until it is on disk. A torn piece that an earlier writer left at the
/// end is first copied aside, then cut off. The caller holds the lock of the log.
///
/// # Errors
/// When the line holds a line break, or the disk does not take it; the log is then as it was.
pub fn append(path: &Path, line: &str) -> Result<(), Diagnostic> {
    append_all(path, &[line])
}

/// Adds several lines in one write, as [`append`] adds one: all of them are confirmed or none is left. A
/// process killed in between leaves the first few of them, each whole.
///
/// # Errors
/// As [`append`].
pub fn append_all(path: &Path, lines: &[&str]) -> Result<(), Diagnostic> {
    if lines.iter().any(|line| line.contains(['\n', '\r'])) {
        return Err(Diagnostic::new(Fault::Internal, "a line of a log cannot hold a line break")
            .about(path));
    }
    let cannot = |error: &io::Error| {
        let what = format!("the log cannot be written: {}", why_not(error));
        Diagnostic::new(Fault::Write, what).about(path)
    };
    add_to_file(path, lines).map_err(|error| match error {
        NotAdded::TakenBack(error) if is_not_allowed(&error) => {
            cannot(&error).remedy(WHEN_NOT_ALLOWED)
        }
        NotAdded::TakenBack(error) => cannot(&error).remedy(
            "nothing was recorded in it; make room on the disk, or choose a folder that you may \
                 write to",
        ),
        NotAdded::Uncertain(error) => cannot(&error).remedy(
            "the last line may or may not be recorded: look at it before you enter it again, once \
             the disk works",
        ),
    })
}

fn add_to_file(path: &Path, lines: &[&str]) -> Result<(), NotAdded> {
    let open = || -> io::Result<OnDisk<'_>> {
        if !may_be_opened(path) {
            return Err(no_file());
        }
        let new_in = (!path.exists()).then(|| around(path));
        let mut options = OpenOptions::new();
        let file = options.read(true).write(true).create(true).truncate(false).open(path)?;
        Ok(OnDisk { file, new_in })
    };
    let keep = |tail: &[u8]| keep_aside(&aside(path), tail);
    add(&mut open().map_err(NotAdded::TakenBack)?, lines, keep)
}

fn add(
    disk: &mut impl Disk,
    lines: &[&str],
    keep_aside: impl FnOnce(&[u8]) -> io::Result<()>,
) -> Result<(), NotAdded> {
    let (whole, tail) = end_of(disk).map_err(NotAdded::TakenBack)?;
    if !tail.is_empty() {
        keep_aside(&tail).map_err(NotAdded::TakenBack)?;
        disk.cut(whole).map_err(NotAdded::TakenBack)?;
    }
    let bytes: String = lines.iter().flat_map(|line| [*line, "\n"]).collect();
    let bytes = bytes.as_bytes();
    let Err(error) = disk.write(whole, bytes).and_then(|()| disk.sync()) else { return Ok(()) };
    // Whoever reads from now on finds the log as it was. Where it cannot be cut, the lines lose what was
    // written of them, with the line breaks without which they do not count.
    let back = disk.cut(whole).or_else(|_| {
        let left = usize::try_from(disk.length()?.saturating_sub(whole)).unwrap_or_default();
        disk.write(whole, &vec![b' '; left.min(bytes.len())])
    });
    let _ = disk.sync();
    Err(if back.is_ok() { NotAdded::TakenBack(error) } else { NotAdded::Uncertain(error) })
}

/// Where the last whole line ends, and what stands behind it. Only the end of the file is read.
fn end_of(disk: &mut impl Disk) -> io::Result<(u64, Vec<u8>)> {
    /// Our choice: longer than nearly every line.
    const FIRST_PIECE: u64 = 64 * 1024;
    let mut from = disk.length()?;
    if from > LARGEST_BYTES {
        return Err(ErrorKind::FileTooLarge.into());
    }
    // Each piece is twice as long as the one before, so that no byte is copied often.
    let mut longest = FIRST_PIECE;
    let mut tail = Vec::new();
    while from > 0 {
        let length = longest.min(from);
        longest *= 2;
        from -= length;
        let mut piece = vec![0; usize::try_from(length).unwrap_or_default()];
        disk.read(from, &mut piece)?;
        piece.extend_from_slice(&tail);
        tail = piece;
        if let Some(at) = tail.iter().rposition(|b| *b == b'\n') {
            let behind = tail.split_off(at + 1);
            return Ok((from + at as u64 + 1, behind));
        }
    }
    Ok((0, tail))
}

/// Whether what stands under a name is a file, or nothing: to open a pipe would mean to wait for
/// whoever reads it.
pub(super) fn may_be_opened(path: &Path) -> bool {
    match fs::metadata(path) {
        Ok(metadata) => metadata.is_file(),
        Err(_) => true,
    }
}

fn keep_aside(path: &Path, tail: &[u8]) -> io::Result<()> {
    if !may_be_opened(path) {
        return Err(no_file());
    }
    let mut file: File = OpenOptions::new().append(true).create(true).open(path)?;
    file.write_all(tail)?;
    file.write_all(b"\n")?;
    sync(&file)
}

#[cfg(test)]
mod tests {
    use super::*;

    type Fallible = Result<(), Box<dyn std::error::Error>>;

    #[test]
    fn lines_come_back_in_order() -> Fallible {
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("log");
        assert_eq!(read(&path).ok(), Some(Log::default()));
        append(&path, "one")?;
        append(&path, "two")?;
        assert_eq!(read(&path).map(|l| l.lines).ok(), Some(vec!["one".into(), "two".into()]));
        assert!(append(&path, "a\nb").is_err());
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
            fs::write(&path, kept)?;
            let whole: Vec<String> = String::from_utf8_lossy(kept)
                .split_inclusive('\n')
                .filter_map(|l| l.strip_suffix('\n').map(str::to_owned))
                .collect();
            let log = read(&path)?;
            assert_eq!(log.lines, whole, "cut at {cut}");
            assert_eq!(log.torn.is_some(), cut > 0 && !kept.ends_with(b"\n"));
            append(&path, "next")?;
            let after = read(&path)?;
            assert_eq!(after.lines, [whole, vec!["next".to_owned()]].concat());
            assert_eq!(after.torn, None);
            assert_eq!(aside(&path).exists(), log.torn.is_some());
        }
        Ok(())
    }

    /// A disk in memory of which some things fail.
    #[derive(Default)]
    struct Failing {
        bytes: Vec<u8>,
        room: usize,
        fails_to_sync: bool,
        fails_to_cut: bool,
        fails_to_write_over: bool,
    }

    impl Disk for Failing {
        fn length(&mut self) -> io::Result<u64> {
            Ok(self.bytes.len() as u64)
        }

        fn read(&mut self, from: u64, into: &mut [u8]) -> io::Result<()> {
            let from = usize::try_from(from).unwrap_or_default();
            let piece = self.bytes.get(from..from + into.len());
            into.copy_from_slice(piece.ok_or(ErrorKind::UnexpectedEof)?);
            Ok(())
        }

        fn write(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
            let at = usize::try_from(at).unwrap_or_default();
            if at < self.bytes.len() {
                if self.fails_to_write_over {
                    return Err(io::Error::other("broken"));
                }
                self.bytes.truncate(at);
                self.bytes.extend_from_slice(bytes);
                return Ok(());
            }
            let fits = bytes.len().min(self.room - at);
            self.bytes.extend_from_slice(bytes.get(..fits).unwrap_or_default());
            if fits < bytes.len() { Err(ErrorKind::StorageFull.into()) } else { Ok(()) }
        }

        fn cut(&mut self, length: u64) -> io::Result<()> {
            if self.fails_to_cut {
                return Err(io::Error::other("broken"));
            }
            self.bytes.truncate(usize::try_from(length).unwrap_or_default());
            Ok(())
        }

        fn sync(&mut self) -> io::Result<()> {
            if self.fails_to_sync { Err(io::Error::other("broken")) } else { Ok(()) }
        }
    }

    fn whole_lines(disk: &Failing) -> usize {
        disk.bytes.split(|b| *b == b'\n').count() - 1
    }

    /// Whatever fails: a line that is not confirmed does not count, and "nothing was recorded" is
    /// said only where nothing was.
    #[test]
    fn what_the_disk_does_not_confirm_does_not_count() {
        for room in 0..20 {
            for failing in 0..8 {
                let mut disk = Failing {
                    bytes: b"one\n".to_vec(),
                    room: room + 4,
                    fails_to_sync: failing & 1 > 0,
                    fails_to_cut: failing & 2 > 0,
                    fails_to_write_over: failing & 4 > 0,
                };
                let outcome = add(&mut disk, &["another"], |_| Ok(()));
                let counts = whole_lines(&disk) == 2;
                match outcome {
                    Ok(()) => assert!(counts && !disk.fails_to_sync),
                    Err(NotAdded::TakenBack(_)) => assert!(!counts, "{room} {failing}"),
                    Err(NotAdded::Uncertain(_)) => {
                        assert!(disk.fails_to_cut && disk.fails_to_write_over);
                    }
                }
                assert!(disk.bytes.starts_with(b"one\n"));
            }
        }
    }

    #[test]
    fn the_end_of_a_long_log_is_found_without_reading_all_of_it() -> Fallible {
        let mut disk = Failing { room: usize::MAX, ..Failing::default() };
        disk.bytes = [b"first\n".to_vec(), vec![b'x'; 200_000]].concat();
        let (whole, tail) = end_of(&mut disk)?;
        assert_eq!((whole, tail.len()), (6, 200_000));
        disk.bytes.push(b'\n');
        assert_eq!(end_of(&mut disk)?, (200_007, Vec::new()));
        Ok(())
    }
}
