//! A page as text.

use crate::text::screen::{Extent, Screen};
use crate::text::table::{Side, blanks_before, table, text as table_text, wrapped};
use crate::text::{Page, Part, chart_text};

/// The whole page.
#[must_use]
pub fn text(page: &Page) -> String {
    page.all_parts().into_iter().fold(String::new(), with)
}

/// The page without what is read on request.
#[must_use]
pub fn first_screen(page: &Page) -> String {
    let mut out = String::new();
    let mut is_cut = false;
    for part in &page.parts {
        match part {
            Part::Rest(_) => is_cut = true,
            part => out = with(out, part),
        }
    }
    let mut screen = Screen::new(Extent::Screen);
    let whole = out.trim_end_matches('\n');
    screen.push(&format!("{whole}\n"));
    screen.rest(if is_cut { "more" } else { "" });
    screen.end()
}

fn with(mut out: String, part: &Part) -> String {
    match part {
        // A table brings its own empty lines; two in a row are one.
        Part::Text(line) if line.is_empty() && (out.is_empty() || out.ends_with("\n\n")) => {}
        Part::Text(line) if line.is_empty() => out.push('\n'),
        Part::Text(line) => {
            out.push_str(&wrapped(line, blanks_before(line).max(2)));
        }
        Part::Chart(drawn) => out.push_str(&chart_text::text(drawn)),
        Part::Table(heads, rows) => {
            let heads: Vec<(&str, Side)> = heads.iter().map(|h| (h.as_str(), Side::Left)).collect();
            let mut drawn = table(&heads);
            for row in rows {
                drawn.add_row(row.clone());
            }
            out.push_str(&table_text(&drawn));
        }
        // Taken apart before.
        Part::Rest(_) => {}
    }
    out
}
