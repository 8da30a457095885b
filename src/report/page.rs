//! A page to be read at the table: text and tables in order.

/// A page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Page {
    /// Its parts, in order.
    pub parts: Vec<Part>,
}

/// A part of a page.
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// A line of text, broken where it is too long.
    Text(String),
    /// A table: heads, and rows of the same length.
    Table(Vec<&'static str>, Vec<Vec<String>>),
}

impl Page {
    /// Adds a line of text.
    pub fn say(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Text(text.into()));
    }

    /// Adds a table with an empty line around it; one without rows is left out.
    pub fn show(&mut self, heads: &[&'static str], rows: Vec<Vec<String>>) {
        if rows.is_empty() {
            return;
        }
        self.say("");
        self.parts.push(Part::Table(heads.to_vec(), rows));
        self.say("");
    }
}
