//! What stops a reading or a command: one mistake or several.

use std::error::Error;
use std::fmt;

use crate::files::{Diagnostic, Fault};

/// One mistake or several, in the order they are shown; the first one's fault decides the exit status.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mistakes(Vec<Diagnostic>);

impl Mistakes {
    /// Whose fault the first one is; that of the program when there is none.
    #[must_use]
    pub fn fault(&self) -> Fault {
        self.0.first().map_or(Fault::Internal, |mistake| mistake.details().fault)
    }

    /// The first one, where only one can be said; that of the program when there is none.
    #[must_use]
    pub fn into_first(self) -> Diagnostic {
        let none = || Diagnostic::new(Fault::Internal, "a mistake of which nothing is known");
        self.0.into_iter().next().unwrap_or_else(none)
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The mistakes.
    pub fn iter(&self) -> std::slice::Iter<'_, Diagnostic> {
        self.0.iter()
    }

    /// Takes what was read; or adds what is wrong with it, and the reader goes on to find what else is.
    pub fn take<T, E>(&mut self, read: Result<T, E>) -> Option<T>
    where
        Self: From<E>,
    {
        read.map_err(|wrong| self.0.extend(Self::from(wrong).0)).ok()
    }

    /// Adds one that was found.
    pub fn push(&mut self, mistake: Diagnostic) {
        self.0.push(mistake);
    }

    /// The same mistakes, each in other words.
    #[must_use]
    pub fn map(self, words: impl Fn(Diagnostic) -> Diagnostic) -> Self {
        Self(self.0.into_iter().map(words).collect())
    }

    /// These mistakes and then others.
    #[must_use]
    pub fn and(mut self, others: Self) -> Self {
        self.0.extend(others.0);
        self
    }
}

impl From<Diagnostic> for Mistakes {
    fn from(mistake: Diagnostic) -> Self {
        Self(vec![mistake])
    }
}

impl From<Vec<Diagnostic>> for Mistakes {
    fn from(mistakes: Vec<Diagnostic>) -> Self {
        Self(mistakes)
    }
}

impl FromIterator<Diagnostic> for Mistakes {
    fn from_iter<I: IntoIterator<Item = Diagnostic>>(mistakes: I) -> Self {
        Self(mistakes.into_iter().collect())
    }
}

impl<'a> IntoIterator for &'a Mistakes {
    type Item = &'a Diagnostic;
    type IntoIter = std::slice::Iter<'a, Diagnostic>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

/// Each mistake on a line.
impl fmt::Display for Mistakes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (n, mistake) in self.iter().enumerate() {
            let break_before = if n == 0 { "" } else { "\n" };
            write!(f, "{break_before}{mistake}")?;
        }
        Ok(())
    }
}

impl Error for Mistakes {}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::SourceText;

    #[test]
    fn a_mistake_is_one_line_with_its_place_and_the_way_out() {
        let source = SourceText::new("stocks/epsom.ron", "(\n  salt: 4,\n)");
        let one = Diagnostic::content("this is no salt")
            .at(&source, Some(10..11))
            .found("`4`")
            .expected("a name or formula")
            .remedy("look at the bag");
        let line = "stocks/epsom.ron:2: this is no salt; found `4`; expected a name or formula; \
                    fix: look at the bag";
        assert_eq!(one.to_string(), line);
        let bare = Diagnostic::choice("there is no bench here");
        assert_eq!(bare.to_string(), "there is no bench here");
        assert_eq!(
            Mistakes::from(vec![bare, one]).to_string(),
            format!("there is no bench here\n{line}")
        );
    }
}
