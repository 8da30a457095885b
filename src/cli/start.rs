//! `start`: a bench of one's own by questions. `add`: another stock, water or target for it.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use serde_json::json;

use crate::app::mistakes::internal;
use crate::app::{FlightRequest, mix_answer};
use crate::bench::Bench;
use crate::cli::ask::Questioner;
use crate::cli::bench;
use crate::cli::outcome::Outcome;
use crate::cli::progress::watched;
use crate::guide::interview::free_for_a_start;
use crate::guide::script::kept_in;
use crate::guide::{Script, Stop, add, start};
use crate::mix::mix_short_text;
use crate::session::plan::common_phrases::counted;
use crate::text::command_line::{typed, typed_path};

/// Where to start, and where the answers come from.
#[derive(Debug, Args)]
pub(super) struct StartOptions {
    /// The folder to start; new, empty, or one whose start was left.
    #[arg(value_name = "DIR", default_value = "bench")]
    folder: PathBuf,
    /// Ask nothing: take the answers of this file, and the default where it has none.
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
}

/// What to add.
#[derive(Debug, Args)]
pub(super) struct AddOptions {
    /// What it is.
    what: Added,
    /// Ask nothing: take the answers of this file, and the default where it has none.
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Added {
    /// A bag of salt and the stock that is made of it.
    Stock,
    /// A base water.
    Water,
    /// A target, for the folder of ready targets.
    Target,
}

/// Asks and writes the bench, then plans its first flight.
pub(super) fn run(
    options: &StartOptions,
    json: bool,
    partly: &mut bool,
    out: &mut dyn Write,
    errors: &mut dyn Write,
) -> Outcome {
    let folder = &options.folder;
    free_for_a_start(folder)?;
    let kept = kept_in(folder);
    // The document on standard output is all that stands there.
    let screen: &mut dyn Write = if json { errors } else { out };
    let (mut script, mut asker) = if let Some(file) = &options.answers {
        (Script::read(file)?, Questioner::of_file(file, screen))
    } else {
        let script = if kept.is_file() { Script::read(&kept)? } else { Script::default() };
        (script, Questioner::of_person(Some(kept.clone()), screen))
    };
    if options.answers.is_none() && !script.is_empty() {
        let resumed = format!("{} answers were kept; here it goes on.", script.len());
        crate::guide::Asker::say(&mut asker, &resumed);
    }
    let started = match start(folder, &mut script, &mut asker) {
        Ok(started) => started,
        Err(Stop::Mistake(mistake)) => return Err(mistake.into()),
        Err(Stop::Left | Stop::Back) => {
            *partly = true;
            return Ok(if script.is_empty() {
                "Nothing was written.\n".to_owned()
            } else {
                format!(
                    "Left. What was answered is kept in {} ({}); `waterflight start {}` goes on.\n",
                    kept.display(),
                    counted(script.len(), "answer"),
                    typed_path(folder)
                )
            });
        }
    };
    if json {
        let files: Vec<String> = started.files.iter().map(|f| f.display().to_string()).collect();
        let document = json!({"bench": started.bench, "files": files, "flight": started.flight});
        return crate::text::json::document(&document).map_err(|e| internal(&e));
    }
    let mut text = format!("\nA bench was started in {}:\n", folder.display());
    for file in &started.files {
        text.push_str(&format!("  {}\n", file.display()));
    }
    text.push('\n');
    let bench = Bench::open(folder)?;
    let file = bench.flight_file(Some(&started.flight))?;
    let request = FlightRequest::default();
    let report = watched(|watch| mix_answer(&bench, file, &request, (None, None), watch))?;
    *partly = !report.unanswered.is_empty();
    text.push_str(&mix_short_text::text(&report));
    text.push_str(&next(folder, &started.stocks));
    Ok(text)
}

fn next(folder: &Path, stocks: &[String]) -> String {
    let first = stocks.first().map_or("", String::as_str);
    let (named, folder) = (typed(first), typed_path(folder));
    crate::text::table::wrapped(
        &format!(
            "Next: `waterflight weigh {named} --bench {folder}` says what to weigh for the first stock, \
             and so for each; then `waterflight mix --bench {folder}` gives the doses again."
        ),
        0,
    )
}

/// Asks for one more thing and writes its file.
pub(super) fn add(
    bench: Option<&Path>,
    options: &AddOptions,
    json: bool,
    partly: &mut bool,
    out: &mut dyn Write,
    errors: &mut dyn Write,
) -> Outcome {
    let bench = bench::open(bench)?;
    let screen: &mut dyn Write = if json { errors } else { out };
    let (mut script, mut asker) = match &options.answers {
        Some(file) => (Script::read(file)?, Questioner::of_file(file, screen)),
        None => (Script::default(), Questioner::of_person(None, screen)),
    };
    let written = match options.what {
        Added::Stock => add::stock(&bench, &mut script, &mut asker),
        Added::Water => add::water(&bench, &mut script, &mut asker),
        Added::Target => add::target(&bench, &mut script, &mut asker),
    };
    let path = match written {
        Ok(path) => path,
        Err(Stop::Mistake(mistake)) => return Err(mistake.into()),
        Err(Stop::Left | Stop::Back) => {
            *partly = true;
            return Ok("Left; nothing was written.\n".to_owned());
        }
    };
    if json {
        return crate::text::json::document(&json!({"files": [path]})).map_err(|e| internal(&e));
    }
    let next = match options.what {
        Added::Stock => format!(
            "`waterflight weigh {}` says what to weigh for it; flights that list their stocks have to name it, \
             and `waterflight targets NAME … --into FLIGHT` makes a flight with it",
            typed(&path.file_stem().unwrap_or_default().to_string_lossy())
        ),
        Added::Water => {
            "`waterflight targets NAME … --into FLIGHT` makes a flight that uses it; in the file of a flight \
             that is there, write its name into the list `base`"
                .to_owned()
        }
        Added::Target => {
            "`waterflight targets` says whether this shelf can make it, and `waterflight targets \
                          NAME … --into FLIGHT` makes a flight of some"
                .to_owned()
        }
    };
    Ok(format!("{} was written.\n", path.display())
        + &crate::text::table::wrapped(&format!("Next: {next}."), 0))
}
