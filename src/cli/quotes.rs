//! Quotes that were forgotten: an amount or a name of several words, of which the shell made several.

use std::path::Path;

use clap::Parser;
use clap::error::{ContextKind, ErrorKind};

use crate::cli::arguments::Arguments;
use crate::files::Diagnostic;
use crate::quantities::spelling::{bare_number, leading_number};
use crate::quantities::{Dimension, Quantity};
use crate::stock::reading::Reading;
use crate::text::command_line::typed_path;

/// A unit has no more words than this: `mg/L as CaCO3`, `ppm factor 0.5`.
const MOST_WORDS_OF_UNIT: usize = 3;

/// Our choice: names of more words are typed by nobody without quotes.
const MOST_WORDS_OF_NAME: usize = 5;

/// What was meant by a command line with words that have no place in it; nothing where that is not seen.
pub(super) fn of_refused(error: &clap::Error) -> Option<Diagnostic> {
    if error.kind() != ErrorKind::UnknownArgument {
        return None;
    }
    let words = typed_words()?;
    let over = error.get(ContextKind::InvalidArg).map(ToString::to_string).unwrap_or_default();
    if begins_below_zero(&over) {
        let whole = words.iter().find(|word| begins_below_zero(word)).cloned().unwrap_or(over);
        return Some(
            Diagnostic::choice(format!("`{whole}` begins with a minus, which makes it an option"))
                .expected("an amount above zero")
                .remedy(format!(
                    "leave the minus out; where below zero is meant, as of a temperature, write \
                 `--option=\"{whole}\"`"
                )),
        );
    }
    let mended = mended(&words, is_command)?;
    let what = format!("`{over}` has no place in this command");
    Some(Diagnostic::choice(what).remedy(put_in_quotes(&mended)))
}

/// The same for a command line that could be read and came to nothing: the unit of an amount was taken
/// for a name.
pub(super) fn of_failed() -> Option<Diagnostic> {
    let words = typed_words()?;
    let joined = with_whole_amounts(&words);
    if joined == words || !is_command(&joined) {
        return None;
    }
    let what = "an amount or a list of several words is read as one thing only in quotes";
    Some(Diagnostic::choice(what).remedy(put_in_quotes(&joined)))
}

fn typed_words() -> Option<Vec<String>> {
    std::env::args_os().map(|word| word.into_string().ok()).collect()
}

fn is_command(words: &[String]) -> bool {
    Arguments::try_parse_from(words).is_ok()
}

fn begins_below_zero(word: &str) -> bool {
    word.strip_prefix('-').is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
}

fn put_in_quotes(words: &[String]) -> String {
    let typed = |word: &String| match word.split_once('=') {
        Some((option, value)) if is_option(option) => {
            format!("{option}={}", typed_path(Path::new(value)))
        }
        _ => typed_path(Path::new(word)),
    };
    let typed: Vec<String> = words.iter().skip(1).map(typed).collect();
    format!("put what belongs together in quotes: `waterflight {}`", typed.join(" "))
}

fn is_option(word: &str) -> bool {
    word.starts_with('-')
}

/// The words of a command with some of them joined so that it can be read.
fn mended(words: &[String], is_right: impl Fn(&[String]) -> bool) -> Option<Vec<String>> {
    let whole = with_whole_amounts(words);
    if whole != words && is_right(&whole) {
        return Some(whole);
    }
    (1..whole.len()).find_map(|start| {
        (2..=MOST_WORDS_OF_NAME).find_map(|many| {
            let name = whole.get(start..start + many)?;
            if name.iter().any(|word| is_option(word)) {
                return None;
            }
            let joined = joined(&whole, start, many);
            is_right(&joined).then_some(joined)
        })
    })
}

fn joined(words: &[String], start: usize, many: usize) -> Vec<String> {
    let (before, rest) = words.split_at(start.min(words.len()));
    let (name, behind) = rest.split_at(many.min(rest.len()));
    [before, &[name.join(" ")], behind].concat()
}

/// The words with each number joined to the unit behind it, and lists joined at their commas.
fn with_whole_amounts(words: &[String]) -> Vec<String> {
    let mut whole = Vec::new();
    let mut at = 0;
    while let Some(word) = words.get(at) {
        let rest = words.get(at + 1..).unwrap_or_default();
        let many = words_of_amount(word, rest).or_else(|| words_of_list(word, rest)).unwrap_or(0);
        let behind = rest.get(..many).unwrap_or_default();
        whole.push([std::slice::from_ref(word), behind].concat().join(" "));
        at += 1 + many;
    }
    whole
}

/// How many words behind a number are its unit.
fn words_of_amount(word: &str, rest: &[String]) -> Option<usize> {
    let number = word.split_once('=').filter(|(option, _)| is_option(option));
    let number = number.map_or(word, |(_, value)| value);
    bare_number(number).ok()?;
    let is_amount = |many: &usize| {
        let Some(unit) = rest.get(..*many) else { return false };
        let text = format!("{number} {}", unit.join(" "));
        // `ppm` alone is a unit; of a reading it is one with the factor behind it.
        Quantity::parse(&text).is_ok() || Reading::meter(&text).is_ok()
    };
    let many = (1..=MOST_WORDS_OF_UNIT).rev().find(is_amount)?;
    // So many mL/L, of a stock: `water "5 mL/L epsom"`.
    let is_dose = rest.first().is_some_and(|unit| {
        let amount = Quantity::parse(&format!("{number} {unit}"));
        amount.is_ok_and(|amount| amount.unit.dimension() == Dimension::VolumePerVolume)
    });
    let of_stock = is_dose && rest.get(many).is_some_and(|word| !is_option(word));
    Some(many + usize::from(of_stock))
}

/// How many words behind one that ends with a comma belong to its list.
fn words_of_list(word: &str, rest: &[String]) -> Option<usize> {
    let mut last = word;
    let mut many = 0;
    while last.ends_with(',')
        && let Some(next) = rest.get(many).filter(|next| !is_option(next))
    {
        last = next;
        many += 1;
    }
    let is_list = many > 0 && leading_number(word.trim_end_matches(',')).is_err();
    is_list.then_some(many)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mended_of(line: &str) -> Option<String> {
        let words: Vec<String> = line.split(' ').map(str::to_owned).collect();
        mended(&words, is_command).map(|words| put_in_quotes(&words))
    }

    #[test]
    fn quotes_are_put_where_words_belong_together() {
        for (line, right) in [
            (
                "weighed epsom --salt 40 g --total 500 g",
                "weighed epsom --salt \"40 g\" --total \"500 g\"",
            ),
            ("read no sodium 200", "read \"no sodium\" 200"),
            ("read middle 231 µS/cm", "read middle \"231 µS/cm\""),
            ("why all bicarb", "why \"all bicarb\""),
            ("why hard, all bicarbonate", "why \"hard, all bicarbonate\""),
            ("bottle epsom --left 120 mL", "bottle epsom --left \"120 mL\""),
            ("session plan --tasters ann, bo, cy", "session plan --tasters \"ann, bo, cy\""),
            ("mix --bottle=1.9 US gal", "mix --bottle=\"1.9 US gal\""),
        ] {
            let said = mended_of(&format!("waterflight {line}"));
            let right = format!("put what belongs together in quotes: `waterflight {right}`");
            assert_eq!(said.as_deref(), Some(right.as_str()), "{line}");
        }
        assert_eq!(mended_of("waterflight mix --botle 500"), None);
    }

    #[test]
    fn a_unit_is_no_name_of_a_flight() {
        let words = |line: &str| line.split(' ').map(str::to_owned).collect::<Vec<String>>();
        for (line, whole) in [
            ("x mix --bottle 1.9 L", "x|mix|--bottle|1.9 L"),
            ("x water 5 mL/L epsom", "x|water|5 mL/L epsom"),
            ("x verify soda --read 80 ppm factor 0.5", "x|verify|soda|--read|80 ppm factor 0.5"),
            ("x mix --for 3 first-flight", "x|mix|--for|3|first-flight"),
        ] {
            assert_eq!(with_whole_amounts(&words(line)).join("|"), whole, "{line}");
        }
    }
}
