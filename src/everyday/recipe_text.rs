//! A recipe read backwards, as text: its readings side by side.

use std::path::Path;

use crate::assessment::{Outlook, unknowns_text};
use crate::everyday::batch_text::{cost, outlook};
use crate::everyday::concentrate::{Clarity, ConcentrateReport, OnShelf, ReverseReport};
use crate::everyday::concentrate_text::{at_rest, considered, doses, stays_clear};
use crate::everyday::salt_cautions::{everything, while_dissolving};
use crate::quantities::show;
use crate::stock::bottle_pressure;
use crate::text::cautions;
use crate::text::command_line::typed;
use crate::text::screen::{Extent, Screen};
use crate::text::table::{Side, each, table, text as table_text, wrapped};

/// Our choice: readings that stand side by side in 80 columns.
const SIDE_BY_SIDE: usize = 3;
/// Our choice: readings on one screen, with fewer figures of each.
const ON_A_SCREEN: usize = 4;
/// Our choice: of more readings the doses of the shelf's stocks and what to mind stand with the rest.
const WITH_STOCKS: usize = 2;

/// What the numbers of the columns are.
const UNITS: &str = "mg/L; hardness and alkalinity as CaCO3";

/// A recipe with every reading of its names, and the flight it was written to.
#[must_use]
pub fn text(report: &ReverseReport, file: Option<&Path>, extent: Extent) -> String {
    let all: Vec<(&ConcentrateReport, &OnShelf)> =
        report.readings.iter().zip(&report.on_shelf).collect();
    let mut out = Screen::new(extent);
    if let Some((first, _)) = all.first() {
        out.push(&head(first, report.undiluted));
    }
    out.push(&each("  ", &report.notes));
    let mut of_readings: Vec<String> = Vec::new();
    for note in all.iter().flat_map(|(r, _)| &r.notes) {
        if !of_readings.contains(note) {
            of_readings.push(note.clone());
        }
    }
    out.instead(&each("  ", &of_readings));
    if all.len() > 1 {
        out.push(&wrapped(
            &format!("  {} readings, since a hydrate was left open: ask which it was", all.len()),
            4,
        ));
    }
    for some in all.chunks(SIDE_BY_SIDE) {
        out.rest(&format!("\n{}", columns(some, report.undiluted, Extent::Full)));
    }
    let (some, others) = all.split_at(all.len().min(ON_A_SCREEN));
    out.instead(&format!("\n{}", columns(some, report.undiluted, Extent::Screen)));
    if !others.is_empty() {
        out.instead(&format!("{} more readings: --full\n", others.len()));
    }
    out.rest(&wrapped(UNITS, 0));
    // The first screen has no line to spare for it.
    let extrapolated = if all.iter().any(|(r, _)| r.extrapolated) {
        "; what precipitates is an extrapolation"
    } else {
        ""
    };
    out.instead(&wrapped(&format!("{UNITS}{extrapolated}"), 0));
    for strong in &report.too_strong {
        let least = strong.least_size.as_ref();
        let least = least.map_or(String::new(), |size| format!("; it would do {size} or more"));
        out.push(&wrapped(&format!("! {}: {}{least}", strong.name, strong.why), 2));
    }
    let most = all.iter().map(|(r, _)| *r).max_by_key(|r| r.not_considered.len());
    for (reading, shelf) in &all {
        out.rest(&format!("\n{}", details(reading, shelf)));
        if all.len() <= WITH_STOCKS {
            out.instead(&with_stocks(shelf, &format!("{}, ", reading.name)));
        }
    }
    out.rest(&format!("\n{}", considered(most)));
    out.rest("\nCautions\n");
    let of_all = || all.iter().flat_map(|(r, _)| &r.advice.cautions);
    out.rest(&everything(of_all()));
    if all.len() <= WITH_STOCKS {
        out.instead(&while_dissolving(of_all()));
    }
    let clouds = |r: &ConcentrateReport| {
        let is_cloudy = r.finished.outlook == Outlook::Cloudy;
        is_cloudy.then(|| format!("finished water: {}", outlook(r.finished.outlook)))
    };
    out.instead(&of_readings_alike(&all, clouds));
    out.instead(&of_readings_alike(&all, |r| {
        r.advice.pressure_atm.map(bottle_pressure::pressure_in_short)
    }));
    out.rest(&wrapped(cautions::SALTS, 0));
    out.drinking();
    if let Some(file) = file {
        out.push(&format!("A new flight was written to {}\n", file.display()));
        let name = file.file_stem().map(|stem| stem.to_string_lossy().into_owned());
        out.push(&format!("Next: waterflight mix {}\n", typed(&name.unwrap_or_default())));
    }
    out.end()
}

fn head(reading: &ConcentrateReport, undiluted: bool) -> String {
    let dosed = if undiluted {
        "drunk as it is".to_owned()
    } else {
        format!("{} mL of it to each litre, with pure water", show::plain(reading.dose_ml_per_l))
    };
    wrapped(&format!("Read backwards: {}, {dosed}", reading.filled), 2)
}

/// One column for each reading.
fn columns(readings: &[(&ConcentrateReport, &OnShelf)], undiluted: bool, extent: Extent) -> String {
    let names: Vec<String> = readings.iter().map(|(r, _)| r.name.replace(" + ", "\n")).collect();
    let mut heads = vec![("", Side::Left)];
    heads.extend(names.iter().map(|name| (name.as_str(), Side::Right)));
    let mut rows = table(&heads);
    let mut row = |name: &str, cell: &dyn Fn(&ConcentrateReport) -> String| {
        let cells = readings.iter().map(|(r, _)| cell(r));
        rows.add_row([name.to_owned()].into_iter().chain(cells).collect::<Vec<_>>());
    };
    let whole = extent == Extent::Full;
    if whole {
        row("grams", &|r| {
            let grams = r.salts.iter().map(|s| show::plain(s.g));
            grams.collect::<Vec<_>>().join(" + ")
        });
    }
    row("dose, mL/L", &|r| show::three_figures(r.dose_ml_per_l));
    if whole {
        row("dose, g/L", &|r| show::three_figures(r.dose_g_per_l));
    }
    row("makes, L", &|r| show::three_figures(r.makes_litres));
    if whole {
        row("density, g/mL", &|r| show::fixed(r.density_g_per_ml, 4));
    }
    let keys = readings.first().map(|(r, _)| r.mg_per_l.0.as_slice()).unwrap_or_default();
    for (key, _) in keys {
        let of = |r: &ConcentrateReport| {
            r.mg_per_l.0.iter().find(|(k, _)| k == key).map_or(0.0, |(_, mg)| *mg)
        };
        if readings.iter().any(|(r, _)| of(r) > 0.0) {
            row(key, &|r| show::three_figures(of(r)));
        }
    }
    row("hardness", &|r| unknowns_text::amount(r.hardness_mg_per_l_caco3));
    row("alkalinity", &|r| unknowns_text::amount(r.alkalinity_mg_per_l_caco3));
    row("precipitates, closed, g", &|r| {
        let g: f64 = r.standing.iter().take(1).flat_map(|s| &s.solids).map(|s| s.g).sum();
        show::three_figures(g)
    });
    // A bottle under pressure is no matter for later.
    if whole || readings.iter().any(|(r, _)| r.advice.pressure_atm.is_some()) {
        row("CO2, closed and full, atm", &|r| show::fixed(r.co2_atm, 2));
    }
    if !undiluted {
        row("bottles to stay clear", &|r| {
            r.split.as_ref().map_or("none".to_owned(), |b| b.len().to_string())
        });
    }
    table_text(&rows)
}

/// The doses of the shelf's stocks, and how far they are from the recipe; `head` stands before them.
fn with_stocks(shelf: &OnShelf, head: &str) -> String {
    let mut out = String::new();
    if !shelf.doses.is_empty() {
        let doses = doses(&shelf.doses);
        let hang = 2 + head.len() - head.trim_start().len();
        out.push_str(&wrapped(&format!("{head}with the stocks of the shelf: {doses}"), hang));
    }
    if !shelf.unreached.is_empty() {
        let missed: Vec<String> = shelf
            .unreached
            .iter()
            .map(|u| {
                format!(
                    "{} {}, not {}",
                    u.measure,
                    show::three_figures(u.stocks_mg_per_l),
                    show::three_figures(u.recipe_mg_per_l)
                )
            })
            .collect();
        out.push_str(&wrapped(
            &format!("  ! not reached with the stocks: {} mg/L", missed.join("; ")),
            4,
        ));
    }
    out
}

/// What is to be minded of each reading of which there is something, those alike together.
fn of_readings_alike(
    all: &[(&ConcentrateReport, &OnShelf)],
    minded: impl Fn(&ConcentrateReport) -> Option<String>,
) -> String {
    let mut said: Vec<(String, Vec<&str>)> = Vec::new();
    for (reading, _) in all {
        let Some(words) = minded(reading) else { continue };
        match said.iter_mut().find(|(other, _)| *other == words) {
            Some((_, names)) => names.push(&reading.name),
            None => said.push((words, vec![&reading.name])),
        }
    }
    let line = |(words, names): &(String, Vec<&str>)| {
        let of = if names.len() == all.len() {
            String::new()
        } else {
            format!("{}: ", names.join("; "))
        };
        wrapped(&format!("  ! {of}{words}"), 4)
    };
    said.iter().map(line).collect()
}

fn details(reading: &ConcentrateReport, shelf: &OnShelf) -> String {
    let mut out = format!("{}\n", reading.name);
    out.push_str(&wrapped(&format!("  finished water: {}", outlook(reading.finished.outlook)), 4));
    out.push_str(&at_rest(reading));
    out.push_str(&each("  ", &reading.notes));
    match (reading.advice.clarity, reading.advice.pressure_atm) {
        (Clarity::ClearWhileClosed, None) => {
            out.push_str("  one bottle is clear as long as it is kept closed\n");
        }
        (Clarity::ClearWhileClosed, Some(_)) => {
            out.push_str("  one bottle is clear only under the pressure of its CO2\n");
        }
        _ => {}
    }
    if let Some(atm) = reading.advice.pressure_atm {
        out.push_str(&wrapped(&format!("  ! {}", bottle_pressure::pressure_in_short(atm)), 4));
    }
    match reading.split.as_deref() {
        Some([_]) => {
            let stays = stays_clear(&reading.standing);
            out.push_str(&format!("  one bottle is enough: {stays}\n"));
        }
        Some(bottles) => {
            let each: Vec<String> = bottles
                .iter()
                .map(|b| b.salts.iter().map(|s| s.formula.clone()).collect::<Vec<_>>().join(" + "))
                .collect();
            out.push_str(&wrapped(
                &format!(
                    "  in {} bottles nothing precipitates, open or closed: {}",
                    bottles.len(),
                    each.join(" | ")
                ),
                4,
            ));
        }
        None => {
            for salt in &reading.split_blocked {
                let least = salt.least_size.as_ref();
                let least = least.map_or("much more water".to_owned(), Clone::clone);
                out.push_str(&wrapped(
                    &format!("  ! {}: {}; it would need {least}", salt.formula, salt.why),
                    4,
                ));
            }
        }
    }
    out.push_str(&with_stocks(shelf, "  "));
    out.push_str(&cost(reading.cost.as_ref()));
    out
}
