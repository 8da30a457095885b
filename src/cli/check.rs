//! `check`: the whole bench read, everything wrong with it listed.

use std::path::Path;

use serde_json::json;

use crate::app::mistakes::internal;
use crate::bench::check::{Check, check};
use crate::cli::bench;
use crate::cli::outcome::Outcome;
use crate::files::Diagnostic;
use crate::session::plan::common_phrases::counted;
use crate::text::diagnostic;
use crate::text::table::{columns, wrapped};

pub(super) fn run(named: Option<&Path>, json: bool, partly: &mut bool) -> Outcome {
    let root = bench::root(named)?;
    let found = check(&root)?;
    *partly = !found.damage.is_empty();
    if json {
        return document(&found);
    }
    let mut text: String =
        found.damage.iter().map(|d| diagnostic::text(d, false, Some(columns())) + "\n").collect();
    text.push_str(&format!(
        "read: {} of stocks, waters and flights, {}, {}\n",
        counted(found.files, "file"),
        counted(found.records, "record"),
        counted(found.sessions, "session")
    ));
    for session in &found.keys_elsewhere {
        text.push_str(&wrapped(
            &format!(
                "{session}: its sealed key stayed where the bench was packed, and it is revealed there"
            ),
            2,
        ));
    }
    text.push_str(&match found.damage.len() {
        0 => "nothing is damaged\n".to_owned(),
        1 => "1 thing is damaged; the way out stands beside it\n".to_owned(),
        n => format!("{n} things are damaged; the way out stands beside each\n"),
    });
    Ok(text)
}

fn document(found: &Check) -> Outcome {
    let damage = |d: &Diagnostic| {
        let details = d.details();
        json!({
            "file": details.path, "what": details.title, "found": details.found,
            "expected": details.expected, "remedy": details.remedy,
        })
    };
    let not_read = found.not_read.iter();
    let not_read = not_read.map(|s| json!({ "file": s.path, "why": s.why.to_string() }));
    let data = json!({
        "files": found.files, "records": found.records, "sessions": found.sessions,
        "damage": found.damage.iter().map(damage).collect::<Vec<_>>(),
        "keys_elsewhere": found.keys_elsewhere,
        "not_read": not_read.collect::<Vec<_>>(),
    });
    crate::text::json::document(&data).map_err(|e| internal(&e))
}
