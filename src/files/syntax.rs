//! A text that is not RON: what belongs where the parser stopped.

use std::ops::Range;

use ron::error::Error as RonError;

use crate::files::brackets::{self, Fault as Bracket};
use crate::files::{Diagnostic, SourceText};

/// What is wrong at a place of a text, and what belongs there.
/// `shown` says where a whole file of its kind is to be seen.
pub(super) fn explain(
    source: &SourceText,
    span: &Range<usize>,
    error: &RonError,
    shown: &str,
) -> Diagnostic {
    let text = source.text();
    let here = first_line(text.get(span.clone()).unwrap_or_default().trim()).to_owned();
    if text.trim().is_empty() {
        return at(source, span, "the file is empty")
            .remedy("the starter bench (`waterflight new DIR`) shows what every file holds");
    }
    if let Some(fault) = brackets::fault(text) {
        return of_brackets(source, fault);
    }
    // The piece where the parser stopped may begin behind the first letters of a word.
    let word = value_at(text, span.start);
    if let Some(number) = comma_in_a_number(text, span) {
        return at(source, span, "a number with a comma needs quotes or a point")
            .found(format!("`{number}`"))
            .remedy(format!("write {}, or \"{number}\"", number.replacen(',', ".", 1)));
    }
    if let Some((bracket, word)) = curly_bracket(text, span) {
        return at(source, &bracket, "a round bracket belongs here, not a curly one")
            .found("`{`")
            .remedy(format!("write `{word}( … )`"));
    }
    if here.starts_with('=') {
        return at(source, span, "`=` stands where a colon belongs")
            .found(format!("`{here}`"))
            .expected("a name, a colon, a value, as in `name: \"soft\"`");
    }
    if here.starts_with(['[', '{']) && is_behind_a_colon(text, span.start) {
        return at(source, span, "this list stands where named values belong")
            .found(format!("`{here}`"))
            .expected("round brackets, as in `goals: ( hardness: \"70 mg/L as CaCO3\" )`");
    }
    if let Some((place, value)) = &word
        && let Some((name, text)) = value.split_once([' ', '\t'])
        && is_a_name(name)
        && text.trim_start().starts_with('"')
    {
        return at(source, place, &format!("a colon is missing behind `{name}`"))
            .found(format!("`{value}`"))
            .remedy(format!("write `{name}: {}`", text.trim_start()));
    }
    if let Some((place, value)) = &word
        && value.starts_with('\'')
    {
        let plain = value.trim_matches('\'');
        return at(source, place, "text stands between double quotes")
            .found(format!("`{value}`"))
            .remedy(format!("write \"{plain}\""));
    }
    if matches!(error, RonError::ExpectedArray) {
        return at(source, span, "a list belongs here, with square brackets around it")
            .found(format!("`{here}`"))
            .expected("`[ … ]` around all of them, also around one alone");
    }
    if here.starts_with('"')
        && is_behind_a_colon(text, span.start)
        && let Some((place, value)) = &word
        && is_a_choice(value.trim_matches('"'))
    {
        return at(source, place, "a word of the program stands without quotes")
            .found(format!("`{value}`"))
            .remedy(format!("write {}", value.trim_matches('"')));
    }
    if here.starts_with('"') && is_behind_a_colon(text, span.start) {
        return at(source, span, "this text stands where named values belong")
            .found(format!("`{}`", word.map_or(here, |(_, value)| value)))
            .expected("a word and round brackets, or round brackets alone: `Word( … )`, `( … )`")
            .remedy(shown);
    }
    if let Some((place, value)) = &word
        && !value.starts_with(['"', '(', '[', '{'])
        && value.chars().any(char::is_alphabetic)
    {
        return at(source, place, "a value with letters needs quotes")
            .found(format!("`{value}`"))
            .remedy(format!("write \"{value}\""));
    }
    if matches!(error, RonError::ExpectedComma) {
        return at(source, span, "a comma is missing before this")
            .found(format!("`{here}`"))
            .remedy("end the entry before with a comma");
    }
    let diagnostic = at(source, span, &format!("this is not valid RON here: {error}"));
    let diagnostic =
        if here.is_empty() { diagnostic } else { diagnostic.found(format!("`{here}`")) };
    diagnostic.remedy("values need quotes, entries need a comma between them")
}

fn at(source: &SourceText, span: &Range<usize>, title: &str) -> Diagnostic {
    Diagnostic::content(title).at(source, Some(span.clone()))
}

fn of_brackets(source: &SourceText, fault: Bracket) -> Diagnostic {
    let text = source.text();
    match fault {
        Bracket::Quote { at: span } => {
            let line = text.get(span.clone()).unwrap_or_default().trim_end();
            let value = line.trim_end_matches([',', ')', ']', ' ']);
            let span = span.start..span.start + value.len();
            at(source, &span, "a quote opens here and is not closed in its line")
                .found(format!("`{value}`"))
                .remedy(format!("close it: {value}\""))
        }
        Bracket::Crossed { at: span, open } => {
            let found = text.get(span.clone()).unwrap_or_default().to_owned();
            let closing = open.closing();
            at(source, &span, &format!("a `{closing}` is missing before this `{found}`"))
                .found(format!("`{found}`"))
                .expected(format!("`{closing}`, which closes the {}", open.described()))
        }
        Bracket::Needless { at: span } => {
            let found = text.get(span.clone()).unwrap_or_default().to_owned();
            at(source, &span, &format!("this `{found}` closes nothing"))
                .found(format!("`{found}`"))
                .remedy("remove it, or look for a bracket that was closed too early above")
        }
        Bracket::Unclosed { open } => {
            let closing = open.closing();
            let span = open.at..open.at + 1;
            at(source, &span, &format!("this bracket is never closed: a `{closing}` is missing"))
                .found(format!("the {}", open.described()))
                .expected(format!("its `{closing}`, before the end of the file"))
        }
    }
}

/// A `{` behind a word, at the place or at the end of the word there.
fn curly_bracket(text: &str, span: &Range<usize>) -> Option<(Range<usize>, String)> {
    let letters = |c: char| c.is_alphanumeric() || c == '_';
    let rest = text.get(span.start..)?;
    let word = rest.len() - rest.trim_start_matches(letters).len();
    let at = span.start + word;
    let before = text.get(..at)?.trim_end();
    let word = before.get(before.trim_end_matches(letters).len()..)?;
    let is_curly = text.get(at..)?.trim_start().starts_with('{');
    let at = at + text.get(at..)?.find('{').unwrap_or_default();
    (is_curly && !word.is_empty()).then(|| (at..at + 1, word.to_owned()))
}

/// The whole value that stands around a place: from behind the last colon or comma of the line to the next
/// comma or bracket, quotes kept together.
fn value_at(text: &str, place: usize) -> Option<(Range<usize>, String)> {
    let start_of_line = text.get(..place)?.rfind('\n').map_or(0, |n| n + 1);
    let before = text.get(start_of_line..place)?;
    let start = start_of_line + before.rfind([':', ',', '(', '['])? + 1;
    let rest = text.get(start..)?;
    let skipped = rest.len() - rest.trim_start_matches([' ', '\t']).len();
    let start = start + skipped;
    let rest = text.get(start..)?;
    let length = rest.find([',', ')', ']', '\n']).unwrap_or(rest.len());
    let value = rest.get(..length)?.trim_end();
    (!value.is_empty()).then(|| (start..start + value.len(), value.to_owned()))
}

/// `7,5` where the parser stopped behind the comma of a bare number.
fn comma_in_a_number(text: &str, span: &Range<usize>) -> Option<String> {
    let before = text.get(..span.start)?;
    let tail = |c: char| c.is_ascii_digit() || matches!(c, ',' | '.' | ' ');
    let start = before.rfind(|c: char| !tail(c)).map_or(0, |at| at + 1);
    let start = if text.is_char_boundary(start) { start } else { return None };
    let after = text.get(span.start..)?;
    let digits = after.find(|c: char| !c.is_ascii_digit()).unwrap_or(after.len());
    let number = text.get(start..span.start + digits)?.trim();
    let (whole, decimals) = number.split_once(',')?;
    let all_digits = |s: &str| !s.is_empty() && s.chars().all(|c| c.is_ascii_digit());
    let follows_colon = before.get(..start)?.trim_end().ends_with(':');
    (all_digits(whole) && all_digits(decimals) && follows_colon).then(|| number.to_owned())
}

fn is_behind_a_colon(text: &str, place: usize) -> bool {
    text.get(..place).is_some_and(|before| before.trim_end().ends_with(':'))
}

/// Whether it can be the name of a value: `sodium`, `dissolved_solids`.
fn is_a_name(word: &str) -> bool {
    !word.is_empty() && word.chars().all(|c| c.is_alphanumeric() || c == '_')
}

/// Whether it looks like one of the choices of a file, which begin with a capital: `MadeUpToALitre`.
fn is_a_choice(word: &str) -> bool {
    word.starts_with(char::is_uppercase) && word.chars().all(char::is_alphabetic)
}

fn first_line(text: &str) -> &str {
    text.lines().next().unwrap_or_default().trim_end()
}
