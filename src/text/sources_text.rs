//! The publications behind the numbers.

use crate::reference::source::Source;
use crate::text::table::wrapped;

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
