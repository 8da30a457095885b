//! Published values beside waters, and what the hints at corrosion are measured by.

use crate::assessment::{GuidelineRow, WaterAnswer};
use crate::quantities::show;
use crate::text::table::{Side, table, text as table_text, wrapped};

/// What the hints are measured by: the same for every water, so it stands once.
pub(crate) fn legend(answer: &WaterAnswer) -> String {
    let mut out = String::from("Hints at corrosion, never more than that:\n");
    // Two hints may be measured by one guide: it stands once, with the shorter of their names.
    let mut said: Vec<&str> = Vec::new();
    for hint in answer.report.corrosion.all() {
        if !said.contains(&hint.limits) {
            said.push(hint.limits);
            let line = format!("- {}: {}. {}.", hint.name, hint.limits, hint.source);
            out.push_str(&wrapped(&line, 2));
        }
    }
    out.push('\n');
    out
}

/// Published values with the waters beside them.
pub(crate) fn published(rows: &[GuidelineRow], answers: &[WaterAnswer]) -> String {
    /// Waters that fit beside the published values in 80 columns.
    const ACROSS: usize = 4;
    let mut out = String::from("Published values beside the waters; a table, never a verdict.\n\n");
    for group in answers.chunks(ACROSS) {
        let mut heads = vec![("value", Side::Left), ("published", Side::Left)];
        heads.extend(group.iter().map(|a| (a.report.name.as_str(), Side::Right)));
        let mut lines = table(&heads);
        let mut document = "";
        for (n, row) in rows.iter().enumerate() {
            if row.source != document {
                document = row.source;
            }
            let mark = sources(rows).iter().position(|s| *s == document).map_or(0, |at| at + 1);
            let mut cells =
                vec![format!("{} [{mark}]", row.quantity), format!("{} {}", range(row), row.unit)];
            for answer in group {
                let value = answer.published.get(n).and_then(|r| r.value);
                cells.push(value.map_or("n/m".to_owned(), show::three_figures));
            }
            lines.add_row(cells);
        }
        out.push_str(&table_text(&lines));
        out.push('\n');
    }
    for (n, source) in sources(rows).iter().enumerate() {
        out.push_str(&wrapped(&format!("[{}] {source}", n + 1), 4));
    }
    out.push('\n');
    out
}

fn sources(rows: &[GuidelineRow]) -> Vec<&'static str> {
    let mut sources = Vec::new();
    for row in rows {
        if !sources.contains(&row.source) {
            sources.push(row.source);
        }
    }
    sources
}

fn range(row: &GuidelineRow) -> String {
    let edges = match (row.at_least, row.at_most) {
        (Some(low), Some(high)) => format!("{} to {}", show::plain(low), show::plain(high)),
        (Some(low), None) => format!("at least {}", show::plain(low)),
        (None, Some(high)) => format!("at most {}", show::plain(high)),
        (None, None) => String::new(),
    };
    let aim = row.aim.map(|aim| format!("aim {}", show::plain(aim)));
    let parts: Vec<String> =
        [Some(edges).filter(|e| !e.is_empty()), aim].into_iter().flatten().collect();
    format!("{} ({})", parts.join(", "), row.kind)
}
