//! Other recipes for the same water, as text.

use crate::mix::AlternativesReport;
use crate::mix::kept_out::any_size;
use crate::quantities::show;
use crate::text::cautions;
use crate::text::table::{Side, table, text as table_text, wrapped};

/// Ions shown across; all of them stand in the JSON report.
const IONS: [&str; 7] = ["Ca", "Mg", "Na", "K", "Cl", "SO4", "HCO3"];

/// One line of water and one of doses for each recipe.
#[must_use]
pub fn text(report: &AlternativesReport) -> String {
    if let Some(kept) = &report.kept_out {
        let out =
            format!("{}: out of reach, so there is no recipe. {}", report.target, kept.sentence());
        return wrapped(&out, 0);
    }
    if report.recipes.is_empty() {
        return wrapped(
            &format!(
                "{}: out of reach, so there is no recipe; `waterflight why {}` says what stands in \
                 the way.",
                report.target, report.typed
            ),
            0,
        );
    }
    let mut out = wrapped(
        &format!(
            "{}: {} with every goal within tolerance: the best{}",
            report.target,
            match report.recipes.len() {
                1 => "one recipe".to_owned(),
                n => format!("{n} recipes"),
            },
            match report.recipes.len() {
                1 => "",
                _ => ", then those that no stock can be left out of",
            }
        ),
        0,
    );
    out.push('\n');
    if let Some(words) = any_size(&report.not_counted) {
        out.push_str(&wrapped(&words, 0));
        out.push('\n');
    }
    let mut heads = vec![("mg/L", Side::Left)];
    heads.extend(IONS.map(|ion| (ion, Side::Right)));
    heads.push(("off, tolerances", Side::Right));
    let mut rows = table(&heads);
    for (n, recipe) in report.recipes.iter().enumerate() {
        let mut cells = vec![format!("{}", n + 1)];
        for ion in IONS {
            let mg = recipe.mg_per_l.0.iter().find(|(key, _)| *key == ion).map(|(_, mg)| *mg);
            let none = if recipe.mg_per_l.is_unmeasured(ion) { "n/m" } else { "·" };
            cells.push(mg.filter(|mg| *mg > 0.0).map_or(none.to_owned(), show::three_figures));
        }
        cells.push(show::fixed(recipe.misses, 2));
        rows.add_row(cells);
    }
    out.push_str(&table_text(&rows));
    if report.recipes.iter().any(|recipe| IONS.iter().any(|ion| recipe.mg_per_l.is_unmeasured(ion)))
    {
        out.push_str("n/m: not measured in a base water.\n");
    }
    out.push('\n');
    out.push_str(&format!("mL per litre, doses {}:\n", report.convention));
    for (n, recipe) in report.recipes.iter().enumerate() {
        let doses: Vec<String> = recipe
            .doses
            .iter()
            .map(|d| format!("{} {}", d.stock, show::three_figures(d.ml_per_l)))
            .collect();
        let doses = if doses.is_empty() { "base water alone".to_owned() } else { doses.join(", ") };
        out.push_str(&wrapped(&format!("{} {doses}", n + 1), 2));
    }
    out.push_str(&wrapped(cautions::DRINKING, 0));
    out
}
