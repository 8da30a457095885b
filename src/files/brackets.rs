//! Quotes and brackets that do not belong together, in a text that could not be parsed.

use std::ops::Range;

/// What is wrong with the quotes and brackets of a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Fault {
    /// A quote that is never closed.
    Quote {
        /// Where it opens, with the rest of its line.
        at: Range<usize>,
    },
    /// A bracket that closes another kind than was opened last.
    Crossed {
        /// Where it stands.
        at: Range<usize>,
        /// The bracket that is open.
        open: Open,
    },
    /// A bracket that closes nothing.
    Needless {
        /// Where it stands.
        at: Range<usize>,
    },
    /// The text ends before a bracket is closed.
    Unclosed {
        /// The bracket that is open.
        open: Open,
    },
}

/// A bracket that was opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Open {
    bracket: char,
    line: usize,
    /// The word before it, and its place.
    word: String,
    /// Where it stands.
    pub(super) at: usize,
}

impl Open {
    /// The bracket that belongs to it.
    pub(super) fn closing(&self) -> char {
        closing(self.bracket)
    }

    /// `goals: (` of line 5.
    pub(super) fn described(&self) -> String {
        format!("`{}{}` of line {}", self.word, self.bracket, self.line)
    }
}

fn closing(bracket: char) -> char {
    match bracket {
        '(' => ')',
        '[' => ']',
        _ => '}',
    }
}

/// The first fault; `None` where all belong together.
pub(super) fn fault(text: &str) -> Option<Fault> {
    let mut open: Vec<Open> = Vec::new();
    let mut unclosed_in_a_line = None;
    let mut crossed = None;
    let (mut quote, mut escaped, mut remark) = (None, false, false);
    let (mut line, mut before) = (1, ' ');
    for (at, c) in text.char_indices() {
        match c {
            '\n' => {
                if let Some(opened) = quote
                    && unclosed_in_a_line.is_none()
                {
                    unclosed_in_a_line = Some(opened..at);
                }
                (line, remark) = (line + 1, false);
            }
            _ if remark => {}
            _ if escaped => escaped = false,
            '\\' if quote.is_some() => escaped = true,
            '"' => quote = if quote.is_some() { None } else { Some(at) },
            _ if quote.is_some() => {}
            '/' if before == '/' => remark = true,
            '(' | '[' | '{' => {
                open.push(Open { bracket: c, line, word: word_before(text, at), at });
            }
            ')' | ']' | '}' if crossed.is_none() => match open.pop() {
                Some(last) if closing(last.bracket) == c => {}
                Some(last) => crossed = Some(Fault::Crossed { at: at..at + 1, open: last }),
                None => crossed = Some(Fault::Needless { at: at..at + 1 }),
            },
            _ => {}
        }
        before = c;
    }
    // With a quote left over, what looks like text is not, and the brackets in it do not count.
    if let Some(opened) = quote {
        let at = unclosed_in_a_line.unwrap_or(opened..text.len());
        let at = swallowed_a_key(text, opened).unwrap_or(at);
        return Some(Fault::Quote { at });
    }
    crossed.or_else(|| open.pop().map(|open| Fault::Unclosed { open }))
}

/// A text in the line of an unclosed quote that goes on to the next key, as `"zz, salt: "` does: what
/// stands before the comma is the value that its quote opens.
fn swallowed_a_key(text: &str, unclosed: usize) -> Option<Range<usize>> {
    let start = text.get(..unclosed)?.rfind('\n').map_or(0, |n| n + 1);
    let line = text.get(start..)?.lines().next()?;
    let mut quotes = line.match_indices('"').map(|(at, _)| at);
    while let (Some(opens), Some(closes)) = (quotes.next(), quotes.next()) {
        let inside = line.get(opens + 1..closes)?;
        let Some((value, key)) = inside.rsplit_once(',') else { continue };
        let key = key.trim().strip_suffix(':').map(str::trim);
        let is_key =
            |key: &str| !key.is_empty() && key.chars().all(|c| c.is_alphanumeric() || c == '_');
        if key.is_some_and(is_key) {
            return Some(start + opens..start + opens + 1 + value.len());
        }
    }
    None
}

/// The word before a bracket, with a colon where there is one: `Target`, or `goals: `.
fn word_before(text: &str, at: usize) -> String {
    let line = text.get(..at).and_then(|before| before.lines().next_back()).unwrap_or_default();
    let trimmed = line.trim_end();
    let (named, colon) = match trimmed.strip_suffix(':') {
        Some(named) => (named, ": "),
        None => (trimmed, ""),
    };
    let part = |c: char| c.is_alphanumeric() || c == '_';
    let word: String = named.chars().rev().take_while(|c| part(*c)).collect();
    let word: String = word.chars().rev().collect();
    if word.is_empty() { word } else { word + colon }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_thing_that_does_not_belong_is_found() {
        assert_eq!(fault("A(b: [\"(\", 'x', (1)]) // ("), None);
        assert_eq!(fault("A(b: \"two\nlines\")"), None);
        let found = fault("A(\n  b: \"x,\n  c: \"y\",\n)");
        assert_eq!(found, Some(Fault::Quote { at: 8..11 }));
        let found = fault("A(b: [T(n: (1)], c: 2)");
        let crossed = |found| match found {
            Some(Fault::Crossed { at, open }) => Some((at, open.described(), open.closing())),
            _ => None,
        };
        assert_eq!(crossed(found), Some((14..15, "`T(` of line 1".to_owned(), ')')));
        assert_eq!(fault("A())"), Some(Fault::Needless { at: 3..4 }));
        let found = fault("A(\n b: (");
        let unclosed = |found| match found {
            Some(Fault::Unclosed { open }) => Some(open.described()),
            _ => None,
        };
        assert_eq!(unclosed(found), Some("`b: (` of line 2".to_owned()));
    }
}
