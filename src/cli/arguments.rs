//! The arguments, verbs in the order of the job.

use std::path::PathBuf;

use clap::{Parser, Subcommand};
use clap_complete::Shell;

use crate::cli::ladder::LadderOptions;
use crate::cli::order::OrderOptions;
use crate::cli::tables::{Exported, ImportOptions};

/// Plans flights of brewing waters: stock solutions in, millilitres per litre out.
#[derive(Debug, Parser)]
#[command(
    name = "waterflight",
    version,
    max_term_width = 80,
    after_help = "Start with `waterflight new bench`, then `waterflight mix --bench bench`.",
    subcommand_required = true,
    arg_required_else_help = true
)]
pub(super) struct Arguments {
    /// The bench folder; by default the nearest one upward from the current folder.
    #[arg(long, global = true, value_name = "DIR")]
    pub(super) bench: Option<PathBuf>,
    /// One JSON document on standard output instead of text.
    #[arg(long, global = true)]
    pub(super) json: bool,
    #[command(subcommand)]
    pub(super) verb: Verb,
}

#[derive(Debug, Subcommand)]
pub(super) enum Verb {
    /// Start a bench folder with an invented example: stocks, base waters, a flight.
    #[command(after_help = "Example:\n  waterflight new bench")]
    New {
        /// The folder to start; new or empty.
        #[arg(value_name = "DIR")]
        folder: PathBuf,
    },
    /// List the salts, or show one with all its hydrates.
    #[command(
        after_help = "Examples:\n  waterflight salts\n  waterflight salts \"calcium chloride\""
    )]
    Salts {
        /// Full name, name without the hydrate, or formula.
        name: Option<String>,
    },
    /// List the stocks of the bench, or show one: strength, density, content per mL.
    #[command(after_help = "Examples:\n  waterflight stock\n  waterflight stock epsom --json")]
    Stock {
        /// Name on the bottle.
        name: Option<String>,
    },
    /// Plan a flight: mL of each stock per litre for every water, and what each water then is.
    #[command(after_help = "Examples:\n  waterflight mix\n  waterflight mix first-flight --json")]
    Mix {
        /// File name of the flight without its ending; may be left out when there is only one.
        flight: Option<String>,
        #[command(flatten)]
        order: OrderOptions,
    },
    /// Say what stands in the way of a water, or what it hangs on.
    #[command(
        after_help = "Examples:\n  waterflight why \"hard, all bicarbonate\"\n  waterflight why 2 \
                      --flight first-flight"
    )]
    Why {
        /// Name of the target, or its number in the flight.
        target: String,
        /// File name of the flight; may be left out when there is only one.
        #[arg(long, value_name = "NAME")]
        flight: Option<String>,
    },
    /// List other recipes for the same water, each with every goal within tolerance.
    #[command(after_help = "Example:\n  waterflight alternatives \"middle\" --most 3")]
    Alternatives {
        /// Name of the target, or its number in the flight.
        target: String,
        /// File name of the flight; may be left out when there is only one.
        #[arg(long, value_name = "NAME")]
        flight: Option<String>,
        /// How many recipes at most.
        #[arg(long, value_name = "N", default_value_t = 5)]
        most: usize,
    },
    /// Write a new flight around one target: a ladder, a grid, mixtures, or points that fill a
    /// region.
    #[command(
        after_help = "Examples:\n  waterflight ladder middle --vary \"hardness=20..120 mg/L as CaCO3\" \
                      --steps 6 --into hardness-ladder\n  waterflight ladder middle --shares \
                      calcium,magnesium --parts 4 --into calcium-or-magnesium"
    )]
    Ladder(LadderOptions),
    /// Read targets or analyses from a table into new files of the bench.
    #[command(
        after_help = "Examples:\n  waterflight import targets wishes.csv --into wishes\n  waterflight \
                      import analyses supplier.csv"
    )]
    Import(ImportOptions),
    /// Print targets, analyses or planned waters as a table that can be read back.
    #[command(after_help = "Example:\n  waterflight export targets first-flight > wishes.csv")]
    Export {
        /// What to print.
        what: Exported,
        /// File name of the flight; may be left out when there is only one.
        flight: Option<String>,
    },
    /// List the publications behind the numbers.
    #[command(after_help = "Example:\n  waterflight sources")]
    Sources,
    /// Print a completion script for a shell.
    #[command(after_help = "Example:\n  waterflight completions bash > waterflight.bash")]
    Completions {
        /// The shell.
        shell: Shell,
    },
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_arguments_are_well_formed() {
        Arguments::command().debug_assert();
    }
}
