//! Ready targets as text.

use crate::app::ready_targets::ReadyLine;
use crate::files::Diagnostic;
use crate::text::screen::{Extent, Screen};
use crate::text::table::wrapped;

/// Targets with what the shelf can make of them; `mistakes` are files that are not read.
#[must_use]
pub fn text(lines: &[ReadyLine], mistakes: &[Diagnostic], extent: Extent) -> String {
    let mut out = Screen::new(extent);
    for (n, line) in lines.iter().enumerate() {
        let before = n.checked_sub(1).and_then(|n| lines.get(n));
        if before.is_none_or(|before| before.from != line.from) {
            let head = match line.from.as_str() {
                "published" => "Published ranges and standards".to_owned(),
                "own" => "Your own".to_owned(),
                flight => format!("In the flight {flight}"),
            };
            out.push(&format!("{}{head}\n", if n == 0 { "" } else { "\n" }));
        }
        let is_general = matches!(line.from.as_str(), "published" | "own");
        let reach = match line.in_reach {
            Some(true) => "in reach",
            Some(false) if is_general => "OUT OF REACH of this shelf",
            Some(false) => "OUT OF REACH as this flight is made",
            None if !is_general => "not known: this flight has no plan",
            None => "not known: a base water was not measured for it",
        };
        out.push(&wrapped(&format!("  {}: {reach}", line.name), 4));
        out.rest(&wrapped(&format!("    {}", line.goals), 4));
        if let Some(source) = &line.source {
            out.rest(&wrapped(&format!("    source: {source}"), 6));
        }
    }
    for mistake in mistakes {
        let details = mistake.details();
        let path = details.path.as_ref().map(|p| p.display().to_string()).unwrap_or_default();
        out.push(&wrapped(&format!("* not read: {path}: {}", details.title), 2));
    }
    out.push("\n");
    out.push(&wrapped(
        "`waterflight targets NAME … --into FLIGHT` makes a flight of them. They are starting points, \
         not findings about taste.",
        0,
    ));
    out.end()
}
