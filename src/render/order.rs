//! A flight in steps of a dispenser, its set of stocks and what is left, as text.

use crate::quantities::show;
use crate::render::table::{Side, table, text as table_text, wrapped};
use crate::report::order_report::{DispenserReport, OrderReport, SteppedWater};

/// Stocks that fit beside the name of the water in 80 columns.
const STOCKS_ACROSS: usize = 6;

/// What was asked of the bench, and what came of it.
#[must_use]
pub fn text(report: &OrderReport) -> String {
    let mut out = String::new();
    if let Some(set) = &report.stock_set {
        let proof = if set.proved { "proved" } else { "NOT PROVED in the time given" };
        let names = if set.stocks.is_empty() { "none".to_owned() } else { set.stocks.join(", ") };
        out.push_str(&wrapped(&format!("Opened, {} ({proof}): {}.", set.asked, names), 2));
    }
    if let Some(left) = &report.left {
        let what = match (left.binding, left.proved) {
            (false, true) => "what is left of the stocks suffices",
            (true, true) => "doses changed to make do with what is left, the best way there is",
            (_, false) => "doses changed to make do with what is left; NOT PROVED to be the best",
        };
        let rests: Vec<String> = left
            .stocks
            .iter()
            .map(|s| {
                format!(
                    "{} {} of {} mL",
                    s.stock,
                    show::three_figures(s.ml_after),
                    show::plain(s.ml_before)
                )
            })
            .collect();
        out.push_str(&wrapped(&format!("Left over ({what}): {}.", rests.join(", ")), 2));
    }
    if let Some(dispenser) = &report.dispenser {
        if !out.is_empty() {
            out.push('\n');
        }
        out.push_str(&in_steps(dispenser));
    }
    out
}

fn in_steps(report: &DispenserReport) -> String {
    let unit = report.unit;
    let amount = |v: f64| format!("{} {unit}", show::plain(v));
    let mut out = wrapped(
        &format!(
            "With the {} `{}`: steps of {}, at least {}, error {}; {unit} for a bottle.",
            report.kind,
            report.name,
            amount(report.step),
            amount(report.least),
            amount(report.error),
        ),
        2,
    );
    out.push_str(&amounts(report));
    out.push('\n');
    let mut rows = table(&[
        ("missed, in tolerances", Side::Left),
        ("beyond", Side::Right),
        ("without steps", Side::Right),
        ("inside", Side::Right),
        ("without steps", Side::Right),
        ("best?", Side::Left),
    ]);
    for water in &report.waters {
        rows.add_row([
            format!("{} {}", water.number, water.target),
            show::fixed(water.misses[0], 2),
            show::fixed(water.misses_without_steps[0], 2),
            show::fixed(water.misses[1], 2),
            show::fixed(water.misses_without_steps[1], 2),
            if water.proved { "proved" } else { "NOT PROVED" }.to_owned(),
        ]);
    }
    out.push_str(&table_text(&rows));
    let worst = report
        .waters
        .iter()
        .flat_map(|w| w.doses.iter().map(move |d| (d, w)))
        .max_by(|a, b| a.0.error_percent.total_cmp(&b.0.error_percent));
    if let Some((dose, water)) = worst {
        out.push_str(&wrapped(
            &format!(
                "The error of the {} is at most {} % of a dose: {} in {}.",
                report.kind,
                show::plain(show::fixed(dose.error_percent, 1).parse().unwrap_or_default()),
                dose.stock,
                water.target
            ),
            2,
        ));
    }
    for water in report.waters.iter().filter(|w| !w.proved) {
        let why = if water.out_of_time {
            "time ran out"
        } else {
            "the digits of the arithmetic do not tell more"
        };
        out.push_str(&wrapped(
            &format!(
                "! {} {}: {why}. Other steps could be better: {}.",
                water.number,
                water.target,
                gaps(water)
            ),
            2,
        ));
    }
    for water in &report.waters {
        for dilution in &water.dilutions {
            out.push_str(&wrapped(
                &format!(
                    "! {} {}: {} mL of {} for a bottle is less than the {} mL that can be \
                     delivered. Thin it {} times ({} mL of stock and water to 100 mL), and take \
                     {} mL of that.",
                    water.number,
                    water.target,
                    show::three_figures(dilution.ml_per_bottle),
                    dilution.stock,
                    show::plain(dilution.least_ml),
                    dilution.fold,
                    show::plain(dilution.stock_ml_per_100_ml),
                    show::three_figures(dilution.diluted_ml_per_bottle),
                ),
                2,
            ));
        }
    }
    out
}

/// What to measure out, water by water.
fn amounts(report: &DispenserReport) -> String {
    let unit = report.unit;
    let mut out = String::new();
    let mut names: Vec<&str> = Vec::new();
    for dose in report.waters.iter().flat_map(|w| &w.doses) {
        if !names.contains(&dose.stock.as_str()) {
            names.push(&dose.stock);
        }
    }
    let head = format!("{unit} per bottle");
    for group in names.chunks(STOCKS_ACROSS) {
        let mut heads = vec![(head.as_str(), Side::Left)];
        heads.extend(group.iter().map(|name| (*name, Side::Right)));
        let mut rows = table(&heads);
        for water in &report.waters {
            let mut cells = vec![format!("{} {}", water.number, water.target)];
            for name in group {
                let dose = water.doses.iter().find(|d| d.stock == *name);
                cells.push(dose.map_or("·".to_owned(), |d| show::plain(d.amount)));
            }
            rows.add_row(cells);
        }
        out.push_str(&table_text(&rows));
    }
    out
}

/// How much better each stage could be, in words.
fn gaps(water: &SteppedWater) -> String {
    let name = |stage: &str| match stage {
        "largest_miss" => "the largest miss",
        "misses_beyond" => "misses beyond tolerance",
        "misses_inside" => "misses inside tolerance",
        "stocks" => "the number of stocks",
        _ => "a later wish",
    };
    let open: Vec<String> = water
        .stages
        .iter()
        .filter(|stage| !stage.proved)
        .map(|stage| {
            let figures = |v: f64| show::four_figures(v);
            let (bound, value) = (figures(stage.bound), figures(stage.value));
            let name = name(stage.stage);
            if bound == value {
                format!("{name} by less than is shown of {value}")
            } else {
                format!("{name} {bound} at best instead of {value}")
            }
        })
        .collect();
    open.join(", ")
}
