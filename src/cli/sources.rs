//! `sources`: the publications behind the numbers.

use clap::Args;
use serde::Serialize;

use crate::app::mistakes::internal;
use crate::cli::outcome::{How, Outcome};
use crate::files::Diagnostic;
use crate::reference::source::{SOURCES, Source, Topic};
use crate::text::Extent;
use crate::text::sources_text;

/// Which sources.
#[derive(Debug, Args)]
pub(super) struct SourcesOptions {
    /// Those with this word in their topic, their use or their title.
    word: Option<String>,
}

#[derive(Serialize)]
struct SourceLine {
    used_for: &'static str,
    about: String,
    citation: &'static str,
    kind: String,
}

pub(super) fn run(options: &SourcesOptions, how: How) -> Outcome {
    let found: Vec<Source> = match &options.word {
        Some(word) => sources_text::about(word),
        None => SOURCES.to_vec(),
    };
    if let (Some(word), []) = (&options.word, found.as_slice()) {
        let topics: Vec<String> = Topic::ALL.iter().map(ToString::to_string).collect();
        return Err(Diagnostic::choice(format!("no source is about `{word}`"))
            .expected(format!("a word of it, or one of: {}", topics.join(", ")))
            .into());
    }
    if how.json {
        let lines = found.iter().map(|s| SourceLine {
            used_for: s.used_for,
            about: s.about.to_string(),
            citation: s.citation,
            kind: s.kind.to_string(),
        });
        let lines: Vec<SourceLine> = lines.collect();
        return crate::text::json::document(&lines).map_err(|e| internal(&e));
    }
    Ok(match (&options.word, how.extent) {
        (None, Extent::Screen) => sources_text::topics(&found),
        _ => sources_text::text(&found),
    })
}
