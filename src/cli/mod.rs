//! The command line: arguments, one call into the library, one rendering.

mod alternatives;
mod arguments;
mod bench;
mod ladder;
mod mix;
mod new;
mod order;
mod outcome;
mod salts;
mod sources;
mod stock;
mod tables;
mod why;

use std::io::Write;

use clap::{CommandFactory, Parser};

use arguments::{Arguments, Verb};
pub use outcome::Status;

/// Runs the program on the process's own arguments; results go to `out`, mistakes to `errors`.
pub fn run(out: &mut dyn Write, errors: &mut dyn Write, colour: bool) -> Status {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => return outcome::usage(&error, out, errors),
    };
    let bench = arguments.bench.as_deref();
    let result = match &arguments.verb {
        Verb::New { folder } => new::run(folder, arguments.json),
        Verb::Salts { name } => salts::run(bench, name.as_deref(), arguments.json),
        Verb::Stock { name } => stock::run(bench, name.as_deref(), arguments.json),
        Verb::Mix { flight, order } => mix::run(bench, flight.as_deref(), order, arguments.json),
        Verb::Why { target, flight } => why::run(bench, target, flight.as_deref(), arguments.json),
        Verb::Alternatives { target, flight, most } => {
            alternatives::run(bench, target, flight.as_deref(), *most, arguments.json)
        }
        Verb::Ladder(options) => ladder::run(bench, options, arguments.json),
        Verb::Import(options) => tables::import(bench, options, arguments.json),
        Verb::Export { what, flight } => tables::export(bench, *what, flight.as_deref()),
        Verb::Sources => sources::run(arguments.json),
        Verb::Completions { shell } => {
            let mut script = Vec::new();
            clap_complete::generate(*shell, &mut Arguments::command(), "waterflight", &mut script);
            Ok(String::from_utf8_lossy(&script).into_owned())
        }
    };
    outcome::finish(result, out, errors, colour)
}
