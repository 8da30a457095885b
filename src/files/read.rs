//! Files into text, text into as-written values; every failure with its place.

use std::fs::{self, File};
use std::io::{self, ErrorKind, Read};
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use ron::Options;
use ron::error::{Error as RonError, SpannedError};
use ron::extensions::Extensions;
use serde::de::DeserializeOwned;

use crate::files::syntax;
use crate::files::{Diagnostic, Fault, SourceText};

/// Our choice: no bench file comes near this size, and a larger one is a mix-up.
const LARGEST_BYTES: u64 = 16 * 1024 * 1024;

/// Our choice: a named pipe that nobody writes to within this time is a mistake.
const LONGEST_WAIT: Duration = Duration::from_secs(1);

/// Reads a text file.
///
/// # Errors
/// A diagnostic for a missing file, a folder, a pipe or device, a file too large, or bytes that are
/// no UTF-8.
pub fn text(path: &Path) -> Result<SourceText, Diagnostic> {
    read_as_text(path, bytes(path, LARGEST_BYTES)).map_err(|mistake| {
        // Someone who has no such file may have no bench.
        if path.exists() || path.is_symlink() {
            return mistake;
        }
        mistake.remedy("check the name; `waterflight new DIR` starts a bench folder with examples")
    })
}

/// Reads a text that may also come from a pipe, as `/dev/stdin` or what a shell puts in the place of
/// a file.
///
/// # Errors
/// As [`text`] but for pipes and devices; and for a named pipe that nobody writes to.
pub fn streamed_text(path: &Path) -> Result<SourceText, Diagnostic> {
    let is_stream = fs::metadata(path).is_ok_and(|m| !m.is_file() && !m.is_dir());
    read_as_text(path, if is_stream { read_stream(path) } else { bytes(path, LARGEST_BYTES) })
}

fn read_as_text(path: &Path, bytes: io::Result<Vec<u8>>) -> Result<SourceText, Diagnostic> {
    let missing = |title: String| Diagnostic::new(Fault::Missing, title).about(path);
    let bytes = bytes.map_err(|error| match error.kind() {
        ErrorKind::NotFound if path.is_symlink() => {
            missing("this is a link to a file that is not there".to_owned())
                .remedy("remove the link, or put the file back")
        }
        ErrorKind::NotFound => missing("there is no such file".to_owned()).remedy("check the name"),
        ErrorKind::IsADirectory => missing("this is a folder, not a file".to_owned())
            .expected("a text file")
            .remedy("name the file inside it"),
        ErrorKind::FileTooLarge => missing("the file is too large for a bench file".to_owned())
            .expected(format!("at most {} MiB", LARGEST_BYTES / 1024 / 1024)),
        ErrorKind::InvalidInput => missing("this is no file but a pipe or a device".to_owned())
            .expected("a text file")
            .remedy("remove it, or put a text file in its place"),
        ErrorKind::TimedOut => missing("nobody writes to this pipe".to_owned())
            .expected("a file, or a pipe that something is written to"),
        _ => missing(format!("the file cannot be read: {error}")),
    })?;
    match String::from_utf8(bytes) {
        Ok(text) if is_named_so(path) => Ok(SourceText::new(path, &with_straight_quotes(&text))),
        Ok(text) => Ok(SourceText::new(path, &text)),
        Err(error) => {
            let good = error.utf8_error().valid_up_to();
            let readable = String::from_utf8_lossy(error.as_bytes()).into_owned();
            let source = SourceText::new(path, &readable);
            // What lies before the bad byte is the same in the readable copy.
            let span = good..(good + char::REPLACEMENT_CHARACTER.len_utf8());
            Err(Diagnostic::content("the file is not UTF-8 text")
                .at(&source, Some(span))
                .found(format!("a byte that is no UTF-8, at byte {good}"))
                .expected("UTF-8, as every editor can save it")
                .remedy("save the file again with the encoding UTF-8"))
        }
    }
}

/// The bytes of a file of so many at most.
pub(super) fn bytes(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    // Opening a pipe would wait for a writer.
    let metadata = fs::metadata(path)?;
    if metadata.is_dir() {
        return Err(ErrorKind::IsADirectory.into());
    }
    if !metadata.is_file() {
        return Err(no_file());
    }
    if metadata.len() > most {
        return Err(ErrorKind::FileTooLarge.into());
    }
    read_to_end(File::open(path)?, most)
}

/// That a pipe stands in the place of a file, or a device.
pub(super) fn no_file() -> io::Error {
    io::Error::new(ErrorKind::InvalidInput, "it is no file but a pipe or a device")
}

fn read_to_end(file: File, most: u64) -> io::Result<Vec<u8>> {
    let size = file.metadata().map_or(0, |metadata| metadata.len().min(most));
    let mut bytes = Vec::with_capacity(usize::try_from(size).unwrap_or_default());
    file.take(most + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > most {
        return Err(ErrorKind::FileTooLarge.into());
    }
    Ok(bytes)
}

/// Reads a pipe. Opening one by its name waits until somebody writes to it; that is done apart, so
/// that the wait has an end.
fn read_stream(path: &Path) -> io::Result<Vec<u8>> {
    let (opened, here) = mpsc::channel();
    let name = path.to_owned();
    thread::Builder::new().spawn(move || opened.send(File::open(name)))?;
    let opened = here.recv_timeout(LONGEST_WAIT).map_err(|_| ErrorKind::TimedOut)??;
    read_to_end(opened, LARGEST_BYTES)
}

/// How the names of the files that people write end, in any case.
pub const ENDING: &str = "ron";

/// Whether a name begins with a dot or a tilde, as those do that systems and editors leave beside files.
#[must_use]
pub fn is_hidden(path: &Path) -> bool {
    path.file_name().is_some_and(|name| name.to_string_lossy().starts_with(['.', '~']))
}

fn is_named_so(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case(ENDING))
}

/// Quotes that word processors make out of straight ones.
const CURLY: [char; 6] = ['“', '”', '„', '‟', '«', '»'];

/// A text with straight quotes where a program for letters has put curly ones. Those inside straight
/// quotes, and in remarks, are left as they are.
fn with_straight_quotes(text: &str) -> String {
    if !text.contains(CURLY) {
        return text.to_owned();
    }
    let mut out = String::with_capacity(text.len());
    let (mut straight, mut curly, mut remark, mut escaped) = (false, false, false, false);
    let mut before = ' ';
    for c in text.chars() {
        let mut written = c;
        match c {
            '\n' => (remark, straight, curly) = (false, straight, curly),
            _ if remark => {}
            _ if escaped => escaped = false,
            '\\' if straight || curly => escaped = true,
            '"' if !curly => straight = !straight,
            _ if CURLY.contains(&c) && !straight => {
                curly = !curly;
                written = '"';
            }
            '/' if before == '/' && !straight && !curly => remark = true,
            _ => {}
        }
        before = c;
        out.push(written);
    }
    out
}

/// Whether something in a folder of files that people write is one of them.
#[must_use]
pub fn is_read(path: &Path) -> bool {
    let ends_so = is_named_so(path);
    ends_so && !is_hidden(path) && !path.is_dir()
}

/// The files of a folder that end in `.ron`, by name; an absent folder holds none.
///
/// # Errors
/// When the folder cannot be listed or is a file.
pub fn ron_files(folder: &Path) -> Result<Vec<PathBuf>, Diagnostic> {
    let fail = |error: &io::Error| {
        Diagnostic::new(Fault::Missing, format!("the folder cannot be listed: {error}"))
            .about(folder)
            .expected("a folder of .ron files")
    };
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) if error.kind() == ErrorKind::NotADirectory => {
            return Err(Diagnostic::new(Fault::Missing, "a file stands where a folder belongs")
                .about(folder)
                .expected("a folder of .ron files")
                .remedy("give the file another name"));
        }
        Err(error) => return Err(fail(&error)),
    };
    let mut files = Vec::new();
    for entry in entries {
        let path = entry.map_err(|error| fail(&error))?.path();
        if is_read(&path) {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

/// What a name that is not known may mean, given the text in quotes behind it and the names that are expected.
pub type Meaning<'a> = &'a dyn Fn(&str, &str, &[&str]) -> Option<String>;

/// What a kind of files says of the names in them.
#[derive(Clone, Copy)]
pub struct Names<'a> {
    /// What a name that is not among those expected is called here, or where it belongs; with the text in
    /// quotes that stands behind it, empty where there is none.
    pub meaning: Meaning<'a>,
    /// Spellings of earlier days that are still read and no longer offered.
    pub outdated: &'a [&'a str],
    /// Where a whole file of this kind is to be seen.
    pub shown: &'a str,
}

/// Parses a text into as-written values.
///
/// # Errors
/// A diagnostic at the place where the text stops making sense: syntax, unknown or missing or
/// repeated names, values of another kind.
pub fn parse<T: DeserializeOwned>(source: &SourceText, names: Names<'_>) -> Result<T, Diagnostic> {
    Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME)
        .from_str(source.text())
        .map_err(|error| explain(source, &error, names))
}

/// The text in quotes behind a name and its colon; empty where there is none.
fn quoted_behind(text: &str, end_of_name: usize) -> &str {
    let behind = text.get(end_of_name..).unwrap_or_default().trim_start();
    let value = behind.strip_prefix(':').map(str::trim_start).and_then(|v| v.strip_prefix('"'));
    value.and_then(|v| v.split_once('"')).map_or("", |(quoted, _)| quoted)
}

fn explain(source: &SourceText, error: &SpannedError, names: Names<'_>) -> Diagnostic {
    let offered = |expected: &[&'static str]| -> Vec<&'static str> {
        expected.iter().copied().filter(|name| !names.outdated.contains(name)).collect()
    };
    let span = span(source, error);
    let place = span.clone();
    let content = |title: String| Diagnostic::content(title).at(source, Some(place));
    match &error.code {
        RonError::NoSuchStructField { expected, found, .. } => {
            let known = list(&offered(expected));
            let diagnostic = content(format!("`{found}` is not a name known here"))
                .found(format!("`{found}`"))
                .expected(known);
            match (names.meaning)(found, quoted_behind(source.text(), span.end), expected) {
                Some(said) => diagnostic.remedy(said),
                None => diagnostic
                    .remedy("remove it, or use one of the names above")
                    .near(found, &offered(expected)),
            }
        }
        RonError::MissingStructField { field, outer } => {
            let inside = outer.as_deref().map(|o| format!(" in {o}")).unwrap_or_default();
            content(format!("`{field}` is missing{inside}"))
                .expected(format!("`{field}: …`"))
                .remedy(format!("add it; {}", names.shown))
        }
        RonError::DuplicateStructField { field, .. } => {
            content(format!("`{field}` is given twice"))
                .found(format!("a second `{field}`"))
                .remedy("keep one of the two")
        }
        RonError::NoSuchEnumVariant { expected, found, .. } => {
            let diagnostic = content(format!("`{found}` is not one of the choices"))
                .found(format!("`{found}`"))
                .expected(list(&offered(expected)));
            diagnostic.near(found, expected)
        }
        RonError::ExpectedDifferentStructName { expected, found } => {
            content(format!("this file describes a `{found}`"))
                .found(format!("`{found}`"))
                .expected(format!("`{expected}( … )`"))
                .remedy("move the file to the folder of its kind, or begin it with the right word")
        }
        error => syntax::explain(source, &span, error, names.shown),
    }
}

/// The piece of text that the parser stumbled over; never empty where there is a character.
fn span(source: &SourceText, error: &SpannedError) -> Range<usize> {
    let start = source.offset(error.span.start.line, error.span.start.col);
    let end = source.offset(error.span.end.line, error.span.end.col).max(start);
    let text = source.text();
    let piece = text.get(start..end).unwrap_or_default();
    let skipped = piece.len() - piece.trim_start().len();
    let line = piece.trim_start().lines().next().unwrap_or_default().trim_end();
    if line.is_empty() {
        let next = text.get(end..).and_then(|rest| rest.chars().next()).map_or(0, char::len_utf8);
        return end..(end + next).min(text.len());
    }
    (start + skipped)..(start + skipped + line.len())
}

fn list(names: &[&str]) -> String {
    names.iter().map(|n| format!("`{n}`")).collect::<Vec<_>>().join(", ")
}
