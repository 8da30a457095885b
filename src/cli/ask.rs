//! Whoever puts the questions of the guided start: a terminal with a line editor, lines from a pipe, or
//! a file of answers.

use std::cell::RefCell;
use std::io::{BufRead, IsTerminal, Write, stdin};
use std::path::{Path, PathBuf};
use std::rc::Rc;

use rustyline::completion::Completer;
use rustyline::error::ReadlineError;
use rustyline::highlight::Highlighter;
use rustyline::hint::Hinter;
use rustyline::history::MemHistory;
use rustyline::validate::Validator;
use rustyline::{Context, Editor, Helper};

use crate::files::{Diagnostic, Fault, read, write};
use crate::guide::script::{keep, keep_back, place_of};
use crate::guide::{Asker, Question};
use crate::text::table::wrapped;

/// The words that the present answer may be completed from.
struct Words(Rc<RefCell<Vec<String>>>);

impl Completer for Words {
    type Candidate = String;

    fn complete(
        &self,
        line: &str,
        _at: usize,
        _: &Context<'_>,
    ) -> rustyline::Result<(usize, Vec<String>)> {
        let begun = line.to_lowercase();
        let words = self.0.borrow();
        let fits = words.iter().filter(|word| word.to_lowercase().starts_with(&begun));
        Ok((0, fits.cloned().collect()))
    }
}

impl Hinter for Words {
    type Hint = String;
}
impl Highlighter for Words {}
impl Validator for Words {}
impl Helper for Words {}

/// Where answers come from.
enum Source {
    Terminal { editor: Box<Editor<Words, MemHistory>>, words: Rc<RefCell<Vec<String>>> },
    Pipe,
    File(PathBuf),
}

/// Puts the questions.
pub(super) struct Questioner<'a> {
    out: &'a mut dyn Write,
    source: Source,
    /// Where answers are kept while they are given.
    kept: Option<PathBuf>,
}

impl<'a> Questioner<'a> {
    /// Of a file of answers: nothing is asked, what it leaves open is the default.
    pub(super) fn of_file(file: &Path, out: &'a mut dyn Write) -> Self {
        Self { out, source: Source::File(file.to_owned()), kept: None }
    }

    /// Of a person at a terminal, or of lines from a pipe; answers are kept in a file.
    pub(super) fn of_person(kept: Option<PathBuf>, out: &'a mut dyn Write) -> Self {
        let words = Rc::new(RefCell::new(Vec::new()));
        let editor = if stdin().is_terminal() {
            Editor::with_history(rustyline::Config::default(), MemHistory::new()).ok()
        } else {
            None
        };
        let source = match editor {
            Some(mut editor) => {
                editor.set_helper(Some(Words(Rc::clone(&words))));
                Source::Terminal { editor: Box::new(editor), words }
            }
            None => Source::Pipe,
        };
        let mut questioner = Self { out, source, kept };
        questioner.say(
            "Enter takes what stands in brackets. `back` returns to the question before, `?` says more, \
             `leave` or Ctrl-C ends it.",
        );
        questioner
    }

    fn write(&mut self, text: &str) {
        // A reader that has gone away does not stop the answers.
        if self.out.write_all(text.as_bytes()).is_ok() {
            let _gone = self.out.flush();
        }
    }

    fn put(&mut self, question: &Question) {
        let mut text = String::from("\n");
        let default = match (&question.default_words, &question.default) {
            (Some(words), _) => format!(" [{words}]"),
            (None, Some(default)) => format!(" [{default}]"),
            (None, None) => String::new(),
        };
        if question.choices.is_empty() {
            text.push_str(&wrapped(&format!("{}{default}", question.text), 0));
        } else {
            text.push_str(&wrapped(&question.text, 0));
            for (n, choice) in question.choices.iter().enumerate() {
                text.push_str(&wrapped(&format!("  {} {choice}", n + 1), 4));
            }
            if !default.is_empty() {
                text.push_str(&format!(" {default}\n"));
            }
        }
        self.write(&text);
    }
}

/// What a question asks, with its choices.
fn choices_of(question: &Question) -> String {
    let choices = (1..).zip(&question.choices).map(|(n, choice)| format!("{n} {choice}"));
    let choices: Vec<String> = choices.collect();
    match choices.as_slice() {
        [] => question.text.clone(),
        some => format!("{} {}", question.text, some.join("; ")),
    }
}

impl Asker for Questioner<'_> {
    fn ask(&mut self, question: &Question) -> Result<Option<String>, Diagnostic> {
        if let Source::File(file) = &self.source {
            return match &question.default {
                Some(default) => Ok(Some(default.clone())),
                None => Err(Diagnostic::choice(format!(
                    "the question `{}` has no answer here",
                    question.key
                ))
                .about(file)
                .expected(choices_of(question))
                .remedy(format!("add a line `{}: …`", question.key))),
            };
        }
        self.put(question);
        let failed = |error: &dyn std::fmt::Display| {
            Diagnostic::new(Fault::Missing, format!("the answer cannot be read: {error}"))
        };
        if let Source::Terminal { editor, words } = &mut self.source {
            words.borrow_mut().clone_from(&question.words);
            return match editor.readline("> ") {
                Ok(line) => Ok(Some(line)),
                Err(ReadlineError::Interrupted | ReadlineError::Eof) => Ok(None),
                Err(error) => Err(failed(&error)),
            };
        }
        let mut line = String::new();
        match stdin().lock().read_line(&mut line) {
            Ok(0) => Ok(None),
            Ok(_) => Ok(Some(line)),
            Err(error) => Err(failed(&error)),
        }
    }

    fn say(&mut self, text: &str) {
        if !matches!(self.source, Source::File(_)) {
            self.write(&wrapped(text, 0));
        }
    }

    fn keep(&mut self, key: &str, answer: Option<&str>) -> Result<(), Diagnostic> {
        let Some(path) = &self.kept else { return Ok(()) };
        if let Some(folder) = path.parent() {
            write::subfolder(folder)?;
        }
        match answer {
            Some(answer) => keep(path, key, answer),
            None => keep_back(path, key),
        }
    }

    fn refuse(&mut self, key: &str, answer: &str, why: &str) -> Result<(), Diagnostic> {
        if let Source::File(file) = &self.source {
            let source = read::text(file)?;
            return Err(Diagnostic::content(format!("{key}: {why}"))
                .at(&source, place_of(&source, key))
                .remedy(format!("change the line `{key}: {answer}`")));
        }
        let end = if why.ends_with(['.', '?']) { "" } else { "." };
        self.write(&wrapped(&format!("! {why}{end}"), 2));
        Ok(())
    }
}
