//! Questions and answers: what is asked, who asks it, and the way back.
//!
//! An interview is a function that asks its questions in order and builds something of the answers.
//! To go back, the last answer is taken out of the script and the function is run again: what is
//! still answered is not asked. A start that was left is resumed in the same way.

use crate::files::Diagnostic;
use crate::guide::Script;

/// A question.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Question {
    /// Its name in a file of answers.
    pub key: String,
    /// What is asked, in one sentence.
    pub text: String,
    /// Choices, one a line, numbered from 1 where they are printed.
    pub choices: Vec<String>,
    /// More about it, for whoever asks with `?`.
    pub help: String,
    /// What an empty answer means.
    pub default: Option<String>,
    /// What an empty answer means, in words, where the default itself says little.
    pub default_words: Option<String>,
    /// Words that the answer may be completed from.
    pub words: Vec<String>,
}

impl Question {
    /// A question, with more about it for whoever asks.
    #[must_use]
    pub fn new(key: impl Into<String>, text: impl Into<String>, help: impl Into<String>) -> Self {
        Self { key: key.into(), text: text.into(), help: help.into(), ..Self::default() }
    }

    /// With what an empty answer means.
    #[must_use]
    pub fn or(mut self, default: impl Into<String>) -> Self {
        self.default = Some(default.into());
        self
    }

    /// An empty answer means what these words say.
    #[must_use]
    pub fn or_none(mut self, words: impl Into<String>) -> Self {
        self.default = Some(String::new());
        self.default_words = Some(words.into());
        self
    }

    /// With choices.
    #[must_use]
    pub fn of(mut self, choices: Vec<String>) -> Self {
        self.choices = choices;
        self
    }

    /// With words to complete the answer from.
    #[must_use]
    pub fn words(mut self, words: Vec<String>) -> Self {
        self.words = words;
        self
    }
}

/// Whoever puts the questions to a person, or to a file.
pub trait Asker {
    /// Puts a question; gives the answer, empty for the default, and nothing where the interview is left.
    ///
    /// # Errors
    /// When nobody can answer it.
    fn ask(&mut self, question: &Question) -> Result<Option<String>, Diagnostic>;

    /// Says something.
    fn say(&mut self, text: &str);

    /// An answer was taken; with nothing, that of this question was taken back.
    ///
    /// # Errors
    /// When it cannot be kept.
    fn keep(&mut self, key: &str, answer: Option<&str>) -> Result<(), Diagnostic>;

    /// What becomes of an answer that is refused: nothing where it is asked again.
    ///
    /// # Errors
    /// Where nobody can answer again.
    fn refuse(&mut self, key: &str, answer: &str, why: &str) -> Result<(), Diagnostic>;
}

/// Why an interview ended early.
#[derive(Debug)]
pub enum Stop {
    /// To the question before.
    Back,
    /// It was left.
    Left,
    /// Something is wrong.
    Mistake(Diagnostic),
}

impl From<Diagnostic> for Stop {
    fn from(mistake: Diagnostic) -> Self {
        Self::Mistake(mistake)
    }
}

/// The words that go a step back.
const BACK: [&str; 4] = ["back", "<", "b", "undo"];
/// The words that leave.
const LEAVE: [&str; 4] = ["leave", "quit", "exit", "end"];

/// An interview under way.
pub struct Talk<'a> {
    script: &'a mut Script,
    asker: &'a mut dyn Asker,
    /// The questions that were answered so far, in order.
    asked: Vec<String>,
    /// Where the interview stands again where it stood before the step back.
    silent: bool,
}

impl Talk<'_> {
    /// Asks until the answer can be read.
    ///
    /// # Errors
    /// When the interview ends or goes back.
    pub fn ask<T>(
        &mut self,
        question: &Question,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<T, Stop> {
        self.asked.push(question.key.clone());
        if let Some(answer) = self.script.get(&question.key).map(str::to_owned) {
            let may_be_nothing = question.default.as_ref().is_some_and(String::is_empty);
            let answer = if may_be_nothing && is_nothing(&answer) { String::new() } else { answer };
            match read(&answer) {
                Ok(value) => return Ok(value),
                Err(why) => {
                    self.asker.refuse(&question.key, &answer, &why)?;
                    self.script.remove(&question.key);
                }
            }
        }
        self.silent = false;
        loop {
            let typed = self.asker.ask(question)?.ok_or(Stop::Left)?.trim().to_owned();
            let word = typed.to_lowercase();
            if BACK.contains(&word.as_str()) {
                return Err(Stop::Back);
            }
            if LEAVE.contains(&word.as_str()) {
                return Err(Stop::Left);
            }
            if typed == "?" || word == "help" {
                self.asker.say(&question.help);
                continue;
            }
            let answer = match (&question.default, typed.is_empty()) {
                (Some(default), true) => default.clone(),
                (None, true) => {
                    self.asker.refuse(
                        &question.key,
                        "",
                        "an answer is needed here; `?` says more",
                    )?;
                    continue;
                }
                // Where nothing at all is an answer, a word that says so is one as well.
                (Some(default), false) if default.is_empty() && is_nothing(&typed) => String::new(),
                _ => typed,
            };
            match read(&answer) {
                Ok(value) => {
                    self.asker.keep(&question.key, Some(&answer))?;
                    self.script.set(&question.key, &answer);
                    return Ok(value);
                }
                Err(why) => self.asker.refuse(&question.key, &answer, &why)?,
            }
        }
    }

    /// One of the choices of a question: by its number, or the beginning of its words.
    ///
    /// # Errors
    /// As [`Talk::ask`].
    pub fn choose(&mut self, question: &Question) -> Result<Option<usize>, Stop> {
        let choices = question.choices.clone();
        self.ask(question, move |text| {
            if text.is_empty() {
                return Ok(None);
            }
            chosen(&choices, text).map(Some)
        })
    }

    /// Yes or no.
    ///
    /// # Errors
    /// As [`Talk::ask`].
    pub fn yes(&mut self, question: &Question) -> Result<bool, Stop> {
        self.ask(question, |text| match text.to_lowercase().as_str() {
            "y" | "yes" | "j" | "ja" | "oui" | "si" | "sí" => Ok(true),
            "n" | "no" | "nein" | "non" => Ok(false),
            _ => Err("the answer is yes or no".to_owned()),
        })
    }

    /// Takes an answer back, so that it is asked again when the interview goes on.
    ///
    /// # Errors
    /// When that cannot be kept.
    pub fn forget(&mut self, key: &str) -> Result<(), Diagnostic> {
        self.script.remove(key);
        self.asker.keep(key, None)
    }

    /// Says something, unless it was said before the step back.
    pub fn say(&mut self, text: &str) {
        if !self.silent {
            self.asker.say(text);
        }
    }
}

/// Why an answer is refused that a file would be refused for.
pub(super) fn why_refused(mistake: &Diagnostic) -> String {
    let details = mistake.details();
    let of = |part: &Option<String>| part.as_ref().map(|p| format!("; {p}")).unwrap_or_default();
    format!("{}{}{}", details.title, of(&details.expected), of(&details.remedy))
}

/// Whether an answer says that there is nothing.
pub(super) fn is_nothing(answer: &str) -> bool {
    ["none", "nothing", "-"].iter().any(|word| answer.trim().eq_ignore_ascii_case(word))
}

fn chosen(choices: &[String], text: &str) -> Result<usize, String> {
    if let Some(n) = text.trim_end_matches('.').parse::<usize>().ok().filter(|n| *n > 0) {
        if n <= choices.len() {
            return Ok(n - 1);
        }
        return Err(format!("the choices are 1 to {}", choices.len()));
    }
    let wanted = text.to_lowercase();
    let begins: Vec<usize> = choices
        .iter()
        .enumerate()
        .filter(|(_, choice)| choice.to_lowercase().starts_with(&wanted))
        .map(|(n, _)| n)
        .collect();
    // A choice may be named by any of its parts, as a salt by its formula.
    let part = |choice: &str| choice.to_lowercase().split([',', ';']).any(|p| p.trim() == wanted);
    let parts: Vec<usize> =
        choices.iter().enumerate().filter(|(_, c)| part(c)).map(|(n, _)| n).collect();
    match (begins.as_slice(), parts.as_slice()) {
        (_, [one]) | ([one], _) => Ok(*one),
        _ => Err(format!("write the number of one, 1 to {}", choices.len())),
    }
}

/// Conducts an interview to its end, with as many steps back as are asked for.
///
/// # Errors
/// When it is left, or something is wrong.
pub fn conduct<T>(
    script: &mut Script,
    asker: &mut dyn Asker,
    interview: impl Fn(&mut Talk<'_>) -> Result<T, Stop>,
) -> Result<T, Stop> {
    loop {
        let silent = !script.is_empty();
        let mut talk = Talk { script: &mut *script, asker: &mut *asker, asked: Vec::new(), silent };
        let ended = interview(&mut talk);
        let mut asked = std::mem::take(&mut talk.asked);
        match ended {
            Err(Stop::Back) => {
                // The last one is the question that was answered with a step back; where that answer
                // was one of its choices, it stands in the script and goes as well.
                let here = asked.pop();
                let before = asked.pop();
                if before.is_none() {
                    asker.say("This is the first question.");
                }
                for key in here.into_iter().chain(before) {
                    if script.get(&key).is_some() {
                        asker.keep(&key, None)?;
                        script.remove(&key);
                    }
                }
            }
            Ok(done) => {
                unasked(script, &asked)?;
                return Ok(done);
            }
            Err(other) => return Err(other),
        }
    }
}

/// An answer that no question asked for is a slip in a file of answers.
fn unasked(script: &Script, asked: &[String]) -> Result<(), Stop> {
    let Some(key) = script.keys().find(|key| !asked.iter().any(|a| a == key)) else {
        return Ok(());
    };
    let known: Vec<&str> = asked.iter().map(String::as_str).collect();
    let title = format!("no question is called `{key}` after the other answers");
    let diagnostic = script.mistake(key, title).expected(known.join(", "));
    // What begins like it is nearer than what only looks like it: `balance` is `balance step`.
    let begins = known.iter().find(|name| name.starts_with(&format!("{key} ")));
    Err(Stop::Mistake(match begins {
        Some(near) => diagnostic.remedy(format!("did you mean `{near}`?")),
        None => diagnostic.remedy("leave the answer out").near(key, &known),
    }))
}
