//! Tables of doses: close, so that six stocks fit beside the names of the waters on a screen, and wide.

use crate::mix::MixReport;
use crate::mix::order_report::{DispenserReport, SteppedDose};
use crate::mix::water_mix::Dose;
use crate::quantities::show;
use crate::text::close_table::{CloseRow, CloseTable};
use crate::text::table::{Side, table, text as table_text};

/// Stocks that fit beside the name of a water in 80 columns.
const STOCKS_ACROSS: usize = 6;

/// A water with its dose of each stock, in their order.
fn of_water<Of>(
    (number, target): (usize, &str),
    stocks: &[&str],
    doses: &[Of],
    named: fn(&Of) -> &str,
    shown: impl Fn(&Of) -> String,
) -> CloseRow {
    let cell = |stock: &&str| {
        let dose = doses.iter().find(|dose| named(dose) == *stock);
        dose.map_or("·".to_owned(), &shown)
    };
    let cells = stocks.iter().map(cell).collect();
    CloseRow { label: format!("{number} {target}"), short: number.to_string(), cells }
}

fn stocks_of(report: &MixReport) -> Vec<&str> {
    report.stocks_used.iter().map(|used| used.stock.as_str()).collect()
}

fn volumes(report: &MixReport, ml: fn(&Dose) -> f64) -> Vec<CloseRow> {
    let stocks = stocks_of(report);
    let shown = |dose: &Dose| show::at_least_a_figure(ml(dose), 2);
    let waters = report.waters.iter();
    waters
        .map(|w| of_water((w.number, &w.target), &stocks, &w.doses, |d| &d.stock, shown))
        .collect()
}

fn steps(report: &DispenserReport) -> Vec<CloseRow> {
    let stocks = report.stocks();
    let shown = |dose: &SteppedDose| amount_of(report, dose);
    let waters = report.waters.iter();
    waters
        .map(|w| of_water((w.number, &w.target), &stocks, &w.doses, |d| &d.stock, shown))
        .collect()
}

fn of_all(bottles: u32, cells: Vec<String>) -> CloseRow {
    let label = match bottles {
        1 => "one of each".to_owned(),
        n => format!("{n} of each"),
    };
    let short = if bottles == 1 { "all".to_owned() } else { format!("all × {bottles}") };
    CloseRow { label, short, cells }
}

fn close(head: String, stocks: &[&str], rows: Vec<CloseRow>) -> String {
    let columns = stocks.iter().map(|stock| (*stock).to_owned()).collect();
    CloseTable { head, columns, rows }.text()
}

/// mL for a bottle of each water, and for all of them.
pub(super) fn of_volumes(report: &MixReport) -> String {
    let mut rows = volumes(report, |dose| dose.ml_per_bottle);
    let used = report.stocks_used.iter().map(|s| show::at_least_a_figure(s.ml, 2));
    rows.push(of_all(report.bottles, used.collect()));
    close("mL for a bottle".to_owned(), &stocks_of(report), rows)
}

/// What a bottle of each water takes of the steps of a dispenser, and all of it.
pub(super) fn of_steps(report: &DispenserReport, bottles: u32) -> String {
    let stocks = report.stocks();
    let mut rows = steps(report);
    let all = |name: &&str| {
        let doses = report.waters.iter().flat_map(|w| &w.doses).filter(|d| d.stock == **name);
        let amount: f64 = doses.map(|dose| dose.amount).sum();
        format!("{} {}", show::three_figures(amount * f64::from(bottles)), report.unit)
    };
    rows.push(of_all(bottles, stocks.iter().map(all).collect()));
    close(unit_of_doses(report), &stocks, rows)
}

/// mL per litre of each water, with room around the columns.
pub(super) fn wide_volumes(report: &MixReport) -> String {
    wide("mL per litre", &stocks_of(report), &volumes(report, |dose| dose.ml_per_l))
}

/// What each water takes of the steps of a dispenser, likewise.
pub(super) fn wide_steps(report: &DispenserReport) -> String {
    wide(&unit_of_doses(report), &report.stocks(), &steps(report))
}

fn wide(head: &str, stocks: &[&str], waters: &[CloseRow]) -> String {
    let mut out = String::new();
    for from in (0..stocks.len()).step_by(STOCKS_ACROSS) {
        let group = stocks.iter().skip(from).take(STOCKS_ACROSS);
        let heads: Vec<(&str, Side)> = [(head, Side::Left)]
            .into_iter()
            .chain(group.map(|stock| (*stock, Side::Right)))
            .collect();
        let mut rows = table(&heads);
        for water in waters {
            let cells = water.cells.iter().skip(from).take(STOCKS_ACROSS);
            rows.add_row(std::iter::once(&water.label).chain(cells));
        }
        out.push_str(&table_text(&rows));
    }
    out
}

/// What the doses of a bottle are told in.
fn unit_of_doses(report: &DispenserReport) -> String {
    let unit = report.unit;
    match report.counted {
        Some(counted) => format!("{counted} ({unit})"),
        None if has_marks(report) => format!("{unit} (marks)"),
        None => format!("{unit} per bottle"),
    }
}

/// `16 (0.8)` where steps are counted; `0.8 (8)` where they are marks to be read off; else `0.8`.
fn amount_of(report: &DispenserReport, dose: &SteppedDose) -> String {
    let amount = show::plain(dose.amount);
    match report.counted {
        // Drops that were weighed have sizes of many digits.
        Some(_) => {
            format!("{} ({})", dose.steps, show::plain((dose.amount * 100.0).round() / 100.0))
        }
        None if has_marks(report) => format!("{amount} ({})", dose.steps),
        None => amount,
    }
}

/// Whether its steps are marks on glass or plastic.
fn has_marks(report: &DispenserReport) -> bool {
    report.kind == "syringe"
}
