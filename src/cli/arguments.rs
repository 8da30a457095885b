//! The arguments, verbs in the order of the job.
//!
//! Above 400 lines: one declaration a command, side by side.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};
use clap_complete::Shell;

use crate::cli::aim::AimOptions;
use crate::cli::batch::BatchOptions;
use crate::cli::concentrate::ConcentrateOptions;
use crate::cli::help;
use crate::cli::history::{BottleOptions, UndoOptions};
use crate::cli::ladder::LadderOptions;
use crate::cli::names::NamesOptions;
use crate::cli::next::NextOptions;
use crate::cli::order::OrderOptions;
use crate::cli::print::{FlightPictureOptions, PictureOptions, PrintOptions, WaterPictureOptions};
use crate::cli::session_arguments::Step;
use crate::cli::sources::SourcesOptions;
use crate::cli::start::{AddOptions, StartOptions};
use crate::cli::stocktake::PouredOptions;
use crate::cli::tables::{Exported, ImportOptions};
use crate::cli::targets::TargetsOptions;
use crate::cli::verify::VerifyOptions;

const STOCK_EXAMPLES: &str = "Examples:\n  waterflight stock\n  waterflight stock epsom --json\n  waterflight stock --print labels.html --labels 3x7";
const MIX_EXAMPLES: &str = "Examples:\n  waterflight mix\n  waterflight mix --full\n  waterflight mix first-flight --bottle \"1.9 L\" --for 3\n  waterflight mix first-flight --json\n  waterflight mix first-flight --print pour.html\n  waterflight mix --print bottles.html --labels 3x7";
const WATER_EXAMPLES: &str = "A water is a base water, a target (or FLIGHT/TARGET), SESSION/WATER as it was\ntasted, a stock diluted, or an all-in-one concentrate of any of these.\n\n\
                      Examples:\n  waterflight water\n  waterflight water \"harbour tap\" middle --full\n  \
                      waterflight water \"5 mL/L epsom\" --json\n  waterflight water \"250x middle\"";
const BATCH_EXAMPLES: &str = "Examples:\n  waterflight batch middle --make \"20 L\"\n  \
                      waterflight batch first-flight-1/middle --make \"5 L\" --within \"2 %\"";
const CONCENTRATE_EXAMPLES: &str = "Examples:\n  waterflight concentrate middle --total \"200 g\" --dose \"4 mL\"\n  \
                      waterflight concentrate --reverse \"MgSO4=10 g, NaHCO3=5 g\" \
                      --into-water \"500 mL\" --dose \"4 mL\"";
#[cfg(feature = "serve")]
const SERVE_EXAMPLES: &str = "Examples:\n  waterflight serve autumn\n  waterflight serve autumn --on lan\n  waterflight serve";
const NEXT_EXAMPLES: &str =
    "Example:\n  waterflight next first-flight --attribute liking --waters 5 --into second-flight";

/// Plans flights of brewing waters: stock solutions in, millilitres per litre out.
#[derive(Debug, Parser)]
#[command(
    name = "waterflight",
    version,
    max_term_width = 80,
    after_help = "Start with `waterflight start bench`, which asks what you have; or look at an invented\nexample: `waterflight new bench`, then `waterflight mix --bench bench`.",
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
    /// Everything, where a command prints one screen.
    #[arg(long, global = true, alias = "details")]
    pub(super) full: bool,
    #[command(subcommand)]
    pub(super) command: Command,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Start a bench of your own by questions: bags, waters, tools, the first flight and its doses.
    #[command(
        after_help = "Examples:\n  waterflight start bench\n  waterflight start bench --answers mine.txt"
    )]
    Start(StartOptions),
    /// Start a bench folder with an invented example: stocks, base waters, a flight.
    #[command(after_help = "Examples:\n  waterflight new bench\n  waterflight new bench --empty")]
    New {
        /// The folder to start; new or empty.
        #[arg(value_name = "DIR")]
        folder: PathBuf,
        /// Only the folders and `bench.ron`, without the example.
        #[arg(long)]
        empty: bool,
    },
    /// Add a stock, a base water or a target by questions.
    #[command(
        after_help = "Examples:\n  waterflight add stock\n  waterflight add water --answers tap.txt"
    )]
    Add(AddOptions),
    /// List ready targets and those of the bench, with what this shelf can make of them.
    #[command(
        after_help = "Examples:\n  waterflight targets\n  waterflight targets \"EPA soft\" \"EPA hard\" --into classes"
    )]
    Targets(TargetsOptions),
    /// List the salts, or show one with all its hydrates.
    #[command(
        after_help = "Examples:\n  waterflight salts\n  waterflight salts \"calcium chloride\""
    )]
    Salts {
        /// Full name, name without the hydrate, or formula.
        name: Option<String>,
    },
    /// List the stocks of the bench, or show one: strength, density, content per mL.
    #[command(after_help = STOCK_EXAMPLES, after_long_help = help::behind(STOCK_EXAMPLES, help::STOCK))]
    Stock {
        /// Name on the bottle.
        name: Option<String>,
        #[command(flatten)]
        picture: PictureOptions,
        #[command(flatten)]
        print: PrintOptions,
    },
    /// Say what to weigh for a stock: salt, water, order of work, a label.
    #[command(
        after_help = "Examples:\n  waterflight weigh epsom\n  waterflight weigh epsom --make \"1 L\""
    )]
    Weigh {
        /// Name on the bottle.
        stock: String,
        /// How much to make, by volume or mass; as much as its file says when left out.
        #[arg(long, value_name = "AMOUNT")]
        make: Option<String>,
        #[command(flatten)]
        print: PrintOptions,
    },
    /// Record what was really weighed; doses then follow from it.
    #[command(
        after_help = "Example:\n  waterflight weighed epsom --salt \"40.02 g\" --total \"1001 g\" --lot A17"
    )]
    Weighed {
        /// Name on the bottle.
        stock: String,
        #[command(flatten)]
        options: WeighedOptions,
    },
    /// Say how strong each stock should be, so that every dose can be poured well.
    #[command(
        after_help = "Examples:\n  waterflight advise\n  waterflight advise first-flight --error \"1 %\" --most \"10 mL\""
    )]
    Advise {
        /// File names of flights without their ending; may be left out when there is only one.
        flights: Vec<String>,
        #[command(flatten)]
        options: AdviseOptions,
    },
    /// Check a stock with a meter or a titration: what a dilution should show, or does show.
    #[command(
        after_help = "Examples:\n  waterflight verify epsom\n  waterflight verify epsom --read \"178 µS/cm\" --record\n  waterflight verify epsom --edta \"8.2 mL of 0.01 mol/L on 100 mL\""
    )]
    Verify {
        /// Name on the bottle.
        stock: String,
        #[command(flatten)]
        options: VerifyOptions,
    },
    /// Plan a flight: mL of each stock per litre for every water, and what each water then is.
    #[command(after_help = MIX_EXAMPLES, after_long_help = help::behind(MIX_EXAMPLES, help::MIX))]
    Mix {
        /// File name of the flight without its ending; may be left out when there is only one.
        flight: Option<String>,
        #[command(flatten)]
        spread: SpreadOptions,
        #[command(flatten)]
        order: OrderOptions,
        #[command(flatten)]
        print: PrintOptions,
        #[command(flatten)]
        picture: FlightPictureOptions,
    },
    /// Record that a flight was poured: one bottle of each water, or several; or some waters of it.
    #[command(
        after_help = "Examples:\n  waterflight poured first-flight --bottles 2\n  waterflight poured --water soft --bottle \"250 mL\""
    )]
    Poured(PouredOptions),
    /// Record what happened to a bottle: spilled, found at a level, thrown away.
    #[command(
        after_help = "Examples:\n  waterflight bottle epsom --left \"120 mL\"\n  waterflight bottle soda --spilled \"20 mL\"\n  waterflight bottle soda --thrown-away"
    )]
    Bottle(BottleOptions),
    /// Take a record back, or let it stand again; everything is kept.
    #[command(
        after_help = "Examples:\n  waterflight undo\n  waterflight undo 4 --why \"wrong bag\"\n  waterflight undo first-flight-1"
    )]
    Undo(UndoOptions),
    /// Show what was recorded on the bench, in order.
    #[command(after_help = "Example:\n  waterflight log")]
    Log,
    /// Say what is left in each bottle, and how old it is.
    #[command(after_help = "Example:\n  waterflight stocktake")]
    Stocktake {
        /// The day to look at; today when left out.
        #[arg(long, value_name = "DATE")]
        on: Option<String>,
    },
    /// Know a water before anyone drinks it or a machine boils it: pH, conductivity, limescale,
    /// corrosion hints, what a meter shows, published values beside it.
    #[command(
        after_help = WATER_EXAMPLES, after_long_help = help::behind(WATER_EXAMPLES, help::WATER)
    )]
    Water {
        /// Names of waters; all base waters and targets when none is given.
        #[arg(value_name = "NAME")]
        names: Vec<String>,
        #[command(flatten)]
        picture: WaterPictureOptions,
    },
    /// Compare a meter reading with the bottle that was poured; if they disagree, name the
    /// single slip that explains it best.
    #[command(after_help = "Example:\n  waterflight read middle 231")]
    Read {
        /// The water that should be in the bottle.
        water: String,
        /// What the meter shows, on the scale that `bench.ron` gives it (µS/cm by default).
        #[arg(allow_hyphen_values = true)]
        value: String,
    },
    /// Say why a water is out of reach, or which goals bind.
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
    /// Say what dry salts to weigh for so many litres of one water.
    #[command(after_help = BATCH_EXAMPLES, after_long_help = help::behind(BATCH_EXAMPLES, help::BATCH))]
    Batch(BatchOptions),
    /// Put one water into a bottle of concentrate, or say what water a recipe really is.
    #[command(
        after_help = CONCENTRATE_EXAMPLES, after_long_help = help::behind(CONCENTRATE_EXAMPLES, help::CONCENTRATE)
    )]
    Concentrate(ConcentrateOptions),
    /// Read targets or analyses from a table into new files of the bench.
    #[command(after_help = "Examples:\n  waterflight import targets wanted.csv --into wanted\n  \
                      waterflight import analyses supplier.csv")]
    Import(ImportOptions),
    /// Print targets, analyses or planned waters as a table that can be read back.
    #[command(after_help = "Example:\n  waterflight export targets first-flight > wanted.csv")]
    Export {
        /// What to print.
        what: Exported,
        /// File name of the flight; may be left out when there is only one.
        flight: Option<String>,
    },
    /// Taste a flight blind: plan, print sheets, enter scores, reveal, see what they say.
    #[command(
        after_help = "Example:\n  waterflight session plan first-flight --tasters \"ann, bo, cy\" --rounds 2"
    )]
    Session {
        #[command(subcommand)]
        step: Step,
    },
    /// Serve a session to the phones of its tasters; without a session, a page to move a target by hand.
    #[cfg(feature = "serve")]
    #[command(after_help = SERVE_EXAMPLES, after_long_help = help::behind(SERVE_EXAMPLES, help::SERVE))]
    Serve(crate::cli::serve::ServeOptions),
    /// Show what all sessions say of each water; what was never tasted.
    #[command(
        after_help = "Examples:\n  waterflight journal\n  waterflight journal --attribute bitterness --wanted less\n  waterflight journal --csv > scores.csv"
    )]
    Journal {
        /// Every score as a row of CSV, with composition and doses beside it.
        #[arg(long)]
        csv: bool,
        #[command(flatten)]
        aim: AimOptions,
        /// Write the journal as a page of its own: one HTML file with everything in it.
        #[arg(long, value_name = "FILE.html", conflicts_with = "csv")]
        page: Option<PathBuf>,
    },
    /// Propose the waters to mix next, from what all sessions say, and write them as a flight.
    #[command(
        after_help = NEXT_EXAMPLES, after_long_help = help::behind(NEXT_EXAMPLES, help::NEXT)
    )]
    Next(NextOptions),
    /// Read the whole bench, files, records and sessions, and list what is damaged, with the way out.
    #[command(after_help = "Example:\n  waterflight check")]
    Check,
    /// Put the bench with its records and sessions into one file; keys of sessions stay sealed.
    #[command(after_help = "Example:\n  waterflight pack home.bench")]
    Pack {
        /// The file to write; never one that is there.
        #[arg(value_name = "FILE")]
        file: PathBuf,
    },
    /// Take a bench out of such a file, into a new or empty folder.
    #[command(after_help = "Example:\n  waterflight unpack home.bench home")]
    Unpack {
        /// The file.
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// The folder.
        #[arg(value_name = "DIR")]
        folder: PathBuf,
    },
    /// Names of the bench, one a line, for the completion of a shell.
    #[command(hide = true)]
    Names(NamesOptions),
    /// List the publications behind the numbers.
    #[command(after_help = "Examples:\n  waterflight sources\n  waterflight sources density")]
    Sources(SourcesOptions),
    /// Print a completion script for a shell.
    #[command(after_help = "Example:\n  waterflight completions bash > waterflight.bash")]
    Completions {
        /// The shell.
        shell: Shell,
    },
}

impl Command {
    /// Whether it looks into a bench that is there.
    pub(super) fn reads_a_bench(&self) -> bool {
        !matches!(
            self,
            Command::Start(_)
                | Command::New { .. }
                | Command::Unpack { .. }
                | Command::Names(_)
                | Command::Sources(_)
                | Command::Completions { .. }
        )
    }

    /// Whether something is on disk once it has ended well.
    pub(super) fn writes(&self) -> bool {
        match self {
            Command::Start(_)
            | Command::Add(_)
            | Command::New { .. }
            | Command::Weighed { .. }
            | Command::Poured(_)
            | Command::Bottle(_)
            | Command::Undo(_)
            | Command::Pack { .. }
            | Command::Unpack { .. }
            | Command::Ladder(_)
            | Command::Import(_)
            | Command::Concentrate(_)
            | Command::Next(_) => true,
            Command::Verify { options, .. } => options.record,
            Command::Session { step } => step.writes(),
            _ => false,
        }
    }

    /// Whether what it says is data for other programs, which gets it as it is.
    pub(super) fn gives_data(&self) -> bool {
        matches!(
            self,
            Command::Export { .. }
                | Command::Journal { csv: true, .. }
                | Command::Names(_)
                | Command::Completions { .. }
        )
    }
}

/// A batch as it was weighed.
#[derive(Debug, Clone, Args)]
pub(super) struct WeighedOptions {
    /// Salt, as the balance showed it.
    #[arg(long, value_name = "MASS")]
    pub(super) salt: String,
    #[command(flatten)]
    pub(super) rest: Rest,
    /// What the bag says, to find the lot again.
    #[arg(long, value_name = "TEXT")]
    pub(super) lot: Option<String>,
    /// The day it was made; today when left out.
    #[arg(long, value_name = "DATE")]
    pub(super) date: Option<String>,
    /// Temperature of a volume; that of the stock's file when left out.
    #[arg(long, value_name = "TEMPERATURE")]
    pub(super) temperature: Option<String>,
    /// Takes the place of this record of the same stock.
    #[arg(long, value_name = "RECORD")]
    pub(super) instead_of: Option<u64>,
}

/// What stands beside the salt; exactly one of them.
#[derive(Debug, Clone, Args)]
#[group(required = true, multiple = false)]
pub(super) struct Rest {
    /// Mass of salt and water together.
    #[arg(long, value_name = "MASS")]
    pub(super) total: Option<String>,
    /// Mass of the water alone.
    #[arg(long, value_name = "MASS")]
    pub(super) water: Option<String>,
    /// Volume of the whole.
    #[arg(long, value_name = "VOLUME")]
    pub(super) volume: Option<String>,
}

/// The limits that doses have to keep.
#[derive(Debug, Clone, Args)]
pub(super) struct AdviseOptions {
    /// Smallest dose; that of the bench's dispenser when left out.
    #[arg(long, value_name = "VOLUME")]
    pub(super) least: Option<String>,
    /// Largest sensible dose; that of the bench's dispenser when left out.
    #[arg(long, value_name = "VOLUME")]
    pub(super) most: Option<String>,
    /// Largest error of a single dose (k = 2).
    #[arg(long, value_name = "PERCENT", default_value = "2 %")]
    pub(super) error: String,
    /// What doses are measured with; the flight's own dispenser when left out.
    #[arg(long, value_name = "NAME")]
    pub(super) dispenser: Option<String>,
}

/// How the uncertainty of a flight is shown.
#[derive(Debug, Clone, Copy, Default, Args)]
pub(super) struct SpreadOptions {
    /// Show every source of uncertainty of every goal.
    #[arg(long)]
    pub(super) budget: bool,
    /// Check the ± by that many random draws.
    #[arg(long, value_name = "DRAWS", value_parser = clap::value_parser!(u32).range(100..=1_000_000))]
    pub(super) monte_carlo: Option<u32>,
    /// Seed of the draws.
    #[arg(long, value_name = "NUMBER", default_value_t = 1, requires = "monte_carlo")]
    pub(super) seed: u64,
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
