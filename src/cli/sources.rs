//! `sources`: the publications behind the numbers.

use serde::Serialize;

use crate::app::mistakes::internal;
use crate::cli::outcome::Outcome;
use crate::reference::source::SOURCES;

#[derive(Serialize)]
struct SourceLine {
    used_for: &'static str,
    citation: &'static str,
    kind: String,
}

pub(super) fn run(json: bool) -> Outcome {
    if json {
        let lines: Vec<SourceLine> = SOURCES
            .iter()
            .map(|s| SourceLine {
                used_for: s.used_for,
                citation: s.citation,
                kind: s.kind.to_string(),
            })
            .collect();
        return crate::text::json::document(&lines).map_err(|e| internal(&e));
    }
    Ok(crate::text::sources_text::text(SOURCES))
}
