//! The table of doses, so close that six stocks fit beside the names of the waters.

use crate::mix::MixReport;
use crate::mix::mix_report::WaterMix;
use crate::mix::order_report::DispenserReport;
use crate::mix::order_text;
use crate::quantities::show;
use crate::text::close_table::{CloseRow, CloseTable};

fn of_water(number: usize, name: &str, cells: Vec<String>) -> CloseRow {
    CloseRow { label: format!("{number} {name}"), short: number.to_string(), cells }
}

fn of_all(bottles: u32, cells: Vec<String>) -> CloseRow {
    let label = match bottles {
        1 => "one of each".to_owned(),
        n => format!("{n} of each"),
    };
    let short = if bottles == 1 { "all".to_owned() } else { format!("all × {bottles}") };
    CloseRow { label, short, cells }
}

/// mL for a bottle of each water, and for all of them.
pub(super) fn of_volumes(report: &MixReport) -> String {
    let stocks: Vec<&str> = report.stocks_used.iter().map(|s| s.stock.as_str()).collect();
    let row = |water: &WaterMix| {
        let dose = |name: &&str| {
            let dose = water.doses.iter().find(|d| d.stock == **name);
            dose.map_or("·".to_owned(), |d| show::fixed(d.ml_per_bottle, 2))
        };
        of_water(water.number, &water.target, stocks.iter().map(dose).collect())
    };
    let mut rows: Vec<CloseRow> = report.waters.iter().map(row).collect();
    let used = report.stocks_used.iter().map(|s| show::fixed(s.ml, 2));
    rows.push(of_all(report.bottles, used.collect()));
    let columns = stocks.into_iter().map(str::to_owned).collect();
    CloseTable { head: "mL for a bottle".to_owned(), columns, rows }.text()
}

/// What a bottle of each water takes of the steps of a dispenser, and all of it.
pub(super) fn of_steps(report: &DispenserReport, bottles: u32) -> String {
    let stocks = report.stocks();
    let rows = report.waters.iter().map(|water| {
        let dose = |name: &&str| {
            let dose = water.doses.iter().find(|d| d.stock == **name);
            dose.map_or("·".to_owned(), |d| order_text::amount_of(report, d))
        };
        of_water(water.number, &water.target, stocks.iter().map(dose).collect())
    });
    let mut rows: Vec<CloseRow> = rows.collect();
    let all = |name: &&str| {
        let doses = report.waters.iter().flat_map(|w| &w.doses).filter(|d| d.stock == **name);
        let amount: f64 = doses.map(|dose| dose.amount).sum();
        format!("{} {}", show::three_figures(amount * f64::from(bottles)), report.unit)
    };
    let used = stocks.iter().map(all).collect();
    rows.push(of_all(bottles, used));
    let columns = stocks.into_iter().map(str::to_owned).collect();
    CloseTable { head: order_text::unit_of_doses(report), columns, rows }.text()
}
