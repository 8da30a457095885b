//! `next`: the flight that is worth mixing next.

use std::path::Path;

use clap::Args;
use serde_json::json;

use crate::app::mistakes::internal;
use crate::app::target_name;
use crate::bench::NewFlight;
use crate::bench::index;
use crate::bench::past::{left_out, readable_sessions};
use crate::cli::aim::{AimOptions, not_wanted};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, shown_in};
use crate::cli::print::PictureOptions;
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::flight::Target;
use crate::flight::ladder;
use crate::flight::ladder::WrittenTarget;
use crate::next_flight::ProposeError;
use crate::next_flight::asked_axes::axis_keys;
use crate::next_flight::propose::MOST_AXES;
use crate::next_flight::report::{NextAsked, NextError, NextReport};
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

/// Our choice: more new waters than this are no tasting.
const MOST_WATERS: usize = 24;

pub(super) fn run(bench: Option<&Path>, options: &NextOptions, how: How) -> Outcome {
    let bench = bench::open(bench)?;
    if !(1..=MOST_WATERS).contains(&options.waters) {
        return Err(Mistakes::from(
            Diagnostic::new(Fault::Choice, format!("{} new waters make no flight", options.waters))
                .expected(format!("from 1 to {MOST_WATERS}")),
        ));
    }
    let file = bench.flight_file(options.flight.as_deref())?;
    let (flight, stocks, order) = bench.ordered_flight(file)?;
    let (mut past, unread) = readable_sessions(&bench.root)?;
    let not_counted: Vec<String> = unread.iter().map(left_out).collect();
    let reference = options.reference.as_deref().map(|typed| {
        let tasted = past.iter().flat_map(|session| &session.made).map(|made| made.water.as_str());
        let mut known: Vec<&str> = Vec::new();
        for name in flight.targets.iter().map(|t| t.name.as_str()).chain(tasted) {
            if !known.contains(&name) {
                known.push(name);
            }
        }
        target_name(&bench, file, &known, typed)
    });
    let of = options.aim.apply(&mut past)?;
    let worked_out = index::read(&bench.root);
    let report = NextReport::new(&NextAsked {
        past: &past,
        worked_out: &worked_out,
        of: of.as_deref(),
        over: &options.over,
        within: &options.between,
        flight: &flight,
        stocks: &stocks,
        reference: reference.as_deref(),
        wanted: options.waters,
        seed: options.seed,
    });
    index::keep(&bench.root, &worked_out);
    let mut report = report.map_err(|error| mistake(&error))?;
    let mut page = report.page();
    for line in &not_counted {
        page.say(format!("! {line}"));
    }
    let mut written = None;
    if let Some(name) = &options.into {
        let targets = report.targets.iter().map(|t| written_target(&report, t));
        let targets = targets.collect::<Result<_, ladder::LadderError>>();
        let text = NewFlight {
            remark: format!(
                "Proposed by `waterflight next` with the stocks of `{}`, seed {}.\nAn ordinary \
                 flight: change what you like.",
                flight.title, options.seed
            ),
            title: format!("Next after {}", flight.title),
            like: &flight,
            stocks: &stocks,
            order: &order,
            targets: targets.map_err(|e| internal(&e))?,
        }
        .text();
        let path = bench.write_new("flights", name, &text)?;
        page.say(format!("A new flight was written to {}", path.display()));
        page.say(format!("next: waterflight mix \"{name}\""));
        written = Some(path);
    }
    let drawn = options.picture.write(|| pictures::surface(&report))?;
    if options.picture.svg.is_none() {
        report.surface = None;
    }
    let data = json!({ "next": report, "file": written, "not_counted": not_counted });
    let text = shown_in(&page, &data, how)?;
    Ok(if how.json { text } else { text + &drawn })
}

/// A target with a remark; the reference as the composition it was tasted with.
fn written_target(
    report: &NextReport,
    target: &Target,
) -> Result<(WrittenTarget, Option<String>), ladder::LadderError> {
    let mut written = ladder::rewritten(target)?;
    let mut remark = None;
    if let Some((session, water)) = &report.reference_tasted
        && report.reference.as_ref() == Some(&target.name)
    {
        written.composition = ladder::composition_words(water);
        remark = Some(format!("As it was tasted in the session {session}."));
    }
    Ok((written, remark))
}

fn mistake(error: &NextError) -> Mistakes {
    let diagnostic = Diagnostic::new(Fault::Choice, error.to_string());
    Mistakes::from(match error {
        NextError::NothingOf { judged, .. } if judged.is_empty() => {
            diagnostic.remedy("reveal a scored or ranked session first, or leave out --attribute")
        }
        NextError::NothingOf { judged, .. } => diagnostic.expected(judged.join(", ")),
        NextError::NotMeasured { .. } => diagnostic
            .remedy("place the waters by something else (--over), or have the base water measured"),
        NextError::NotWanted { of, judged } => not_wanted(diagnostic, of.as_deref(), judged),
        NextError::Reference { .. } => {
            diagnostic.remedy("name a water of the flight, or one that `waterflight journal` lists")
        }
        NextError::Axis(_) => diagnostic
            .expected(axis_keys())
            .remedy("as in --between \"hardness=20..120 mg/L as CaCO3\""),
        NextError::Propose(ProposeError::OutOfReach { .. }) => {
            diagnostic.remedy("choose another region (--between), or stock more salts")
        }
        NextError::Propose(ProposeError::NoAxis) => diagnostic.remedy(
            "name a measure and a range, as in --between \"hardness=20..120 mg/L as CaCO3\"",
        ),
        NextError::Propose(ProposeError::TooManyAxes { .. }) => {
            diagnostic.expected(format!("from 1 to {MOST_AXES} measures"))
        }
        NextError::Propose(_) => diagnostic,
    })
}
