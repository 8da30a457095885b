//! `next`: the flight that is worth mixing next.

use std::path::Path;

use clap::Args;

use crate::app::next_waters::{NextRequest, next_waters};
use crate::cli::aim::AimOptions;
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, shown_in};
use crate::cli::print::PictureOptions;
use crate::page::pictures;

/// What the next flight is made of.
#[derive(Debug, Args)]
pub(super) struct NextOptions {
    /// The flight whose base waters and stocks are used; may be left out when there is only one.
    flight: Option<String>,
    /// Name of the new flight file; without it nothing is written.
    #[arg(long, value_name = "NAME")]
    into: Option<String>,
    #[command(flatten)]
    aim: AimOptions,
    /// What the waters are placed by; hardness, alkalinity and `magnesium_share` when left out.
    #[arg(long, value_name = "MEASURES", value_delimiter = ',')]
    over: Vec<String>,
    /// A measure and its range; otherwise a little more than what was tasted.
    #[arg(long, value_name = "MEASURE=LOW..HIGH UNIT")]
    between: Vec<String>,
    /// New waters.
    #[arg(long, value_name = "N", default_value_t = 5)]
    waters: usize,
    /// The water that goes in again; the best so far when left out.
    #[arg(long, value_name = "WATER")]
    reference: Option<String>,
    /// Decides the draws; the same seed gives the same flight.
    #[arg(long, value_name = "SEED", default_value_t = 1)]
    seed: u64,
    #[command(flatten)]
    picture: PictureOptions,
}

pub(super) fn run(bench: Option<&Path>, options: &NextOptions, how: How) -> Outcome {
    let bench = bench::open(bench)?;
    let asked = NextRequest {
        flight: options.flight.as_deref(),
        into: options.into.as_deref(),
        wanted: options.aim.asked(),
        over: &options.over,
        between: &options.between,
        waters: options.waters,
        reference: options.reference.as_deref(),
        seed: options.seed,
    };
    let mut found = next_waters(&bench, &asked)?;
    let page = found.page();
    let drawn = options.picture.write(|| pictures::surface(&found.next))?;
    if options.picture.svg.is_none() {
        found.next.surface = None;
    }
    let text = shown_in(&page, &found, how)?;
    Ok(if how.json { text } else { text + &drawn })
}
