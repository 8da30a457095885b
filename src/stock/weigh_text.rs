//! Weighing out and what was weighed, as text.

use crate::quantities::show;
use crate::stock::budget_text::sources;
use crate::stock::strength_line::StrengthLine;
use crate::stock::{WeighReport, WeighedReport};
use crate::text::cautions;
use crate::text::screen::{Extent, Screen};
use crate::text::table::{each, wrapped};

/// Our choice: a label that fits a small bottle.
const LABEL_COLUMNS: usize = 44;

/// What to weigh.
#[must_use]
pub fn text(report: &WeighReport, extent: Extent) -> String {
    let in_steps = |grams| show::in_steps_of(report.weighing.resolution_g, grams);
    let mut screen = Screen::new(extent);
    screen.push(&format!("{}: {} ({})\n", report.stock, report.salt, report.formula));
    screen.push(&format!(
        "  salt      {} g, as it comes from the bag ({} g of it pure)\n",
        in_steps(report.salt_g),
        in_steps(report.pure_salt_g)
    ));
    screen.push(&format!("  water     {} g\n", show::fixed(report.water_g, 1)));
    screen.push(&format!(
        "  together  {} g, {} mL at {} °C, density {} g/mL\n",
        show::fixed(report.total_g, 1),
        show::fixed(report.volume_ml, 1),
        show::plain(report.celsius),
        show::fixed(report.density_g_per_ml, 4)
    ));
    screen.push(&strength(&report.strength));
    screen.rest(&sources_of(&report.strength));
    if let Some(now) = &report.in_the_bottle {
        let changed = if now.file_changed_since { ", changed since," } else { "" };
        screen.instead(&wrapped(
            &format!(
                "  ! In the bottle now: batch {} of {}, {} g/kg; every plan follows it until the new one \
                 is recorded.",
                now.batch,
                now.day,
                show::four_figures(now.g_per_kg)
            ),
            4,
        ));
        screen.rest(&wrapped(
            &format!(
                "  ! In the bottle now: batch {} of {}, {} g/kg. Every plan follows it until a new \
                 batch is recorded. This page makes a new batch by the file{changed} of {} g/kg.",
                now.batch,
                now.day,
                show::four_figures(now.g_per_kg),
                show::four_figures(now.file_g_per_kg),
            ),
            4,
        ));
    }
    let weighing = &report.weighing;
    let verdict = if weighing.sensible { "good enough" } else { "TOO LITTLE FOR THIS BALANCE" };
    let balance = wrapped(
        &format!(
            "  balance: steps of {} g: the salt is weighed to ± {} %, {verdict} (limit {} %). \
             Smallest sensible amount: {} g of salt, {} mL of stock.",
            show::plain(weighing.resolution_g),
            show::plus_minus(weighing.expanded_percent),
            show::plain(weighing.limit_percent),
            show::three_figures(weighing.least_salt_g),
            show::plain(show::up_to_two_figures(weighing.least_stock_ml))
        ),
        4,
    );
    if weighing.sensible {
        screen.rest(&balance);
    } else {
        screen.push(&balance);
    }
    screen.push(&each("  ! ", &report.notes));
    screen.push(&each("  ! ", &report.cautions));
    screen.rest("\n");
    for (number, step) in report.steps.iter().enumerate() {
        screen.push(&wrapped(&format!("{:>2}. {step}", number + 1), 4));
    }
    screen.rest(&format!("\n{}", label(&report.label)));
    screen.push(&wrapped(cautions::SALTS, 0));
    screen.end()
}

/// A batch further from its file than this, %, may be a slip of the keyboard: our choice.
const FAR_OFF_PERCENT: f64 = 20.0;

/// What was recorded.
#[must_use]
pub fn recorded(report: &WeighedReport) -> String {
    let mut out = format!("{}: batch {} of {}\n", report.stock, report.batch, report.day);
    out.push_str(&strength(&report.strength));
    out.push_str(&sources_of(&report.strength));
    out.push_str(&format!(
        "  against the file  {} %\n  amount    {} g, {} mL\n",
        show::signed(report.off_by_percent, |size| show::fixed(size, 2)),
        show::fixed(report.mass_g, 1),
        show::fixed(report.volume_ml, 1)
    ));
    if report.off_by_percent.abs() > FAR_OFF_PERCENT {
        out.push_str(&wrapped(
            "! That is far from what the file says. If it is a mistake, record it again: the \
             newest batch counts.",
            2,
        ));
    }
    out.push_str(&each("! ", &report.notes));
    out.push_str(&match &report.verified {
        None => "Every dose from now on follows from this batch.\n".to_owned(),
        Some(verified) => wrapped(
            &format!(
                "What was verified of it on {}, {} g/kg, still counts: every dose follows from that.",
                verified.day,
                show::four_figures(verified.g_per_kg)
            ),
            0,
        ),
    });
    out
}

fn strength(line: &StrengthLine) -> String {
    format!(
        "  strength  {} g/kg ± {} %, {} meq/mL ± {} % (k = {})\n",
        show::fixed(line.g_per_kg, 2),
        show::plus_minus(line.g_per_kg_expanded_percent),
        show::fixed(line.meq_per_ml, 4),
        show::plus_minus(line.meq_per_ml_expanded_percent),
        show::plain(line.coverage_factor)
    )
}

/// What the ± of a strength comes from, and what would halve the first of it.
fn sources_of(line: &StrengthLine) -> String {
    let mut out = wrapped(&format!("  ± from: {}", sources(&line.budget)), 4);
    if let Some(first) = line.budget.first() {
        let halved = 100.0 * first.expanded_if_halved / line.meq_per_ml.max(f64::MIN_POSITIVE);
        out.push_str(&wrapped(
            &format!(
                "  to halve the first of these: {}; leaves ± {} %",
                first.to_halve,
                show::plus_minus(halved)
            ),
            4,
        ));
    }
    out
}

fn label(lines: &[String]) -> String {
    let rule = "─".repeat(LABEL_COLUMNS - 2);
    let mut out = format!("┌{rule}┐\n");
    for line in lines {
        let cut: String = line.chars().take(LABEL_COLUMNS - 4).collect();
        let room = LABEL_COLUMNS - 4 - cut.chars().count();
        out.push_str(&format!("│ {cut}{} │\n", " ".repeat(room)));
    }
    out.push_str(&format!("└{rule}┘\n"));
    out
}
