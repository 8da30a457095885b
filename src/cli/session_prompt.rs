//! The prompt for scores: lines in, words out. Each entry is on disk before it is confirmed.

use std::io::{self, BufRead, IsTerminal, Write, stdin};

use serde_json::json;

use crate::app::session_steps::record;
use crate::bench::session_folder::SessionFolder;
use crate::cli::outcome::{Outcome, shown};
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::session::score::entry_text::{missing_words, on_disk_words};
use crate::session::score::{EntryPrompt, Line, PromptOutcome, ScoreLog};
use crate::text::command_line::for_session;
use crate::text::{Page, visible};

/// What is shown; a reader that has gone away does not stop the entries.
struct Screen<'a> {
    session: &'a str,
    out: &'a mut dyn Write,
    silent: bool,
    terminal: bool,
}

impl Screen<'_> {
    fn say(&mut self, line: &str) {
        let mut page = Page::default();
        page.say(for_session(line, self.session));
        self.write(&crate::text::page_text::text(&page));
    }

    fn sign(&mut self) {
        if self.terminal {
            self.write("> ");
        }
    }

    fn write(&mut self, text: &str) {
        if !self.silent && self.out.write_all(visible(text).as_bytes()).is_ok() {
            let _gone = self.out.flush();
        }
    }
}

/// What comes from the input.
enum Typed {
    Line(String),
    /// Nothing more.
    End,
    /// A line that is not taken in; one that was cut is the last.
    Refused {
        wrong: Mistakes,
        is_last: bool,
    },
    Broken(io::Error),
}

impl Typed {
    fn read(input: &mut impl BufRead, terminal: bool) -> Self {
        let mut bytes = Vec::new();
        match input.read_until(b'\n', &mut bytes) {
            Ok(0) => return Self::End,
            Ok(_) => {}
            Err(error) => return Self::Broken(error),
        }
        // A piped input that was cut may end in the midst of a score.
        if !bytes.ends_with(b"\n") && !terminal {
            let wrong = cut(&String::from_utf8_lossy(&bytes));
            return Self::Refused { wrong, is_last: true };
        }
        String::from_utf8(bytes)
            .map_or_else(|_| Self::Refused { wrong: not_text(), is_last: false }, Self::Line)
    }
}

/// Reads lines until the input or the work ends.
pub(super) fn run(
    session: &SessionFolder,
    taster: Option<&str>,
    json: bool,
    out: &mut dyn Write,
) -> Outcome {
    let mut screen =
        Screen { session: &session.name, out, silent: json, terminal: stdin().is_terminal() };
    let score_log = read(session)?;
    let mut prompt = EntryPrompt::new(&score_log, taster)?;
    greet(session, &score_log, &mut screen)?;
    let (mut entered, mut refused, mut asked) = (Vec::new(), 0, Vec::new());
    ask(&prompt, &score_log, &mut asked, &mut screen);
    let mut input = stdin().lock();
    let broken = loop {
        let line = match Typed::read(&mut input, screen.terminal) {
            Typed::Line(line) => line,
            Typed::End => break None,
            Typed::Broken(error) => break Some(error),
            Typed::Refused { wrong, is_last } => {
                refused += 1;
                say_refused(&wrong, &mut screen);
                if is_last {
                    break None;
                }
                ask(&prompt, &score_log, &mut asked, &mut screen);
                continue;
            }
        };
        let mut score_log = read(session)?;
        let done = match prompt.handle_line(&score_log, &line).map_err(Mistakes::from) {
            Ok(PromptOutcome::End) => break None,
            Ok(PromptOutcome::Show(lines)) => {
                for line in &lines {
                    screen.say(line);
                }
                Ok(())
            }
            Ok(PromptOutcome::Record(intent)) => record(session, &intent).map(|(after, lines)| {
                prompt.recorded();
                say_recorded(&after, &lines, &mut screen);
                entered.extend(lines.iter().map(|line| line.n));
                score_log = after;
            }),
            Err(wrong) => Err(wrong),
        };
        if let Err(wrong) = done {
            refused += 1;
            say_refused(&wrong, &mut screen);
        }
        ask(&prompt, &score_log, &mut asked, &mut screen);
    };
    if let Some(left) = prompt.left_unwritten() {
        screen.say(&left);
    }
    match broken {
        Some(error) => Err(unreadable(&error)),
        None => ended(session, &entered, refused, json),
    }
}

fn unreadable(error: &io::Error) -> Mistakes {
    let what = format!("what is typed cannot be read: {error}");
    Diagnostic::new(Fault::Missing, what)
        .remedy("what was confirmed is on disk; begin again where it ended")
        .into()
}

/// What was entered in all, and what is missing.
fn ended(session: &SessionFolder, entered: &[u64], refused: u64, json: bool) -> Outcome {
    let score_log = read(session)?;
    let mut page = Page::default();
    let missing = missing_words(&score_log);
    page.say(format!("{} entered, {refused} refused, {missing}", entered.len()));
    let data = json!({
        "session": session.name, "entered": entered, "refused": refused, "missing_answers": score_log.missing_answers(),
    });
    shown(&page, &data, json)
}

/// A line in another encoding: what it means would be a guess.
fn not_text() -> Mistakes {
    Diagnostic::choice("the line is not UTF-8 text, and nothing of it was taken in")
        .remedy("type it again, or save the text as UTF-8")
        .into()
}

/// The end of an input that has no line end.
fn cut(piece: &str) -> Mistakes {
    let what = format!("the last line has no line end, so it may be cut: `{}`", piece.trim());
    Diagnostic::choice(what).remedy("nothing of it was taken in; enter it again").into()
}

fn read(session: &SessionFolder) -> Result<ScoreLog, Mistakes> {
    session.score_log().map_err(Mistakes::from)
}

/// Where the work stands, as after a run that was stopped.
fn greet(
    session: &SessionFolder,
    score_log: &ScoreLog,
    screen: &mut Screen<'_>,
) -> Result<(), Mistakes> {
    screen.say(&format!(
        "{}: {}; `help` lists what can be typed",
        session.name,
        missing_words(score_log)
    ));
    if let Some(last) = score_log.last_of(None).and_then(|n| score_log.line(n)) {
        screen.say(&format!("the last entry: {}", on_disk_words(score_log, &last.line)));
    }
    if let Some(piece) = session.torn()? {
        screen.say(&format!(
            "a stopped run left a piece of a line; it was never confirmed, enter it again: {piece}"
        ));
    }
    Ok(())
}

/// Asks, when something else is asked than before or a terminal waits.
fn ask(
    prompt: &EntryPrompt,
    score_log: &ScoreLog,
    before: &mut Vec<String>,
    screen: &mut Screen<'_>,
) {
    let asks = prompt.asks(score_log);
    if screen.terminal || asks != *before {
        for line in &asks {
            screen.say(line);
        }
    }
    *before = asks;
    screen.sign();
}

fn say_recorded(score_log: &ScoreLog, lines: &[Line], screen: &mut Screen<'_>) {
    for line in lines {
        screen.say(&format!("{} ({})", on_disk_words(score_log, line), missing_words(score_log)));
    }
}

fn say_refused(mistakes: &Mistakes, screen: &mut Screen<'_>) {
    for mistake in mistakes {
        let details = mistake.details();
        let way = details.remedy.as_deref().or(details.expected.as_deref());
        screen.say(&format!("refused: {}; {}", details.title, way.unwrap_or_default()));
    }
}
