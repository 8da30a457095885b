//! `session sheet` and `session poured`: what is put on the table, and what it took.

use std::path::Path;

use serde::Serialize;
use serde_json::{Value, json};

use crate::app::bottles::in_a_line;
use crate::app::session_steps::{changes, pouring_sheet, say_opened};
use crate::bench::records::{PouredBefore, PouredVolume, add_session_pour, session_may_be_poured};
use crate::bench::session_folder::SessionFolder;
use crate::cli::amount::{above_zero, amount, day};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, shown};
use crate::cli::session_arguments::{MarginOptions, PouredOptions, Reader, SheetOptions};
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::page::labels::Label;
use crate::page::tasting;
use crate::quantities::{Day, Dimension, Litres, show};
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
            let mut sheet =
                pouring_sheet(&on, session, margin(&options.margin)?, options.key.as_deref())?;
            sheet.warnings.extend(changes(&on.root, session));
            sheet.warnings.extend(on.records.damage().map(in_a_line));
            // Whoever reads this page knows the key: the log says so.
            say_opened(session, "the pouring sheet was printed")?;
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
    let taster = options.taster.as_deref().map(|typed| plan.taster_called(typed));
    if let Some(unknown) = taster.filter(|t| !plan.tasters.iter().any(|n| n == t)) {
        let what = format!("`{unknown}` is no taster of this session");
        return Err(Diagnostic::new(Fault::Choice, what).expected(plan.tasters.join(", ")).into());
    }
    let names: Vec<&str> = plan
        .tasters
        .iter()
        .map(String::as_str)
        .filter(|who| taster.is_none_or(|t| t == *who))
        .collect();
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

#[derive(Serialize)]
struct Poured<'a> {
    session: &'a str,
    flight: &'a str,
    day: String,
    record: u64,
    taken: &'a [PouredVolume],
    warnings: &'a [String],
}

/// Takes what a session needs from the bottles.
pub(super) fn poured(bench: Option<&Path>, options: &PouredOptions, json: bool) -> Outcome {
    let on = bench::open_any(bench)?;
    let session = bench::standing_session(bench, &options.name)?;
    let date = day("--date", options.date.as_deref())?;
    let sheet = pouring_sheet(&on, &session, margin(&options.margin)?, options.key.as_deref())?;
    let mut warnings = changes(&on.root, &session);
    warnings.extend(on.records.damage().map(in_a_line));
    let stocks = sheet.stocks.iter();
    let taken: Vec<PouredVolume> = stocks
        .map(|s| PouredVolume { stock: s.stock.clone(), batch: s.batch.unwrap_or(0), ml: s.ml })
        .collect();
    let (flight, name) = (session.waters.flight.as_str(), session.name.as_str());
    let before = match (options.instead_of, options.again) {
        (Some(of), _) => PouredBefore::InsteadOf(of),
        (None, true) => PouredBefore::Again,
        (None, false) => PouredBefore::Refused,
    };
    session_may_be_poured(&on.root, name, before)?;
    // First that the key was read: a run that is stopped between the two leaves no pour without it.
    say_opened(&session, "what was poured was taken from the bottles")?;
    let record = add_session_pour(&on.root, date, (flight, name), taken.clone(), before)?;
    let mut page = Page::default();
    page.say(format!("{name}: poured on {date}"));
    for PouredVolume { stock, batch, ml } in &taken {
        let from = match batch {
            0 => "planned before a batch was recorded, so nothing is counted".to_owned(),
            batch => format!("from batch {batch}"),
        };
        page.say(format!("  {stock}: {} mL, {from}", show::fixed(*ml, 2)));
    }
    for warning in &warnings {
        page.say(format!("! {warning}"));
    }
    page.say(crate::cli::outcome::numbered(record).trim_end());
    let day = date.to_string();
    let poured = Poured { session: name, flight, day, record, taken: &taken, warnings: &warnings };
    shown(&page, &json!(poured), json)
}
