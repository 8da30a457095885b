//! A whole bench read, as text: everything that is damaged, and what was read.

use crate::bench::check::Check;
use crate::session::plan::common_phrases::counted;
use crate::text::diagnostic;
use crate::text::table::{columns, wrapped};

/// Each damage drawn, then how much was read.
#[must_use]
pub fn text(found: &Check) -> String {
    let drawn = found.damage.iter().map(|d| diagnostic::text(d, false, Some(columns())) + "\n");
    let mut text: String = drawn.collect();
    text.push_str(&format!(
        "read: {} of stocks, waters and flights, {}, {}\n",
        counted(found.files, "file"),
        counted(found.records, "record"),
        counted(found.sessions, "session")
    ));
    for session in &found.keys_elsewhere {
        let what = "not revealed yet; its sealed key stayed on the bench that was packed, and only \
                    there can it be revealed";
        text.push_str(&wrapped(&format!("{session}: {what}"), 2));
    }
    text + &match found.damage.len() {
        0 => "nothing is damaged\n".to_owned(),
        1 => "1 thing is damaged; the way out stands beside it\n".to_owned(),
        n => format!("{n} things are damaged; the way out stands beside each\n"),
    }
}
