//! A page as text.

use crate::text::chart_text;
use crate::text::table::{Side, table, text as table_text, wrapped};
use crate::text::{Page, Part};

/// The page.
#[must_use]
pub fn text(page: &Page) -> String {
    let mut out = String::new();
    for part in &page.parts {
        match part {
            // A table brings its own empty lines; two in a row are one.
            Part::Text(line) if line.is_empty() && out.ends_with("\n\n") => {}
            Part::Text(line) if line.is_empty() => out.push('\n'),
            Part::Text(line) => {
                let start = line.chars().take_while(|c| *c == ' ').count();
                out.push_str(&wrapped(line, start.max(2)));
            }
            Part::Chart(drawn) => out.push_str(&chart_text::text(drawn)),
            Part::Table(heads, rows) => {
                let heads: Vec<(&str, Side)> =
                    heads.iter().map(|h| (h.as_str(), Side::Left)).collect();
                let mut drawn = table(&heads);
                for row in rows {
                    drawn.add_row(row.clone());
                }
                out.push_str(&table_text(&drawn));
            }
        }
    }
    out
}
