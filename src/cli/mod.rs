//! The command line: arguments, one call into the library, one rendering.
//!
//! One file a command: its options, as typed and as meant, the choice of text, JSON, page or picture, and
//! the words for a mistake in an option. May use: reports and texts of every room, `bench`, `app`, `guide`
//! and `serve`, which do the work. Never: a computation, a record, a file of the bench written, a look
//! through its lists. No room knows the command line.
//!
//! ```
//! use waterflight::cli::Status;
//! use waterflight::files::Fault;
//!
//! // The exit status says whose fault it is.
//! assert_eq!(Status::from(Fault::Content) as u8, 65);
//! ```

mod advise;
mod aim;
mod alternatives;
mod amount;
mod arguments;
mod ask;
mod batch;
mod bench;
mod check;
mod concentrate;
mod help;
mod history;
mod ladder;
mod mix;
mod names;
mod new;
mod next;
mod order;
mod outcome;
mod pack;
mod print;
mod progress;
mod quotes;
mod read;
mod ready_product;
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
mod sources;
mod start;
mod stock;
mod stocktake;
mod tables;
mod targets;
mod verify;
mod water;
mod weigh;
mod why;

use std::io::Write;

use clap::{CommandFactory, Parser};

use arguments::{Arguments, Command};
pub use outcome::{Channel, Screens, Status};
use outcome::{Ending, How, Kind};

use crate::files::Fault;
use crate::text::Extent;

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
        Err(error) => {
            let Some(mistake) = quotes::of_refused(&error) else {
                return outcome::usage(&error, out, errors, screens);
            };
            let ending = Ending { partly: false, writes: false, kind: Kind::Words };
            return outcome::finish(Err(mistake.into()), ending, out, errors, screens);
        }
    };
    let bench = arguments.bench.as_deref();
    let extent = if arguments.full { Extent::Full } else { Extent::Screen };
    let how = How { json: arguments.json, extent };
    let mut partly = false;
    if arguments.command.reads_a_bench() {
        bench::remove_unfinished(bench);
        // Whether this can be written changes nothing of the command's own answer.
        let listed = matches!(arguments.command, Command::Check);
        let _ = errors.write_all(bench::not_read(bench, listed).as_bytes());
    }
    let result = match &arguments.command {
        Command::Start(options) => start::run(options, arguments.json, &mut partly, out, errors),
        Command::Add(options) => {
            start::add(bench, options, arguments.json, &mut partly, out, errors)
        }
        Command::Targets(options) => targets::run(bench, options, how),
        Command::New { folder, empty } => new::run(folder, *empty, arguments.json),
        Command::Salts { name } => salts::run(bench, name.as_deref(), how),
        Command::Stock { name, picture, print } => {
            stock::run(bench, name.as_deref(), (picture, print), arguments.json)
        }
        Command::Mix { flight, spread, order, print, picture } => {
            let wanted = (*spread, order, print, picture);
            let json = arguments.json.then_some(&mut *json as &mut dyn Write);
            mix::run(bench, flight.as_deref(), wanted, (json, extent), &mut partly)
        }
        Command::Weigh { stock, make, print } => {
            weigh::run(bench, stock, make.as_deref(), print, how)
        }
        Command::Weighed { stock, options } => weigh::record(bench, stock, options, arguments.json),
        Command::Advise { flights, options } => {
            advise::run(bench, flights, options, arguments.json)
        }
        Command::Verify { stock, options } => verify::run(bench, stock, options, arguments.json),
        Command::Poured(options) => stocktake::record(bench, options, arguments.json),
        Command::Bottle(options) => history::bottle(bench, options, arguments.json),
        Command::Undo(options) => history::undo(bench, options, arguments.json),
        Command::Log => history::log(bench, how),
        Command::Stocktake { on } => stocktake::run(bench, on.as_deref(), arguments.json),
        Command::Water { names, picture } => water::run(bench, names, picture, how),
        Command::Read { water, value } => read::run(bench, water, value, arguments.json),
        Command::Why { target, flight } => why::run(bench, target, flight.as_deref(), how),
        Command::Alternatives { target, flight, most } => {
            alternatives::run(bench, target, flight.as_deref(), *most, arguments.json)
        }
        Command::Ladder(options) => ladder::run(bench, options, arguments.json),
        Command::Batch(options) => batch::run(bench, options, how),
        Command::Concentrate(options) => concentrate::run(bench, options, how),
        Command::Import(options) => tables::import(bench, options, arguments.json),
        Command::Export { what, flight } => {
            tables::export(bench, *what, flight.as_deref(), arguments.json)
        }
        Command::Session { step } => session::run(bench, step, how, out)
            .map_err(|wrong| outcome::for_session(wrong, step.session())),
        #[cfg(feature = "serve")]
        Command::Serve(options) => {
            serve::run(bench, options, arguments.json, (out, screens.out.in_colour))
        }
        Command::Journal { csv, aim, page } => {
            let asked = (aim, page.as_deref());
            session_journal::run(bench, *csv, asked, how, errors)
        }
        Command::Check => check::run(bench, arguments.json, &mut partly),
        Command::Next(options) => next::run(bench, options, how),
        Command::Pack { file } => pack::pack(bench, file, arguments.json),
        Command::Unpack { file, folder } => pack::unpack(file, folder, arguments.json),
        Command::Names(options) => Ok(names::run(&Arguments::command(), bench, options)),
        Command::Sources(options) => sources::run(options, how),
        Command::Completions { shell } => {
            names::script(&mut Arguments::command(), *shell, arguments.json)
        }
    };
    let result = result.map_err(|mistakes| match mistakes.fault() {
        Fault::Choice => quotes::of_failed().map_or(mistakes, Into::into),
        _ => mistakes,
    });
    let result = result.map_err(|mistakes| outcome::remedies_for_bench(mistakes, bench));
    let kind = match &arguments.command {
        command if arguments.json || command.gives_data() => Kind::Data,
        Command::Mix { .. } => Kind::ColouredWords,
        _ => Kind::Words,
    };
    let result = match kind {
        Kind::Data => result,
        _ => result.map(|text| outcome::for_bench(text, bench)),
    };
    let ending = Ending { partly, writes: arguments.command.writes(), kind };
    let out: &mut dyn Write = if arguments.json { &mut *json } else { &mut *out };
    outcome::finish(result, ending, out, errors, screens)
}
