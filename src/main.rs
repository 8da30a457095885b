//! Parse, run, exit.

use std::io::{IsTerminal, Write, stderr, stdout};
use std::process::ExitCode;

use anstream::{AutoStream, ColorChoice};
use waterflight::cli::{Channel, Screens};

fn main() -> ExitCode {
    if let (true, Some((width, _))) = (stdout().is_terminal(), terminal_size::terminal_size()) {
        waterflight::text::table::set_columns(width.0);
    }
    let out = Channel {
        is_terminal: stdout().is_terminal(),
        in_colour: AutoStream::choice(&stdout()) != ColorChoice::Never,
    };
    let is_terminal = stderr().is_terminal();
    let in_colour = is_terminal && AutoStream::choice(&stderr()) != ColorChoice::Never;
    let screens = Screens { out, errors: Channel { is_terminal, in_colour } };
    // Without colours there is nothing to take out of the text.
    let mut out: Box<dyn Write> =
        if out.in_colour { Box::new(AutoStream::auto(stdout())) } else { Box::new(stdout()) };
    let mut errors = AutoStream::auto(stderr());
    ExitCode::from(waterflight::cli::run(&mut out, &mut stdout(), &mut errors, screens) as u8)
}
