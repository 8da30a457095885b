//! `ladder`: a new flight around one target.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use crate::app::mistakes::{internal, unplanned};
use crate::app::named_target;
use crate::bench::NewFlight;
use crate::cli::bench;
use crate::cli::outcome::Outcome;
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::flight::design;
use crate::flight::ladder;
use crate::flight::ladder::{LadderError, Range, WrittenTarget};
use crate::flight::{Flight, Target};
use crate::planner::{Plan, plan_flight};
use crate::water::Measure;

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
    #[arg(long, value_name = "SEED", default_value_t = 1)]
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
    #[arg(long, value_name = "N", default_value_t = 2)]
    parts: u32,
    /// Leave out what the stocks cannot reach.
    #[arg(long)]
    only_reachable: bool,
    /// File name of the flight that the target is in; may be left out when there is only one.
    #[arg(long, value_name = "NAME")]
    flight: Option<String>,
}

#[derive(Serialize)]
struct PlannedWaterRecipe {
    file: PathBuf,
    waters: Vec<MadeWater>,
    left_out: usize,
}

#[derive(Serialize)]
struct MadeWater {
    target: String,
    reached: bool,
}

/// Our choice: a flight with more waters than this is a slip of the keyboard.
const MOST_WATERS: usize = 500;

pub(super) fn run(bench: Option<&Path>, options: &LadderOptions, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let file = bench.flight_file(options.flight.as_deref())?;
    let (flight, stocks, order) = bench.ordered_flight(file)?;
    let centre = named_target(&flight, &options.target)?;
    let place = flight.targets.iter().position(|t| t == centre).unwrap_or_default();
    let plans = plan_flight(&flight, &stocks).map_err(|error| unplanned(&error))?;
    let targets = options.targets(centre, plans.get(place))?;
    if targets.is_empty() || targets.len() > MOST_WATERS {
        return Err(Mistakes::from(
            Diagnostic::new(Fault::Choice, format!("this would make {} waters", targets.len()))
                .expected(format!("from 1 to {MOST_WATERS}")),
        ));
    }
    let wanted = targets.iter().map(|w| w.target.clone()).collect();
    let planned = plan_flight(&Flight { targets: wanted, ..flight.clone() }, &stocks)
        .map_err(|error| unplanned(&error))?;
    let judged = targets.into_iter().zip(planned.iter().map(Plan::reached));
    let (kept, out): (Vec<_>, Vec<_>) =
        judged.partition(|(_, reached)| *reached || !options.only_reachable);
    if kept.is_empty() {
        return Err(Mistakes::from(
            Diagnostic::new(
                Fault::Choice,
                "none of these waters is in reach of the stocks, so there is no flight to write",
            )
            .remedy("choose another range, or leave out --only-reachable"),
        ));
    }
    let waters = kept
        .iter()
        .map(|(w, reached)| MadeWater { target: w.target.name.clone(), reached: *reached });
    let waters: Vec<MadeWater> = waters.collect();
    let text = NewFlight {
        remark: options.remark(centre, &flight),
        title: format!("Around {}: {}", centre.name, options.what()),
        like: &flight,
        stocks: &stocks,
        order: &order,
        targets: kept
            .into_iter()
            .map(|(w, reached)| (w, (!reached).then(|| "out of reach of the stocks".to_owned())))
            .collect(),
    }
    .text();
    let file = bench.write_new("flights", &options.into, &text)?;
    let made = PlannedWaterRecipe { file, waters, left_out: out.len() };
    if json {
        return crate::text::json::document(&made).map_err(|e| internal(&e));
    }
    let lines: Vec<(String, bool)> =
        made.waters.iter().map(|w| (w.target.clone(), w.reached)).collect();
    Ok(crate::mix::ladder_text::text(&made.file, &lines, made.left_out, &options.into))
}

impl LadderOptions {
    fn targets(
        &self,
        centre: &Target,
        plan: Option<&Plan>,
    ) -> Result<Vec<WrittenTarget>, Diagnostic> {
        if !self.shares.is_empty() {
            let measures = self
                .shares
                .iter()
                .map(|key| ladder::measure_of(key))
                .collect::<Result<Vec<Measure>, _>>()
                .map_err(|e| mistake(&e))?;
            let total = measures.iter().map(|m| plan.map_or(0.0, |p| m.of(&p.water))).sum();
            let count = design::simplex_lattice_count(measures.len(), self.parts);
            if count.is_none_or(|n| n > MOST_WATERS as u64) {
                return Err(Diagnostic::new(Fault::Choice, "this would make far too many waters")
                    .expected(format!("from 1 to {MOST_WATERS}"))
                    .remedy("fewer --parts, or fewer --shares"));
            }
            let points = design::simplex_lattice(measures.len(), self.parts);
            return ladder::mixtures(centre, &measures, total, &points).map_err(|e| mistake(&e));
        }
        let ranges = self
            .vary
            .iter()
            .map(|text| Range::parse(text))
            .collect::<Result<Vec<Range>, _>>()
            .map_err(|e| mistake(&e))?;
        let points = match self.fill {
            Some(count) => design::latin_hypercube(ranges.len(), count.min(MOST_FILLED), self.seed),
            None => design::grid(&self.levels(ranges.len())?),
        };
        ladder::ladder(centre, &ranges, &points).map_err(|e| mistake(&e))
    }

    fn levels(&self, ranges: usize) -> Result<Vec<u32>, Diagnostic> {
        let levels = match self.steps.as_slice() {
            [all] => vec![*all; ranges],
            each if each.len() == ranges => each.to_vec(),
            each => {
                return Err(Diagnostic::new(
                    Fault::Choice,
                    format!("{} numbers of steps for {ranges} ranges", each.len()),
                )
                .expected("one number, or one for each --vary"));
            }
        };
        let count = levels.iter().try_fold(1_usize, |n, l| n.checked_mul(*l as usize));
        match count.filter(|n| (1..=MOST_WATERS).contains(n)) {
            Some(_) => Ok(levels),
            None => {
                Err(Diagnostic::new(Fault::Choice, "this would make no water, or far too many")
                    .expected(format!("from 1 to {MOST_WATERS}")))
            }
        }
    }

    fn what(&self) -> String {
        match (self.shares.is_empty(), self.fill) {
            (false, _) => format!("shares of {} in {} parts", self.shares.join(", "), self.parts),
            (true, Some(count)) => format!("{count} waters through {}", self.vary.join(", ")),
            (true, None) => self.vary.join(", "),
        }
    }

    fn remark(&self, centre: &Target, flight: &Flight) -> String {
        let seed = self.fill.map(|_| format!("\nSeed {}.", self.seed)).unwrap_or_default();
        format!(
            "Made by `waterflight ladder` around `{}` of `{}`:\n{}.{seed}\nAn ordinary flight: \
             change what you like.",
            centre.name,
            flight.title,
            self.what()
        )
    }
}

/// Our choice: the search for far-apart points is quick up to here.
const MOST_FILLED: u32 = 100;

fn mistake(error: &LadderError) -> Diagnostic {
    let diagnostic = Diagnostic::new(Fault::Choice, error.to_string());
    match error {
        LadderError::NoRange { .. } => {
            diagnostic.expected("as in --vary \"hardness=20..120 mg/L as CaCO3\"")
        }
        LadderError::Measure { .. } => diagnostic.expected(Measure::KEYS.join(", ")),
        LadderError::NoEquivalents { .. } => {
            diagnostic.expected("ions, hardness or alkalinity, as in --shares calcium,magnesium")
        }
        LadderError::Twice { .. } => diagnostic.remedy("name each measure once"),
        LadderError::Goal(_) | LadderError::Unit(_) => {
            diagnostic.expected("amounts in a unit that fits the measure")
        }
    }
}
