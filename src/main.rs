//! Parse, run, exit.

use std::io::{IsTerminal, stderr, stdout};
use std::process::ExitCode;

use anstream::AutoStream;

fn main() -> ExitCode {
    if let (true, Some((width, _))) = (stdout().is_terminal(), terminal_size::terminal_size()) {
        waterflight::text::table::set_columns(width.0);
    }
    let colour =
        stderr().is_terminal() && AutoStream::choice(&stderr()) != anstream::ColorChoice::Never;
    let mut out = AutoStream::auto(stdout());
    let mut errors = AutoStream::auto(stderr());
    ExitCode::from(waterflight::cli::run(&mut out, &mut stdout(), &mut errors, colour) as u8)
}
