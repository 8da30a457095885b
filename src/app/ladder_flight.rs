//! A flight written around one target: along ranges, through a region, or in shares of a charge.

use std::path::PathBuf;

use serde::Serialize;

use crate::app::flight_verdict::plans_of;
use crate::app::planned_flight::Stated;
use crate::bench::{Bench, NewFlight};
use crate::files::{Diagnostic, Mistakes};
use crate::flight::ladder::{LadderError, Range, WrittenTarget};
use crate::flight::{Flight, Target, design, ladder};
use crate::planner::Plan;
use crate::water::Measure;
use crate::water::trade_words::in_a_sentence;

/// What a new flight is made of.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LadderRequest {
    /// The target in the middle: its name, its number in the flight, or FLIGHT/TARGET.
    pub centre: String,
    /// File name of the flight that the target is in.
    pub flight: Option<String>,
    /// Name of the new flight file.
    pub into: String,
    /// How the waters are placed.
    pub placing: Placing,
    /// Whether what the stocks cannot reach is left out.
    pub only_reachable: bool,
}

/// How the waters of a new flight are placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Placing {
    /// A grid over ranges, such as `hardness=20..120 mg/L as CaCO3`: so many waters along each, one
    /// number for all or one for each.
    Grid {
        /// The ranges.
        ranges: Vec<String>,
        /// Waters along them.
        steps: Vec<u32>,
    },
    /// So many waters spread through the whole region.
    Fill {
        /// The ranges.
        ranges: Vec<String>,
        /// Waters in all.
        count: u32,
        /// Decides where they are put.
        seed: u64,
    },
    /// The charge of some measures shared among them in all mixtures.
    Shares {
        /// The measures.
        measures: Vec<String>,
        /// Parts that the charge is shared in.
        parts: u32,
    },
}

impl Default for Placing {
    fn default() -> Self {
        Placing::Grid { ranges: Vec::new(), steps: Vec::new() }
    }
}

/// The flight that was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LadderFlight {
    /// Its file.
    pub file: PathBuf,
    /// Its waters.
    pub waters: Vec<LadderWater>,
    /// How many waters were left out because no doses that the flight allows reach them.
    pub left_out: usize,
}

/// A water of the flight that was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LadderWater {
    /// Its name.
    pub target: String,
    /// Whether it is in reach, planned as `mix` plans the new flight.
    pub reached: bool,
}

/// Our choice: a flight with more waters than this is a slip of the keyboard.
const MOST_WATERS: usize = 500;

/// Our choice: the search for far-apart points is quick up to here.
const MOST_FILLED: u32 = 100;

/// Writes a new flight around a target of a bench.
///
/// # Errors
/// What was asked cannot be placed, no water is in reach though only such were asked for, or the
/// file is there.
pub fn write_ladder(bench: &Bench, request: &LadderRequest) -> Result<LadderFlight, Mistakes> {
    let Stated { flight, stocks, order, place, target: centre } =
        Stated::of(bench, request.flight.as_deref(), &request.centre)?;
    let centre_plan = match &request.placing {
        Placing::Shares { .. } => plans_of(&flight, &stocks, &order)?.into_iter().nth(place),
        Placing::Grid { .. } | Placing::Fill { .. } => None,
    };
    let targets = request.placing.targets(&centre, centre_plan.flatten().as_ref())?;
    if !(1..=MOST_WATERS).contains(&targets.len()) {
        return Err(too_many(&format!("this would make {} waters", targets.len())).into());
    }
    let all = targets.len();
    let mut kept: Vec<(WrittenTarget, bool)> = targets.into_iter().map(|w| (w, true)).collect();
    // Planned as the new flight will be. Waters share what is left and the set of stocks: without those
    // that are left out the others are planned anew.
    let order = loop {
        let new = order.around(place, kept.len());
        let wanted = kept.iter().map(|(w, _)| w.target.clone()).collect();
        let plans = plans_of(&Flight { targets: wanted, ..flight.clone() }, &stocks, &new)?;
        for ((_, reached), plan) in kept.iter_mut().zip(plans) {
            *reached = plan.is_some_and(|plan| plan.reached());
        }
        if !request.only_reachable || kept.iter().all(|(_, reached)| *reached) {
            break new;
        }
        kept.retain(|(_, reached)| *reached);
    };
    if kept.is_empty() {
        return Err(Mistakes::from(
            Diagnostic::choice(
                "none of these waters is in reach of this flight, so there is none to write",
            )
            .remedy("choose another range, or leave out --only-reachable"),
        ));
    }
    let left_out = all - kept.len();
    let waters = kept
        .iter()
        .map(|(w, reached)| LadderWater { target: w.target.name.clone(), reached: *reached })
        .collect();
    let what = request.placing.in_words();
    let text = NewFlight {
        remark: remark(&centre, &flight, &request.placing),
        title: format!("Around {}: {what}", centre.name),
        like: &flight,
        stocks: &stocks,
        order: &order,
        targets: kept
            .into_iter()
            .map(|(w, reached)| (w, (!reached).then(|| "out of reach".to_owned())))
            .collect(),
    }
    .text();
    let file = bench.write_new("flights", &request.into, &text)?;
    Ok(LadderFlight { file, waters, left_out })
}

impl Placing {
    fn targets(
        &self,
        centre: &Target,
        plan: Option<&Plan>,
    ) -> Result<Vec<WrittenTarget>, Diagnostic> {
        let (ranges, points) = match self {
            Placing::Shares { measures, parts } => return shares(centre, plan, measures, *parts),
            Placing::Fill { ranges, count, seed } => {
                let points =
                    design::latin_hypercube(ranges.len(), (*count).min(MOST_FILLED), *seed);
                (ranges, points)
            }
            Placing::Grid { ranges, steps } => {
                (ranges, design::grid(&levels(ranges.len(), steps)?))
            }
        };
        let ranges = ranges.iter().map(|text| Range::parse(text)).collect::<Result<Vec<_>, _>>();
        ranges
            .and_then(|ranges| ladder::ladder(centre, &ranges, &points))
            .map_err(|error| mistake(&error))
    }

    fn in_words(&self) -> String {
        match self {
            Placing::Shares { measures, parts } => {
                format!("shares of {} in {parts} parts", measures.join(", "))
            }
            Placing::Fill { ranges, count, .. } => {
                format!("{count} waters through {}", ranges.join(", "))
            }
            Placing::Grid { ranges, .. } => ranges.join(", "),
        }
    }
}

fn shares(
    centre: &Target,
    plan: Option<&Plan>,
    measures: &[String],
    parts: u32,
) -> Result<Vec<WrittenTarget>, Diagnostic> {
    let measures = measures
        .iter()
        .map(|key| ladder::measure_of(key))
        .collect::<Result<Vec<Measure>, _>>()
        .map_err(|error| mistake(&error))?;
    let total = measures.iter().map(|m| plan.map_or(0.0, |p| m.of(&p.water))).sum();
    let count = design::simplex_lattice_count(measures.len(), parts);
    if count.is_none_or(|n| n > MOST_WATERS as u64) {
        return Err(too_many("this would make far too many waters")
            .remedy("fewer --parts, or fewer --shares"));
    }
    let points = design::simplex_lattice(measures.len(), parts);
    ladder::mixtures(centre, &measures, total, &points).map_err(|error| mistake(&error))
}

/// Waters along each range.
fn levels(ranges: usize, steps: &[u32]) -> Result<Vec<u32>, Diagnostic> {
    let levels = match steps {
        [all] => vec![*all; ranges],
        each if each.len() == ranges => each.to_vec(),
        each => {
            return Err(Diagnostic::choice(format!(
                "{} numbers of steps for {ranges} ranges",
                each.len()
            ))
            .expected("one number, or one for each --vary"));
        }
    };
    let count = levels.iter().try_fold(1_usize, |n, l| n.checked_mul(*l as usize));
    match count.filter(|n| (1..=MOST_WATERS).contains(n)) {
        Some(_) => Ok(levels),
        None => Err(too_many("this would make no water, or far too many")),
    }
}

fn remark(centre: &Target, flight: &Flight, placing: &Placing) -> String {
    let seed = match placing {
        Placing::Fill { seed, .. } => format!("\nSeed {seed}."),
        Placing::Grid { .. } | Placing::Shares { .. } => String::new(),
    };
    format!(
        "Made by `waterflight ladder` around `{}` of `{}`:\n{}.{seed}\nAn ordinary flight: change \
         what you like.",
        centre.name,
        flight.title,
        placing.in_words()
    )
}

fn too_many(title: &str) -> Diagnostic {
    Diagnostic::choice(title).expected(format!("from 1 to {MOST_WATERS}"))
}

fn mistake(error: &LadderError) -> Diagnostic {
    let diagnostic = Diagnostic::choice(error.to_string());
    match error {
        LadderError::NoRange { .. } => {
            diagnostic.expected("as in --vary \"hardness=20..120 mg/L as CaCO3\"")
        }
        LadderError::Measure { text } => {
            let diagnostic = diagnostic.expected(Measure::KEYS.join(", "));
            match in_a_sentence(text) {
                Some(meaning) => diagnostic.remedy(meaning),
                None => diagnostic.near(text, Measure::KEYS),
            }
        }
        LadderError::NoEquivalents { .. } => {
            diagnostic.expected("ions, hardness or alkalinity, as in --shares calcium,magnesium")
        }
        LadderError::Twice { .. } => diagnostic.remedy("name each measure once"),
        LadderError::Goal(_) | LadderError::Unit(_) => {
            diagnostic.expected("amounts in a unit that fits the measure")
        }
    }
}
