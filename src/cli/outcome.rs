//! How a run ends: text, mistakes, exit status.

use std::borrow::Cow;
use std::io::{self, ErrorKind, Write};
use std::path::Path;

use anstream::adapter::strip_str;
use anstyle::Style;
use serde::Serialize;

use crate::app::mistakes::internal;
use crate::files::{Fault, Mistakes};
use crate::text::table::{columns, fitted};
use crate::text::{Extent, Page, command_line, diagnostic, visible};

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

/// The same with numbers of JSON rounded to what a kitchen can use.
pub(super) fn rounded<T: Serialize>(
    report: &T,
    json: bool,
    text: impl FnOnce(&T) -> String,
) -> Outcome {
    if json {
        return crate::text::json::rounded(report).map_err(|e| internal(&e));
    }
    Ok(text(report))
}

/// A page as text, or its data.
pub(super) fn shown(page: &Page, data: &impl Serialize, json: bool) -> Outcome {
    answer(data, json, |_| crate::text::page_text::text(page))
}

/// The same in the extent that is asked for.
pub(super) fn shown_in(page: &Page, data: &impl Serialize, how: How) -> Outcome {
    answer(data, how.json, |_| match how.extent {
        Extent::Screen => crate::text::page_text::first_screen(page),
        Extent::Full => crate::text::page_text::text(page),
    })
}

/// A text whose proposals of a next command are for the bench that was named, as this one was.
pub(super) fn for_bench(text: String, named: Option<&Path>) -> String {
    match named {
        Some(named) => command_line::for_bench(&text, named),
        None => text,
    }
}

/// Mistakes whose ways out are for the bench that was named, as this one was.
pub(super) fn remedies_for_bench(mistakes: Mistakes, named: Option<&Path>) -> Mistakes {
    let Some(named) = named else { return mistakes };
    let said = |text: &str| command_line::for_bench_unbroken(text, named);
    mistakes.map(|mistake| mistake.expected_in(said).remedy_in(said))
}

/// Mistakes whose ways out are for the session that was named, where one was.
pub(super) fn for_session(mistakes: Mistakes, named: Option<&str>) -> Mistakes {
    let Some(session) = named else { return mistakes };
    let said = |text: &str| command_line::for_session(text, session);
    mistakes.map(|mistake| mistake.remedy_in(said))
}

/// What the two channels of the program lead to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Screens {
    /// Standard output.
    pub out: Channel,
    /// Where mistakes go.
    pub errors: Channel,
}

/// What a channel leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Channel {
    /// It is a terminal.
    pub is_terminal: bool,
    /// It shows colours.
    pub in_colour: bool,
}

/// What a command gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Data for other programs.
    Data,
    /// Words for people.
    Words,
    /// The same, with headings in colour.
    ColouredWords,
}

/// How a command that ended well is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Ending {
    /// Something was left out.
    pub(super) partly: bool,
    /// Something is on disk now.
    pub(super) writes: bool,
    /// What the text is.
    pub(super) kind: Kind,
}

/// Writes the text or the mistakes. A reader that has gone away is no mistake, unless something was
/// recorded: the answer then goes to the other channel, since who asked must know of it.
pub(super) fn finish(
    outcome: Outcome,
    ending: Ending,
    out: &mut dyn Write,
    errors: &mut dyn Write,
    screens: Screens,
) -> Status {
    let text = match outcome {
        Ok(text) => text,
        Err(mistakes) => {
            let width = screens.errors.is_terminal.then(columns);
            let drawn =
                mistakes.iter().map(|m| diagnostic::text(m, screens.errors.in_colour, width));
            let drawn: String = drawn.collect();
            let status = mistakes.fault().into();
            let written = errors.write_all(drawn.as_bytes()).and_then(|()| errors.flush());
            return after_writing(status, written);
        }
    };
    let status = if ending.partly { Status::Partly } else { Status::Done };
    let shown = as_shown(&text, ending, screens);
    let Err(error) = out.write_all(shown.as_bytes()).and_then(|()| out.flush()) else {
        return status;
    };
    let is_gone = error.kind() == ErrorKind::BrokenPipe;
    if ending.writes {
        let plain = if ending.kind == Kind::ColouredWords { strip_styles(&text) } else { text };
        let said = format!(
            "the answer cannot be written to standard output: {error}\nwhat was asked is done and on \
             disk; the answer was:\n{}",
            visible(&plain)
        );
        // There is no third channel.
        let _ = errors.write_all(said.as_bytes()).and_then(|()| errors.flush());
    } else if !is_gone {
        let said = format!("the answer cannot be written to standard output: {error}\n");
        let _ = errors.write_all(said.as_bytes()).and_then(|()| errors.flush());
    }
    if is_gone { status } else { Status::Write }
}

/// A text as its reader gets it: data as they are, unless a terminal would take them for commands; words
/// without control characters, but for the colours of our own headings.
fn as_shown(text: &str, ending: Ending, screens: Screens) -> Cow<'_, str> {
    if ending.kind == Kind::Data {
        return if screens.out.is_terminal { visible(text) } else { Cow::Borrowed(text) };
    }
    let text = fitted(text);
    if ending.kind == Kind::Words {
        return Cow::Owned(visible(&text).into_owned());
    }
    if screens.out.in_colour {
        // Of all lines only headings of waters have colours; the words in them are clean.
        let bold = Style::new().bold().to_string();
        let line = |line: &str| {
            if line.starts_with(&bold) { line.to_owned() } else { visible(line).into_owned() }
        };
        return Cow::Owned(text.split_inclusive('\n').map(line).collect());
    }
    Cow::Owned(visible(&strip_styles(&text)).into_owned())
}

/// The text without the colours of our own headings.
fn strip_styles(text: &str) -> String {
    let bold = Style::new().bold().to_string();
    let line = |line: &str| {
        if line.starts_with(&bold) { strip_str(line).to_string() } else { line.to_owned() }
    };
    text.split_inclusive('\n').map(line).collect()
}

/// Help and version go to standard output, mistakes on the command line to the other.
pub(super) fn usage(
    error: &clap::Error,
    out: &mut dyn Write,
    errors: &mut dyn Write,
    screens: Screens,
) -> Status {
    let text = |in_colour: bool, is_terminal: bool| {
        let text = error.render();
        let text = if in_colour {
            text.ansi().to_string()
        } else {
            visible(&text.to_string()).into_owned()
        };
        // What the reader of numbers says helps nobody who typed one.
        let text = ["invalid digit found in string", "cannot parse integer from empty string"]
            .iter()
            .fold(text, |text, said| text.replace(said, "a whole number belongs here, as in 3"));
        let text = bounds_in_words(&text);
        if is_terminal { fitted(&text).into_owned() } else { text }
    };
    if error.use_stderr() {
        let text = text(screens.errors.in_colour, screens.errors.is_terminal);
        after_writing(Status::Usage, errors.write_all(text.as_bytes()))
    } else {
        let written =
            out.write_all(text(screens.out.in_colour, screens.out.is_terminal).as_bytes());
        after_writing(Status::Done, written.and_then(|()| out.flush()))
    }
}

/// `0 is not in 1..=1000` as a sentence.
fn bounds_in_words(text: &str) -> String {
    const RANGE: &str = " is not in ";
    let parts = text.split_once(RANGE).and_then(|(before, bounds)| {
        let (least, most) = bounds.split_once("..=")?;
        // Help has other words between the two.
        least.chars().all(|c| c.is_ascii_digit()).then_some((before, least, most))
    });
    match parts {
        Some((before, least, most)) => {
            format!("{before} is no whole number from {least} to {most}")
        }
        None => text.to_owned(),
    }
}

fn after_writing(status: Status, written: io::Result<()>) -> Status {
    match written {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Status::Write,
        _ => status,
    }
}
