//! The text of a file with its name, and the places in it.

use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::files::Written;

/// A file's text; cheap to clone, and its bytes never move.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceText {
    path: PathBuf,
    text: Arc<str>,
}

impl SourceText {
    /// Takes a text; a byte-order mark at its start is dropped.
    #[must_use]
    pub fn new(path: impl Into<PathBuf>, text: &str) -> Self {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        Self { path: path.into(), text: Arc::from(text) }
    }

    /// The name of the file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The text as it was read, without a byte-order mark.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Where a value stands that was read from this very text.
    #[must_use]
    pub fn span_of(&self, written: &Written) -> Option<Range<usize>> {
        let start = written.address()?.checked_sub(self.text.as_ptr().addr())?;
        let end = start.checked_add(written.length())?;
        self.text.get(start..end).map(|_| start..end)
    }

    /// The line that a byte stands in, counted from 1.
    #[must_use]
    pub fn line(&self, offset: usize) -> usize {
        self.text.bytes().take(offset).filter(|byte| *byte == b'\n').count() + 1
    }

    /// The byte offset of a line and column, both counted from 1, columns in characters.
    #[must_use]
    pub fn offset(&self, line: usize, column: usize) -> usize {
        let mut start = 0;
        for (number, content) in self.text.split_inclusive('\n').enumerate() {
            if number + 1 == line {
                let within = content
                    .char_indices()
                    .nth(column.saturating_sub(1))
                    .map_or(content.len(), |(at, _)| at);
                return start + within;
            }
            start += content.len();
        }
        self.text.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters() {
        let source = SourceText::new("x", "é a\nb");
        assert_eq!(source.offset(1, 3), 3);
        assert_eq!(source.offset(2, 1), 5);
        assert_eq!(source.offset(9, 9), 6);
    }
}
