//! The waters that are worth mixing next, by what all sessions of a bench say, as a flight.

use std::path::PathBuf;

use serde::Serialize;

use crate::app::flight_verdict::plans_of;
use crate::app::mistakes::internal;
use crate::app::named_flight::target_name;
use crate::app::past_scores::{PastScores, WantedAfter};
use crate::bench::{Bench, FlightFile, NewFlight};
use crate::files::{Diagnostic, Mistakes};
use crate::flight::ladder::{self, WrittenTarget};
use crate::flight::{Flight, Order, Target};
use crate::mix::kept_out::Asked;
use crate::next_flight::ProposeError;
use crate::next_flight::asked::{NextAsked, NextError};
use crate::next_flight::asked_axes::axis_keys;
use crate::next_flight::propose::MOST_AXES;
use crate::next_flight::report::NextReport;
use crate::planner::Plan;
use crate::session::plan::each_once;
use crate::session::results::PastSession;
use crate::stock::Stock;
use crate::text::Page;
use crate::text::command_line::typed;
use crate::text::names;

/// What the next flight is made of.
#[derive(Debug, Clone)]
pub struct NextRequest<'a> {
    /// The flight whose base waters and stocks are used; the only one when none is named.
    pub flight: Option<&'a str>,
    /// Name of the new flight file; nothing is written when there is none.
    pub into: Option<&'a str>,
    /// What is wanted.
    pub wanted: WantedAfter<'a>,
    /// What the waters are placed by; hardness, alkalinity and the share of magnesium when nothing is said.
    pub over: &'a [String],
    /// Ranges of measures; a little more than what was tasted where none is said.
    pub between: &'a [String],
    /// New waters.
    pub waters: usize,
    /// The water that goes in again; the best so far when none is named.
    pub reference: Option<&'a str>,
    /// Decides the draws.
    pub seed: u64,
}

/// The waters to mix next, and the flight that they were written to.
#[derive(Debug, Clone, Serialize)]
pub struct NextWaters {
    /// The waters, and why.
    pub next: NextReport,
    /// The file of the flight, where it was written.
    pub file: Option<PathBuf>,
    /// Waters of the new flight that `mix` does not make within their tolerances.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub out_of_reach: Vec<String>,
    /// Sessions that cannot be read, in words.
    pub not_counted: Vec<String>,
    /// The name that the flight was written under.
    #[serde(skip)]
    into: Option<String>,
}

/// Our choice: more new waters than this are no tasting.
const MOST_WATERS: usize = 24;

/// Proposes the waters to mix next, and writes them as a flight where a name is given.
///
/// # Errors
/// When nothing can be proposed from what was tasted, or as [`Bench::write_new`].
pub fn next_waters(bench: &Bench, asked: &NextRequest<'_>) -> Result<NextWaters, Mistakes> {
    if !(1..=MOST_WATERS).contains(&asked.waters) {
        let what = format!("{} new waters make no flight", asked.waters);
        return Err(Diagnostic::choice(what).expected(format!("from 1 to {MOST_WATERS}")).into());
    }
    let file = bench.flight_file(asked.flight)?;
    let (flight, stocks, order) = bench.ordered_flight(file)?;
    let mut past = PastScores::of(bench)?;
    let reference =
        asked.reference.map(|typed| reference_meant(bench, (file, &flight), &past.sessions, typed));
    let of = past.want(asked.wanted)?;
    // New targets are asked what all targets of the flight are.
    let shared = order.for_others(1);
    let allowed: Vec<Stock> =
        stocks.iter().filter(|s| shared.allows(0, s.name())).cloned().collect();
    let not_counted: Vec<String> =
        Asked::of(&shared, 0).into_iter().map(|asked| asked.words(&shared, 0)).collect();
    let makes = |targets: &[Target]| -> Vec<bool> {
        if not_counted.is_empty() {
            return vec![true; targets.len()];
        }
        let new = Flight { targets: targets.to_vec(), ..flight.clone() };
        let plans = plans_of(&new, &stocks, &order.for_others(targets.len()));
        let plans = plans.unwrap_or_else(|_| vec![None; targets.len()]);
        plans.iter().map(|plan| plan.as_ref().is_some_and(Plan::reached)).collect()
    };
    let report = NextReport::new(&NextAsked {
        past: &past.sessions,
        worked_out: &past.worked_out,
        of: of.as_deref(),
        over: asked.over,
        within: asked.between,
        flight: &flight,
        stocks: &allowed,
        reference: reference.as_deref(),
        makes: &makes,
        not_counted: &not_counted,
        wanted: asked.waters,
        seed: asked.seed,
    });
    past.keep(bench);
    let next = report.map_err(|error| not_proposed(&error))?;
    // The reference is poured with them, and shares what is left.
    let made = makes(&next.targets);
    let named = next.targets.iter().zip(made).filter(|(_, made)| !made);
    let out_of_reach = named.map(|(target, _)| target.name.clone()).collect();
    let file = match asked.into {
        Some(name) => {
            let text = flight_text(&next, &flight, (&stocks, &order), asked.seed)?;
            Some(bench.write_new("flights", name, &text)?)
        }
        None => None,
    };
    let into = asked.into.map(str::to_owned);
    Ok(NextWaters { next, file, out_of_reach, not_counted: past.not_counted, into })
}

/// The reference as it is called: a water of the flight, or one that was tasted.
fn reference_meant(
    bench: &Bench,
    (file, flight): (&FlightFile, &Flight),
    past: &[PastSession],
    typed: &str,
) -> String {
    let made = || past.iter().flat_map(|session| session.made.iter().map(move |m| (session, m)));
    let full = made().map(|(session, made)| format!("{}/{}", session.name, made.water));
    let full: Vec<String> = full.collect();
    // Taken off a target, the name of its session would leave open which water is meant.
    if let Some(one) = full.iter().find(|one| names::alike(one, typed)) {
        return one.clone();
    }
    let tasted = made().map(|(_, made)| made.water.as_str());
    let known = each_once(flight.targets.iter().map(|t| t.name.as_str()).chain(tasted));
    target_name(bench, file, &known, typed)
}

/// The text of the new flight.
fn flight_text(
    next: &NextReport,
    flight: &Flight,
    (stocks, order): (&[Stock], &Order),
    seed: u64,
) -> Result<String, Mistakes> {
    let targets = next.targets.iter().map(|target| written_target(next, target));
    let targets = targets.collect::<Result<_, ladder::LadderError>>();
    let new = NewFlight {
        remark: format!(
            "Proposed by `waterflight next` with the stocks of `{}`, seed {seed}.\nAn ordinary \
             flight: change what you like.",
            flight.title
        ),
        title: format!("Next after {}", flight.title),
        like: flight,
        stocks,
        order: &order.for_others(next.targets.len()),
        targets: targets.map_err(|error| internal(&error))?,
    };
    Ok(new.text())
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

fn not_proposed(error: &NextError) -> Diagnostic {
    let diagnostic = Diagnostic::choice(error.to_string());
    match error {
        NextError::NothingOf { judged, .. } if judged.is_empty() => {
            diagnostic.remedy("reveal a scored or ranked session first, or leave out --attribute")
        }
        NextError::NothingOf { judged, .. } => diagnostic.expected(judged.join(", ")),
        NextError::NotMeasured { .. } => diagnostic
            .remedy("place the waters by something else (--over), or have the base water measured"),
        NextError::NotWanted { of, judged } => {
            let name = of.as_ref().or(judged.first()).map_or("NAME", String::as_str);
            diagnostic.expected(judged.join(", ")).remedy(format!(
                "say it, as in --attribute \"{name}\" --wanted more (or less, or near=VALUE)"
            ))
        }
        NextError::Reference { .. } => {
            diagnostic.remedy("name a water of the flight, or one that `waterflight journal` lists")
        }
        NextError::SeveralReferences { waters, .. } => {
            diagnostic.expected(waters.join(", ")).remedy("name one of them with its session")
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
    }
}

impl NextWaters {
    /// What is to be read.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = self.next.page();
        for line in &self.not_counted {
            page.say(format!("! {line}"));
        }
        if !self.out_of_reach.is_empty() {
            page.say(format!(
                "! OUT OF REACH in this flight, with {}: {}.",
                self.next.not_counted.join(" and "),
                self.out_of_reach.join("; ")
            ));
        }
        if let (Some(path), Some(name)) = (&self.file, &self.into) {
            page.say(format!("A new flight was written to {}", path.display()));
            page.say(format!("next: waterflight mix {}", typed(name)));
        }
        page
    }
}
