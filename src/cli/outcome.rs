//! How a run ends: text, mistakes, exit status.

use std::io::{self, ErrorKind, Write};

use serde::Serialize;

use crate::app::mistakes::internal;
use crate::files::{Fault, Mistakes};
use crate::text::{Extent, Page};

/// What a command gives: its text, or its mistakes.
pub(super) type Outcome = Result<String, Mistakes>;

/// How an answer is given.
#[derive(Debug, Clone, Copy)]
pub(super) struct How {
    /// As one JSON document.
    pub(super) json: bool,
    /// How much of its text.
    pub(super) extent: Extent,
}

/// Exit status of the program; the numbers above 2 are those of `sysexits.h` (BSD).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Status {
    /// Everything was done.
    Done = 0,
    /// Done in part: some water of a flight has no answer, and the others have.
    Partly = 1,
    /// The command line was not understood, or names something that is not there.
    Usage = 2,
    /// The content of a file is wrong.
    Content = 65,
    /// A file or folder is missing or cannot be read.
    Missing = 66,
    /// The program itself is at fault.
    Internal = 70,
    /// A file or folder cannot be written.
    Write = 73,
}

impl From<Fault> for Status {
    fn from(fault: Fault) -> Self {
        match fault {
            Fault::Content => Status::Content,
            Fault::Missing => Status::Missing,
            Fault::Choice => Status::Usage,
            Fault::Write => Status::Write,
            Fault::Internal => Status::Internal,
        }
    }
}

/// A report as one JSON document, or as the text that is made of it.
pub(super) fn answer<T: Serialize>(
    report: &T,
    json: bool,
    text: impl FnOnce(&T) -> String,
) -> Outcome {
    if json {
        return crate::text::json::document(report).map_err(|e| internal(&e));
    }
    Ok(text(report))
}

/// A page as text, or its data.
pub(super) fn shown(page: &Page, data: &impl Serialize, json: bool) -> Outcome {
    answer(data, json, |_| crate::text::page_text::text(page))
}

/// What is said of a new record.
pub(super) fn numbered(n: u64) -> String {
    format!("Record {n}; `waterflight undo {n}` takes it back.\n")
}

/// The same in the extent that is asked for.
pub(super) fn shown_in(page: &Page, data: &impl Serialize, how: How) -> Outcome {
    answer(data, how.json, |_| match how.extent {
        Extent::Screen => crate::text::page_text::first_screen(page),
        Extent::Full => crate::text::page_text::text(page),
    })
}

/// Writes the text or the mistakes. A reader that has gone away is no mistake.
pub(super) fn finish(
    outcome: Outcome,
    partly: bool,
    out: &mut dyn Write,
    errors: &mut dyn Write,
    colour: bool,
) -> Status {
    let (status, written) = match outcome {
        Ok(text) if partly => {
            (Status::Partly, out.write_all(text.as_bytes()).and_then(|()| out.flush()))
        }
        Ok(text) => (Status::Done, out.write_all(text.as_bytes()).and_then(|()| out.flush())),
        Err(mistakes) => {
            let drawn: String =
                mistakes.iter().map(|m| crate::text::diagnostic::text(m, colour)).collect();
            let status = mistakes.fault().into();
            (status, errors.write_all(drawn.as_bytes()).and_then(|()| errors.flush()))
        }
    };
    after_writing(status, written)
}

/// Help and version go to standard output, mistakes on the command line to the other.
pub(super) fn usage(error: &clap::Error, out: &mut dyn Write, errors: &mut dyn Write) -> Status {
    let text = error.render().ansi().to_string();
    if error.use_stderr() {
        after_writing(Status::Usage, errors.write_all(text.as_bytes()))
    } else {
        after_writing(Status::Done, out.write_all(text.as_bytes()))
    }
}

fn after_writing(status: Status, written: io::Result<()>) -> Status {
    match written {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Status::Write,
        _ => status,
    }
}
