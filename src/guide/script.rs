//! The answers of a guided start, as they stand in a file: one line each, `question: answer`. The
//! same file is kept while questions are asked, so that a start can be left and resumed, and given
//! to a script with `--answers`.

use std::ops::Range;
use std::path::{Path, PathBuf};

use crate::files::{Diagnostic, SourceText, append, read};

/// Name of the file that answers are kept in while questions are asked.
pub const KEPT_IN: &str = "start.answers";

/// What stands before the key of an answer that was taken back.
const TAKEN_BACK: &str = "# back: ";

/// Answers in the order of their questions.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Script {
    answers: Vec<(String, String)>,
    /// The file that they were read from.
    source: Option<SourceText>,
}

impl Script {
    /// Reads a file of answers; a later answer to the same question counts.
    ///
    /// # Errors
    /// When the file cannot be read, or a line is no answer.
    pub fn read(path: &Path) -> Result<Self, Diagnostic> {
        let source = read::text(path).map_err(|mistake| {
            let is_there = path.exists();
            if is_there { mistake } else { mistake.remedy("check the name of the file of answers") }
        })?;
        let mut script = Self::default();
        for (line, place) in lines(source.text()) {
            if let Some(key) = line.strip_prefix(TAKEN_BACK) {
                script.answers.retain(|(known, _)| known != key);
                continue;
            }
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let Some((key, answer)) = line.split_once(':') else {
                return Err(Diagnostic::content("this line is no answer")
                    .at(&source, Some(place))
                    .found(format!("`{line}`"))
                    .expected("the name of the question, a colon, the answer: `bag 1: Epsom salt`")
                    .remedy("put `#` before a remark"));
            };
            script.set(&key.trim().to_lowercase(), answer.trim());
        }
        script.source = Some(source);
        Ok(script)
    }

    /// The answer to a question.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&str> {
        self.answers.iter().find(|(known, _)| known == key).map(|(_, answer)| answer.as_str())
    }

    /// A mistake in the answer to a question, at its line where it was read from a file.
    #[must_use]
    pub fn mistake(&self, key: &str, title: String) -> Diagnostic {
        match &self.source {
            Some(source) => {
                let found = format!("`{key}`");
                Diagnostic::content(title).at(source, place_of(source, key)).found(found)
            }
            None => Diagnostic::choice(title),
        }
    }

    /// Sets an answer.
    pub fn set(&mut self, key: &str, answer: &str) {
        self.answers.retain(|(known, _)| known != key);
        self.answers.push((key.to_owned(), answer.to_owned()));
    }

    /// Takes an answer back.
    pub fn remove(&mut self, key: &str) {
        self.answers.retain(|(known, _)| known != key);
    }

    /// How many answers it holds.
    #[must_use]
    pub fn len(&self) -> usize {
        self.answers.len()
    }

    /// Whether it holds none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.answers.is_empty()
    }

    /// The names of the questions that are answered.
    pub fn keys(&self) -> impl Iterator<Item = &str> {
        self.answers.iter().map(|(key, _)| key.as_str())
    }
}

/// The lines of a text without the blanks around them, each with its place.
fn lines(text: &str) -> impl Iterator<Item = (&str, Range<usize>)> {
    let mut end = 0;
    text.split_inclusive('\n').map(move |whole| {
        let line = whole.trim();
        let start = end + whole.len() - whole.trim_start().len();
        end += whole.len();
        (line, start..start + line.len())
    })
}

/// Where the answer to a question stands that counts, the last one.
#[must_use]
pub fn place_of(source: &SourceText, key: &str) -> Option<Range<usize>> {
    let answers = |line: &str| {
        line.split_once(':').is_some_and(|(known, _)| known.trim().to_lowercase() == key)
    };
    lines(source.text()).filter(|(line, _)| answers(line)).last().map(|(_, place)| place)
}

/// Adds an answer to the file that is kept while questions are asked.
///
/// # Errors
/// When the disk does not take it.
pub fn keep(path: &Path, key: &str, answer: &str) -> Result<(), Diagnostic> {
    append::append(path, &format!("{key}: {answer}"))
}

/// Adds to that file that an answer was taken back.
///
/// # Errors
/// When the disk does not take it.
pub fn keep_back(path: &Path, key: &str) -> Result<(), Diagnostic> {
    append::append(path, &format!("{TAKEN_BACK}{key}"))
}

/// Where the answers of a start in this folder are kept.
#[must_use]
pub fn kept_in(folder: &Path) -> PathBuf {
    folder.join(KEPT_IN)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_later_answer_counts_and_one_taken_back_does_not() -> Result<(), Box<dyn std::error::Error>>
    {
        let folder = tempfile::tempdir()?;
        let path = kept_in(folder.path());
        let said = |d: Diagnostic| d.details().title.clone();
        keep(&path, "bag 1", "Epsom salt").map_err(said)?;
        keep(&path, "bag 2", "").map_err(said)?;
        keep_back(&path, "bag 2").map_err(said)?;
        keep(&path, "bag 1", "soda: baking").map_err(said)?;
        let script = Script::read(&path).map_err(said)?;
        assert_eq!(script.get("bag 1"), Some("soda: baking"));
        assert_eq!(script.get("bag 2"), None);
        Ok(())
    }

    #[test]
    fn an_answer_stands_in_its_last_line_in_any_case() {
        let source = SourceText::new("a", "# mine\nBag 1: soda\n\n  BAG 1 : Epsom salt \n");
        let place = place_of(&source, "bag 1").and_then(|place| source.text().get(place));
        assert_eq!(place, Some("BAG 1 : Epsom salt"));
        assert_eq!(place_of(&source, "bag 2"), None);
    }
}
