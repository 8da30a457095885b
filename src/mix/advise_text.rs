//! Advice on strengths, as text.

use crate::mix::AdviceReport;
use crate::quantities::show;
use crate::text::cautions;
use crate::text::command_line::typed;
use crate::text::table::{Side, table, text as table_text, wrapped};

/// All stocks.
#[must_use]
pub fn text(report: &AdviceReport) -> String {
    let mut out = format!("For {}\n", report.flights.join("; "));
    out.push_str(&wrapped(
        &format!(
            "Each dose between {} and {} mL per bottle, so that a single one is right to ± {} % \
             (k = 2).",
            show::three_figures(report.least_ml),
            show::plain(report.most_ml),
            show::plain(report.error_percent)
        ),
        0,
    ));
    out.push('\n');
    let mut rows = table(&[
        ("stock", Side::Left),
        ("now g/kg", Side::Right),
        ("doses mL", Side::Left),
        ("make g/kg", Side::Right),
        ("salt g/kg", Side::Right),
        ("doses mL", Side::Left),
        ("± %", Side::Right),
    ]);
    let range = |[a, b]: [f64; 2]| {
        if (b - a).abs() <= 1e-9 * b {
            return show::three_figures(a);
        }
        format!("{}–{}", show::three_figures(a), show::three_figures(b))
    };
    for stock in &report.stocks {
        let mut cells =
            [stock.stock.clone(), show::fixed(stock.now_g_per_kg, 2), range(stock.now_ml)].to_vec();
        if stock.now_will_do {
            cells.extend(["as it is", "", "", ""].map(str::to_owned));
            rows.add_row(cells);
            continue;
        }
        if stock.make.is_empty() {
            cells.extend(["none", "", "", ""].map(str::to_owned));
            rows.add_row(cells);
            continue;
        }
        for (number, make) in stock.make.iter().enumerate() {
            if number > 0 {
                cells = vec![String::new(), String::new(), String::new()];
            }
            cells.extend([
                show::plain(make.g_per_kg),
                show::plain(make.salt_g),
                range(make.doses_ml),
                show::plus_minus(make.error_percent),
            ]);
            rows.add_row(cells.clone());
        }
    }
    out.push_str(&table_text(&rows));
    for stock in &report.stocks {
        if let (Some(why), false) = (&stock.why_none, stock.now_will_do) {
            out.push_str(&wrapped(&format!("* {}: {why}", stock.stock), 2));
        }
        for make in stock.make.iter().filter(|_| !stock.now_will_do) {
            if let Some(grams) = make.dilute_g {
                let line = format!(
                    "* {}: {} g of salt are too few for the balance: fill {} g of the stock as it \
                     is to {} g.",
                    stock.stock,
                    show::plain(make.salt_g),
                    show::fixed(grams, 1),
                    show::plain(make.total_g)
                );
                out.push_str(&wrapped(&line, 2));
            }
        }
        if stock.make.len() > 1 && !stock.now_will_do {
            let line = format!(
                "* {}: one strength cannot serve its smallest and its largest dose; two can, the \
                 weaker one for the small doses.",
                stock.stock
            );
            out.push_str(&wrapped(&line, 2));
        }
    }
    out.push_str(&planned_again(report));
    out.push_str(&wrapped(cautions::SALTS, 0));
    out
}

/// What the flights are with the advised strengths.
fn planned_again(report: &AdviceReport) -> String {
    let mut out = String::new();
    if let Some([least, most]) = report.checked_ml {
        let within = least >= report.least_ml && most <= report.most_ml;
        let verdict = if within {
            ""
        } else {
            ": SOME FALL OUTSIDE, as the planner now chooses other doses; `mix --dispenser` plans \
             with none below its least"
        };
        out.push_str(&wrapped(
            &format!(
                "Planned again with these strengths, the doses are {} to {} mL per bottle{verdict}.",
                show::three_figures(least),
                show::three_figures(most)
            ),
            0,
        ));
    } else {
        out.push_str(&wrapped(
            "Not planned again with these strengths, since not every stock has one of its own: the doses \
             of the others may change.",
            0,
        ));
    }
    if !report.others_taken.is_empty() {
        let without = report.others_taken.iter().map(|stock| format!("--without {}", typed(stock)));
        let line = format!(
            "`mix` would then also take {}; with `{}` it keeps to these.",
            report.others_taken.join(", "),
            without.collect::<Vec<_>>().join(" ")
        );
        out.push_str(&wrapped(&line, 0));
    }
    out
}
