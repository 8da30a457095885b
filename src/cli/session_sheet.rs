//! `session sheet` and `session poured`: what is put on the table, and what it took.

use std::path::Path;

use serde_json::{Value, json};

use crate::app::session_pour::{pour_session, pouring_sheet};
use crate::app::session_steps::tasters_meant;
use crate::bench::records::PouredBefore;
use crate::bench::session_folder::SessionFolder;
use crate::cli::amount::{above_zero, amount, day};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, shown};
use crate::cli::session_arguments::{MarginOptions, PouredOptions, Reader, SheetOptions};
use crate::files::{Diagnostic, Mistakes};
use crate::page::labels::Label;
use crate::page::tasting;
use crate::quantities::{Day, Dimension, Litres};
use crate::session::plan::Plan;
use crate::session::plan::preparation::Margin;
use crate::session::serve::sheets;
use crate::text::{Extent, Page};

pub(super) fn run(bench: Option<&Path>, options: &SheetOptions, how: How) -> Outcome {
    let session = bench::session(bench, &options.name)?;
    let sheet = sheet(bench, &session, options, how)?;
    let back = bench::taken_back(bench, &session.name);
    Ok(if how.json { sheet } else { back + &sheet })
}

fn sheet(
    bench: Option<&Path>,
    session: &SessionFolder,
    options: &SheetOptions,
    how: How,
) -> Outcome {
    of_this_reader(options)?;
    let json = how.json;
    let plan = &session.plan;
    match options.reader {
        Reader::Server => {
            let cups = || tasting::cup_labels(plan);
            let written = print(bench, options, plan, (|| tasting::server(plan), cups))?;
            shown_and(&sheets::server(plan), &json!(plan), json, &written)
        }
        Reader::Taster => tasters(bench, session, options, how),
        Reader::Pourer => {
            let on = bench::open_any(bench)?;
            let sheet =
                pouring_sheet(&on, session, margin(&options.margin)?, options.key.as_deref())?;
            let today = Day::today().to_string();
            let bottles = || tasting::bottle_labels(plan, &sheet, &today);
            let written = print(bench, options, plan, (|| tasting::pourer(plan, &sheet), bottles))?;
            if how.extent == Extent::Screen && !json {
                return Ok(sheet.screen(plan) + &written);
            }
            shown_and(&sheet.page(plan), &json!(sheet), json, &written)
        }
    }
}

/// Refuses what belongs to the sheet of somebody else: the page would be another than is asked for.
fn of_this_reader(options: &SheetOptions) -> Result<(), Mistakes> {
    let of_tasters = [("--ballots", options.ballots), ("--taster", options.taster.is_some())];
    let of_pourer = [("--least", options.margin.least.is_some())];
    let wrong = |other: &[(&'static str, bool)], whose: &str| {
        let (option, _) = other.iter().find(|(_, is_there)| *is_there)?;
        let said = format!("{option} is for another sheet, that of `--for {whose}`");
        Some(Diagnostic::choice(said).remedy("leave it out, or ask for that sheet"))
    };
    let wrong = match options.reader {
        Reader::Taster => wrong(&of_pourer, "pourer"),
        Reader::Pourer => wrong(&of_tasters, "taster"),
        Reader::Server => wrong(&of_tasters, "taster").or_else(|| wrong(&of_pourer, "pourer")),
    };
    wrong.map_or(Ok(()), |wrong| Err(wrong.into()))
}

/// Writes a sheet, or labels by code: of the cups, or of what they are poured from.
fn print(
    bench: Option<&Path>,
    options: &SheetOptions,
    plan: &Plan,
    (page, labels): (impl FnOnce() -> String, impl FnOnce() -> Vec<Label>),
) -> Result<String, Mistakes> {
    if options.print.print.is_none() {
        return Ok(String::new());
    }
    let on = bench::open(bench)?;
    let title = format!("Codes of {}", plan.session);
    options.print.write(&on, &title, page, labels)
}

/// A page as text with a line about what was written, or its data alone.
fn shown_and(page: &Page, data: &Value, json: bool, written: &str) -> Outcome {
    let text = shown(page, data, json)?;
    Ok(if json { text } else { text + written })
}

/// The pages for the tasters' phones, where the session was served to some.
#[cfg(feature = "serve")]
fn phone_pages(session: &SessionFolder) -> Result<Vec<(String, String)>, Diagnostic> {
    let kept = crate::serve::blind::Links::kept(&session.path, &session.plan)?;
    Ok(kept.map_or_else(Vec::new, |links| links.phone_pages()))
}

#[cfg(not(feature = "serve"))]
#[expect(clippy::unnecessary_wraps, reason = "as the same with phones, which reads a file")]
fn phone_pages(_: &SessionFolder) -> Result<Vec<(String, String)>, Diagnostic> {
    Ok(Vec::new())
}

fn tasters(
    bench: Option<&Path>,
    session: &SessionFolder,
    options: &SheetOptions,
    how: How,
) -> Outcome {
    let json = how.json;
    let plan = &session.plan;
    let names = tasters_meant(plan, options.taster.as_deref())?;
    let page = match names.as_slice() {
        // A sheet is a screen of its own.
        [_, _, ..] if how.extent == Extent::Screen => sheets::whose(plan, &names),
        names => sheets::of_tasters(plan, names),
    };
    let phones = phone_pages(session)?;
    let sheet = || {
        if options.ballots {
            tasting::ballots(plan, &names, &phones)
        } else {
            tasting::score_sheets(plan, &names, &phones)
        }
    };
    let written = print(bench, options, plan, (sheet, || tasting::cup_labels(plan)))?;
    shown_and(&page, &json!(plan), json, &written)
}

fn margin(options: &MarginOptions) -> Result<Margin, Mistakes> {
    let share = amount("--spare", &options.spare, &[Dimension::Percent])?;
    let least = options.least.as_deref();
    let least = least.map(|text| above_zero("--least", text, &[Dimension::Volume])).transpose()?;
    Ok(Margin { share, least: Litres::new(least.unwrap_or(0.0) / 1000.0) })
}

/// Takes what a session needs from the bottles.
pub(super) fn poured(bench: Option<&Path>, options: &PouredOptions, json: bool) -> Outcome {
    let on = bench::open_any(bench)?;
    let session = bench::standing_session(bench, &options.name)?;
    let date = day("--date", options.date.as_deref())?;
    let before = match (options.instead_of, options.again) {
        (Some(of), _) => PouredBefore::InsteadOf(of),
        (None, true) => PouredBefore::Again,
        (None, false) => PouredBefore::Refused,
    };
    let measured = (margin(&options.margin)?, options.key.as_deref());
    let poured = pour_session(&on, &session, measured, date, before)?;
    shown(&poured.page(), &poured, json)
}
