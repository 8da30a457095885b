//! The publications behind the numbers.

use crate::reference::source::{Kind, SOURCES, Source, Topic};
use crate::text::table::{Side, table, text as table_text, wrapped};

/// The sources with a word in their topic, their use or their title.
#[must_use]
pub fn about(word: &str) -> Vec<Source> {
    let word = word.to_lowercase();
    let has = |source: &&Source| {
        let about = source.about.to_string();
        let texts = [about.as_str(), source.used_for, source.citation];
        texts.iter().any(|text| text.to_lowercase().contains(&word))
    };
    SOURCES.iter().filter(has).copied().collect()
}

/// A list of sources as text.
#[must_use]
pub fn text(sources: &[Source]) -> String {
    let mut out = String::new();
    for source in sources {
        let line = format!("- {} [{}]: {}.", source.used_for, source.kind, source.citation);
        out.push_str(&wrapped(&line, 2));
    }
    out
}

/// How many there are of each topic, and how they were obtained.
#[must_use]
pub fn topics(sources: &[Source]) -> String {
    let kinds = [Kind::Published, Kind::FromMemory, Kind::CommonPractice];
    let count = |topic: Topic, kind: Kind| {
        let found = sources.iter().filter(|s| s.about == topic && s.kind == kind);
        match found.count() {
            0 => "·".to_owned(),
            n => n.to_string(),
        }
    };
    let mut rows = table(&[
        ("about", Side::Left),
        ("published", Side::Right),
        ("from memory", Side::Right),
        ("common practice", Side::Right),
    ]);
    for topic in Topic::ALL {
        let counts = kinds.map(|kind| count(topic, kind));
        rows.add_row(std::iter::once(topic.to_string()).chain(counts));
    }
    let mut out = format!("{} sources stand behind the numbers.\n\n", sources.len());
    out.push_str(&table_text(&rows));
    out.push('\n');
    for line in [
        "published: looked up there, or where a public package transcribes it; from memory: recalled and not \
         looked up; common practice: without a source that can be cited.",
        "`waterflight sources density` lists those of a word or a topic, --full all of them.",
    ] {
        out.push_str(&wrapped(line, 0));
    }
    out
}
