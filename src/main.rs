//! Parse, run, exit.

use std::io::{IsTerminal, Write, stderr, stdout};
use std::process::ExitCode;

use anstream::{AutoStream, ColorChoice};
use waterflight::cli::Screens;

fn main() -> ExitCode {
    if let (true, Some((width, _))) = (stdout().is_terminal(), terminal_size::terminal_size()) {
        waterflight::text::table::set_columns(width.0);
    }
    let screens = Screens {
        out: stdout().is_terminal(),
        errors: stderr().is_terminal(),
        out_in_colour: AutoStream::choice(&stdout()) != ColorChoice::Never,
        errors_in_colour: stderr().is_terminal()
            && AutoStream::choice(&stderr()) != ColorChoice::Never,
    };
    // Without colours there is nothing to take out of the text.
    let mut out: Box<dyn Write> = if screens.out_in_colour {
        Box::new(AutoStream::auto(stdout()))
    } else {
        Box::new(stdout())
    };
    let mut errors = AutoStream::auto(stderr());
    ExitCode::from(waterflight::cli::run(&mut out, &mut stdout(), &mut errors, screens) as u8)
}
