//! The command line: arguments, one call into the library, one rendering.

mod advise;
mod aim;
mod alternatives;
mod amount;
mod arguments;
mod batch;
mod bench;
mod check;
mod concentrate;
mod help;
mod ladder;
mod mix;
mod new;
mod next;
mod order;
mod outcome;
mod print;
mod progress;
mod read;
mod ready_product;
mod recipe;
mod salts;
#[cfg(feature = "serve")]
mod serve;
mod session;
mod session_arguments;
mod session_journal;
mod session_plan;
mod session_prompt;
mod session_reveal;
mod session_score;
mod session_sheet;
mod session_words;
mod sources;
mod stock;
mod stocktake;
mod tables;
mod verify;
mod water;
mod weigh;
mod why;

use std::io::Write;

use clap::{CommandFactory, Parser};

use arguments::{Arguments, Command};
use outcome::{Ending, Kind};
pub use outcome::{Screens, Status};

use crate::app::FlightRequest;

/// Runs the program on the process's own arguments; results go to `out`, mistakes to `errors`. JSON,
/// which has no colours to be taken out, goes to `json`.
pub fn run(
    out: &mut dyn Write,
    json: &mut dyn Write,
    errors: &mut dyn Write,
    screens: Screens,
) -> Status {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => return outcome::usage(&error, out, errors, screens),
    };
    let bench = arguments.bench.as_deref();
    let mut partly = false;
    if arguments.command.reads_a_bench() {
        bench::remove_unfinished(bench);
        // Whether this can be written changes nothing of the command's own answer.
        let _ = errors.write_all(bench::not_read(bench).as_bytes());
    }
    let result = match &arguments.command {
        Command::New { folder } => new::run(folder, arguments.json),
        Command::Salts { name } => salts::run(bench, name.as_deref(), arguments.json),
        Command::Stock { name, picture } => {
            stock::run(bench, name.as_deref(), picture, arguments.json)
        }
        Command::Mix { flight, spread, order, print, picture } => {
            let wanted = (*spread, order, print, picture);
            let json = arguments.json.then_some(&mut *json as &mut dyn Write);
            mix::run(bench, flight.as_deref(), wanted, json, &mut partly)
        }
        Command::Weigh { stock, make, print } => {
            weigh::run(bench, stock, make.as_deref(), print, arguments.json)
        }
        Command::Weighed { stock, options } => weigh::record(bench, stock, options, arguments.json),
        Command::Advise { flights, options } => {
            advise::run(bench, flights, options, arguments.json)
        }
        Command::Verify { stock, options } => verify::run(bench, stock, options, arguments.json),
        Command::Poured { flight, dispenser, bottles, date } => {
            let (flight, date) = (flight.as_deref(), date.as_deref());
            let asked = FlightRequest::measured_with(dispenser.as_deref());
            stocktake::record(bench, (flight, &asked), *bottles, date, arguments.json)
        }
        Command::Stocktake { on } => stocktake::run(bench, on.as_deref(), arguments.json),
        Command::Water { names, details, picture } => {
            water::run(bench, names, (*details, picture), arguments.json)
        }
        Command::Read { water, value } => read::run(bench, water, *value, arguments.json),
        Command::Why { target, flight } => {
            why::run(bench, target, flight.as_deref(), arguments.json)
        }
        Command::Alternatives { target, flight, most } => {
            alternatives::run(bench, target, flight.as_deref(), *most, arguments.json)
        }
        Command::Ladder(options) => ladder::run(bench, options, arguments.json),
        Command::Batch(options) => batch::run(bench, options, arguments.json),
        Command::Concentrate(options) => concentrate::run(bench, options, arguments.json),
        Command::Import(options) => tables::import(bench, options, arguments.json),
        Command::Export { what, flight } => tables::export(bench, *what, flight.as_deref()),
        Command::Session { step } => session::run(bench, step, arguments.json, out),
        #[cfg(feature = "serve")]
        Command::Serve(options) => serve::run(bench, options, arguments.json, out),
        Command::Journal { csv, aim, page } => {
            let asked = (aim, page.as_deref());
            session_journal::run(bench, *csv, asked, arguments.json, errors)
        }
        Command::Check => check::run(bench, arguments.json, &mut partly),
        Command::Next(options) => next::run(bench, options, arguments.json),
        Command::Sources => sources::run(arguments.json),
        Command::Completions { shell } => {
            let mut script = Vec::new();
            clap_complete::generate(*shell, &mut Arguments::command(), "waterflight", &mut script);
            Ok(String::from_utf8_lossy(&script).into_owned())
        }
    };
    let kind = match &arguments.command {
        command if arguments.json || command.gives_data() => Kind::Data,
        Command::Mix { .. } => Kind::ColouredWords,
        _ => Kind::Words,
    };
    let ending = Ending { partly, writes: arguments.command.writes(), kind };
    let out: &mut dyn Write = if arguments.json { &mut *json } else { &mut *out };
    outcome::finish(result, ending, out, errors, screens)
}
