//! How a run ends: text, mistakes, exit status.

use std::io::{self, ErrorKind, Write};

use crate::files::{Diagnostic, Fault, Mistakes};
use crate::planner::PlanError;
use crate::planner::lp::stages::SolveError;

/// What a command gives: its text, or its mistakes.
pub(super) type Outcome = Result<String, Mistakes>;

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

/// A mistake of the program itself.
pub(super) fn internal(error: &impl std::fmt::Display) -> Mistakes {
    Diagnostic::new(Fault::Internal, error.to_string())
        .remedy("this is a fault of the program: please report it with the bench folder")
        .into()
}

/// A flight that has no plan: what was not measured is for a person to mend, all else is a fault of
/// the program.
pub(super) fn unplanned(error: &PlanError) -> Mistakes {
    match error.source {
        SolveError::NotMeasured { what } => Diagnostic::new(Fault::Content, error.to_string())
            .expected(format!("{what} in the analysis of every base water"))
            .remedy(format!(
                "have it measured, or say what it is taken to be: `assumed: ({what}: \"…\")` in \
                     the file of the base water"
            ))
            .into(),
        _ => internal(error),
    }
}

/// A water that the chemistry has no answer for.
pub(super) fn too_strong(name: &str, error: &impl std::fmt::Display) -> Mistakes {
    Diagnostic::new(Fault::Content, format!("`{name}` cannot be computed: {error}"))
        .remedy("ask for a dilution of it, or check its amounts")
        .into()
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
