//! The log of a bench as text.

use crate::bench::record_log::LogEntry;
use crate::text::Extent;
use crate::text::table::wrapped;

/// Our choice: so many lines of the log have room on a small terminal.
const LATEST_LINES: usize = 20;

/// Where what happened begins, behind number and day.
const INDENT: usize = 17;

/// The entries, each with its number, day and words; of a long log the latest ones on one screen.
#[must_use]
pub fn text(entries: &[LogEntry], extent: Extent) -> String {
    if entries.is_empty() {
        return "Nothing is recorded yet.\n".to_owned();
    }
    let lines: Vec<String> = entries.iter().map(line).collect();
    let mut shown = lines.len();
    if extent == Extent::Screen {
        let mut room = LATEST_LINES;
        let fits = |entry: &&String| {
            let left = room.checked_sub(entry.lines().count());
            room = left.unwrap_or(0);
            left.is_some()
        };
        shown = lines.iter().rev().take_while(fits).count().max(1);
    }
    let earlier = lines.len() - shown;
    let mut out = match earlier {
        0 => String::new(),
        1 => "One earlier entry: --full.\n".to_owned(),
        n => format!("{n} earlier entries: --full.\n"),
    };
    lines.iter().skip(earlier).for_each(|entry| out.push_str(entry));
    out
}

fn line(entry: &LogEntry) -> String {
    let number = entry.record.map_or("-".to_owned(), |n| n.to_string());
    let back =
        entry.taken_back_by.map_or(String::new(), |by| format!(" [taken back by record {by}]"));
    let text = format!("{number:>3}  {}  {}{back}", entry.day, entry.what);
    // The blanks that set the number apart are kept: the rest is broken behind them.
    let (head, rest) = text.split_at_checked(INDENT).unwrap_or((&text, ""));
    let broken = wrapped(&format!("{}{rest}", " ".repeat(INDENT)), INDENT);
    format!("{head}{}", broken.get(INDENT..).unwrap_or_default())
}
