//! A mistake as plain data: where it is, what was found, what was expected, how to mend it.

use std::error::Error;
use std::fmt;
use std::ops::Range;
use std::path::PathBuf;

use crate::files::SourceText;
use crate::files::near_name::nearest;

/// Whose fault it is; decides the exit status.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// The content of a file.
    Content,
    /// A file or folder that is missing or cannot be read.
    Missing,
    /// A name on the command line that fits nothing, or too much.
    Choice,
    /// A file or folder that cannot be written.
    Write,
    /// The program itself.
    Internal,
}

/// A place in a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// The file with its text.
    pub source: SourceText,
    /// Bytes of the text; `None` when the whole file is meant.
    pub span: Option<Range<usize>>,
}

/// One mistake, ready to be drawn. Boxed, since it travels as the error of every reader.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnostic(Box<Details>);

/// What a diagnostic says.
#[derive(Debug, Clone, PartialEq)]
pub struct Details {
    /// Whose fault it is.
    pub fault: Fault,
    /// What is wrong, in one line.
    pub title: String,
    /// The file it concerns, when there is one.
    pub path: Option<PathBuf>,
    /// Where in a file that could be read.
    pub place: Option<Place>,
    /// What stands there.
    pub found: Option<String>,
    /// What should stand there.
    pub expected: Option<String>,
    /// What to do about it.
    pub remedy: Option<String>,
}

impl Diagnostic {
    /// A mistake with a title and nothing else yet.
    #[must_use]
    pub fn new(fault: Fault, title: impl Into<String>) -> Self {
        Self(Box::new(Details {
            fault,
            title: title.into(),
            path: None,
            place: None,
            found: None,
            expected: None,
            remedy: None,
        }))
    }

    /// A mistake in the content of a file.
    #[must_use]
    pub fn content(title: impl Into<String>) -> Self {
        Self::new(Fault::Content, title)
    }

    /// A mistake in what was asked for.
    #[must_use]
    pub fn choice(title: impl Into<String>) -> Self {
        Self::new(Fault::Choice, title)
    }

    /// What it says.
    #[must_use]
    pub fn details(&self) -> &Details {
        &self.0
    }

    /// Says which file it concerns when there is no text to show.
    #[must_use]
    pub fn about(mut self, path: impl Into<PathBuf>) -> Self {
        self.0.path = Some(path.into());
        self
    }

    /// Points at a place.
    #[must_use]
    pub fn at(mut self, source: &SourceText, span: Option<Range<usize>>) -> Self {
        self.0.path = Some(source.path().to_owned());
        self.0.place = Some(Place { source: source.clone(), span });
        self
    }

    /// Says with which option it was typed; a mistake in a file has its place already.
    #[must_use]
    pub fn typed_with(mut self, option: &str) -> Self {
        if self.0.path.is_none() {
            self.0.title = format!("{option}: {}", self.0.title);
        }
        self
    }

    /// Says what stands there.
    #[must_use]
    pub fn found(mut self, found: impl Into<String>) -> Self {
        self.0.found = Some(found.into());
        self
    }

    /// Says what should stand there.
    #[must_use]
    pub fn expected(mut self, expected: impl Into<String>) -> Self {
        self.0.expected = Some(expected.into());
        self
    }

    /// Proposes the known name that is nearest to the one found, if one is near; else the way out stays.
    #[must_use]
    pub fn near<S: AsRef<str>>(self, name: &str, known: &[S]) -> Self {
        let known: Vec<&str> = known.iter().map(AsRef::as_ref).collect();
        match nearest(name, &known) {
            Some(near) => self.remedy(format!("did you mean `{near}`?")),
            None => self,
        }
    }

    /// Says the way out in other words, where there is one.
    #[must_use]
    pub fn remedy_in(mut self, words: impl FnOnce(&str) -> String) -> Self {
        self.0.remedy = self.0.remedy.as_deref().map(words);
        self
    }

    /// Says what should stand there in other words, where it is said.
    #[must_use]
    pub fn expected_in(mut self, words: impl FnOnce(&str) -> String) -> Self {
        self.0.expected = self.0.expected.as_deref().map(words);
        self
    }

    /// Says how to mend it.
    #[must_use]
    pub fn remedy(mut self, remedy: impl Into<String>) -> Self {
        self.0.remedy = Some(remedy.into());
        self
    }
}

/// Everything it says, on one line: place, title, what was found and expected, the way out.
impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let details = self.details();
        if let Some(path) = &details.path {
            write!(f, "{}:", path.display())?;
            let start =
                details.place.as_ref().and_then(|p| Some((&p.source, p.span.as_ref()?.start)));
            if let Some((source, start)) = start {
                write!(f, "{}:", source.line(start))?;
            }
            write!(f, " ")?;
        }
        write!(f, "{}", details.title)?;
        let rest =
            [("found", &details.found), ("expected", &details.expected), ("fix:", &details.remedy)];
        for (what, text) in rest {
            if let Some(text) = text {
                write!(f, "; {what} {text}")?;
            }
        }
        Ok(())
    }
}

impl Error for Diagnostic {}
