//! `sources`: the publications behind the numbers.

use clap::Args;
use serde_json::{Value, json};

use crate::cli::outcome::{How, Outcome, answer};
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
    let line = |source: &Source| {
        let Source { used_for, about, citation, kind, .. } = source;
        json!({
            "used_for": used_for, "about": about.to_string(), "citation": citation,
            "kind": kind.to_string(),
        })
    };
    let lines: Vec<Value> = found.iter().map(line).collect();
    answer(&lines, how.json, |_| match (&options.word, how.extent) {
        (None, Extent::Screen) => sources_text::topics(&found),
        _ => sources_text::text(&found),
    })
}
