//! `ladder`: a new flight around one target.

use std::path::Path;

use clap::Args;

use crate::app::{LadderRequest, Placing, ladder_flight_text, write_ladder};
use crate::cli::bench;
use crate::cli::outcome::{Outcome, answer};

/// What the new flight is made of.
#[derive(Debug, Args)]
pub(super) struct LadderOptions {
    /// The target in the middle: its name, or its number in the flight.
    target: String,
    /// Name of the new flight file.
    #[arg(long, value_name = "NAME")]
    into: String,
    /// A measure and its range; several make a grid.
    #[arg(long, value_name = "MEASURE=LOW..HIGH UNIT", required_unless_present = "shares")]
    vary: Vec<String>,
    /// Waters along each range, one number for all or one for each.
    #[arg(long, value_name = "N", value_delimiter = ',', default_value = "5")]
    steps: Vec<u32>,
    /// So many waters spread through the whole region instead of a grid.
    #[arg(long, value_name = "N", conflicts_with = "steps")]
    fill: Option<u32>,
    /// Decides where --fill puts them; the same seed gives the same flight.
    #[arg(long, value_name = "SEED", default_value_t = 1, requires = "fill", conflicts_with_all = ["shares", "steps"])]
    seed: u64,
    /// Share the charge of these measures among them in all mixtures.
    #[arg(
        long,
        value_name = "MEASURES",
        value_delimiter = ',',
        conflicts_with_all = ["vary", "fill", "steps"]
    )]
    shares: Vec<String>,
    /// Parts that the charge is shared in.
    #[arg(long, value_name = "N", default_value_t = 2, requires = "shares", conflicts_with_all = ["vary", "fill", "steps"])]
    parts: u32,
    /// Leave out what the stocks cannot reach.
    #[arg(long)]
    only_reachable: bool,
    /// File name of the flight that the target is in; may be left out when there is only one.
    #[arg(long, value_name = "NAME")]
    flight: Option<String>,
}

pub(super) fn run(bench: Option<&Path>, options: &LadderOptions, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let request = LadderRequest {
        centre: options.target.clone(),
        flight: options.flight.clone(),
        into: options.into.clone(),
        placing: options.placing(),
        only_reachable: options.only_reachable,
    };
    let written = write_ladder(&bench, &request)?;
    answer(&written, json, |written| ladder_flight_text::text(written, &options.into))
}

impl LadderOptions {
    fn placing(&self) -> Placing {
        let ranges = self.vary.clone();
        match self.fill {
            _ if !self.shares.is_empty() => {
                Placing::Shares { measures: self.shares.clone(), parts: self.parts }
            }
            Some(count) => Placing::Fill { ranges, count, seed: self.seed },
            None => Placing::Grid { ranges, steps: self.steps.clone() },
        }
    }
}
